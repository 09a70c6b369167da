"""Meat against the outside: properties, water, conduction, the wet surface, and a whole cook."""

import math

import pytest
from tuyere.meat import food, slab
from tuyere.meat.water import PRESSURE, latent, saturation, vapour, wet_flux

SIGMA = 5.670374419e-8


@pytest.mark.parametrize(
    ("mix", "t", "rho", "cp", "along", "across"),
    [
        (food.LEAN, 20, 1055.16, 3608.3, 0.5166, 0.4187),
        (food.LEAN, 5, 1057.65, 3603.0, 0.4953, 0.3980),
        (food.LEAN, 65, 1039.26, 3633.8, 0.5656, 0.4652),
        (food.LEAN_AND_FAT, 20, 1035.09, 3413.8, 0.4693, 0.3509),
        (food.LEAN_AND_FAT, 65, 1018.70, 3442.0, 0.5093, 0.3684),
        (food.FAT_CAP, 20, 946.87, 2399.8, 0.2496, 0.2006),
        (food.COOKED, 65, 1050.00, 3294.9, 0.4899, 0.3599),
    ],
)
def test_properties_from_composition(mix, t, rho, cp, along, across):
    # Worked values of the Choi-Okos polynomials (ASHRAE Refrigeration, thermal properties of foods).
    p = food.properties(mix, t)
    assert p.density == pytest.approx(rho, abs=0.006)
    assert p.heat == pytest.approx(cp, abs=0.06)
    assert p.along == pytest.approx(along, abs=6e-5)
    assert p.across == pytest.approx(across, abs=6e-5)


def test_a_mix_must_sum_to_one_and_be_known():
    with pytest.raises(ValueError, match="sum to 1"):
        food.properties({"water": 0.5}, 20)
    with pytest.raises(ValueError, match="Unknown part"):
        food.properties({"water": 0.5, "gravel": 0.5}, 20)


@pytest.mark.parametrize(
    ("t", "pa"),
    [(60, 19946), (65, 25042), (70, 31201), (75, 38595), (80, 47415), (90, 70182), (95, 84609), (100, 101418)],
)
def test_saturation_pressure(t, pa):
    # CoolProp 8.0 and iapws 1.5.5, which agree within 0.1 Pa.
    assert saturation(t) == pytest.approx(pa, rel=1.5e-4)


@pytest.mark.parametrize(("t", "kj"), [(20, 2453.5), (60, 2357.7), (65, 2345.4), (80, 2308.0), (95, 2269.5)])
def test_latent_heat(t, kj):
    # CoolProp 8.0 and iapws 1.5.5.
    assert latent(t) == pytest.approx(kj * 1e3, rel=1e-3)


def wet_surface(air, w, h, emissivity):
    """Temperature and evaporation (kg/m2h) at which a wet surface stands, walls as warm as the air."""
    pv = vapour(w, PRESSURE)
    low, high = 10.0, 99.0
    for _ in range(60):
        t = 0.5 * (low + high)
        q = h * (air - t) + emissivity * SIGMA * ((air + 273.15) ** 4 - (t + 273.15) ** 4)
        if q > wet_flux(h, air, t, 1.0, pv, PRESSURE) * latent(t):
            low = t
        else:
            high = t
    return t, wet_flux(h, air, t, 1.0, pv, PRESSURE) * 3600.0


@pytest.mark.parametrize(
    ("air", "w", "h", "surface", "flux"),
    [
        (121.1, 0.010, 5, 51.30, 1.538),
        (121.1, 0.010, 20, 42.20, 3.458),
        (121.1, 0.030, 10, 50.15, 2.093),
        (121.1, 0.050, 5, 57.45, 1.434),
        (121.1, 0.050, 10, 53.68, 2.010),
        (121.1, 0.100, 20, 58.78, 2.836),
        (135.0, 0.030, 5, 57.47, 1.819),
        (135.0, 0.100, 10, 61.83, 2.303),
    ],
)
def test_wet_surface_with_radiation(air, w, h, surface, flux):
    # Balance solved independently with CoolProp air properties, emissivity 0.9, Stefan form, Chilton-Colburn.
    t, m = wet_surface(air, w, h, 0.9)
    assert t == pytest.approx(surface, abs=0.3)
    assert m == pytest.approx(flux, rel=0.01)


@pytest.mark.parametrize(
    ("w", "surface", "bulb"),
    [(0.010, 37.57, 38.57), (0.030, 43.89, 44.64), (0.050, 48.68, 49.27), (0.100, 57.05, 57.43)],
)
def test_without_radiation_the_surface_stands_just_below_the_wet_bulb(w, surface, bulb):
    # Same balance, emissivity 0; wet bulb by CoolProp and PsychroLib at 121.1 C. Le < 1 puts the surface below it.
    t, _ = wet_surface(121.1, w, 10, 0.0)
    assert t == pytest.approx(surface, abs=0.3)
    assert bulb - 1.2 < t < bulb


def dry_slab(half_mm):
    """A slab that neither evaporates nor sheds juice, and its conductivity, diffusivity, half thickness in m."""
    m, q = slab.piece(3.0, half_mm, 100.0, convection=0.0)
    q[slab.HOLD_LEAST] = 1.0
    mid = food.properties(food.LEAN_AND_FAT, 45.0)
    return m, q, mid.middle, mid.middle / (mid.density * mid.heat), half_mm / 1000.0


@pytest.mark.parametrize(
    ("bi", "fo", "centre", "surface"),
    [
        (0.1, 0.2, 0.993999, 0.951420),
        (0.1, 1.0, 0.922389, 0.878126),
        (0.1, 2.0, 0.837326, 0.797144),
        (1.0, 0.2, 0.950642, 0.643391),
        (1.0, 0.5, 0.772526, 0.504522),
        (1.0, 1.0, 0.533859, 0.348177),
        (10.0, 0.2, 0.829255, 0.122482),
        (10.0, 0.5, 0.454641, 0.064329),
        (10.0, 1.0, 0.163818, 0.0231721),
    ],
)
def test_conduction_against_the_exact_series(bi, fo, centre, surface):
    # Plane wall, 40 terms in mpmath; first roots match Incropera, table 5.1.
    m, q, k, alpha, half = dry_slab(22.0)
    steps = 600
    dt = fo * half * half / alpha / steps
    h = bi * k / half
    before, given = slab.stored(m, q), 0.0
    for _ in range(steps):
        heat = -h * q[slab.AREA] * m[slab.T0] * dt
        given += heat
        slab.step(m, 0, q, 0, dt, heat, 20.0, 1000.0, PRESSURE)
    assert m[slab.PROBE] / 100.0 == pytest.approx(centre, abs=0.004)
    assert m[slab.SURFACE] / 100.0 == pytest.approx(surface, abs=0.004)
    assert slab.stored(m, q) - before + m[slab.LOST_J] == pytest.approx(given, rel=1e-9)


def cook(m, q, hours, air=126.0, seen=122.0, w=0.05, wrap_h=None, dt=10.0, watch=None):
    """A piece in a steady pit; the heat it took, J."""
    pv = vapour(w, PRESSURE)
    taken = 0.0
    for i in range(int(hours * 3600.0 / dt)):
        if wrap_h is not None and i * dt >= wrap_h * 3600.0:
            m[slab.WRAP] = 1.0
        t = m[slab.SURFACE]
        a, b = seen + 273.15, t + 273.15
        radiation = q[slab.EMISSIVITY] * SIGMA * (a * a + b * b) * (a + b) * (seen - t)
        heat = q[slab.AREA] * (q[slab.CONVECTION] * (air - t) + radiation) * dt
        slab.step(m, 0, q, 0, dt, heat, air, pv, PRESSURE)
        taken += heat
        if watch is not None:
            watch.append(m[slab.PROBE])
    return taken


def test_a_cook_keeps_its_energy_and_its_mass():
    m, q = slab.piece(3.2, 38.0)
    e0, kg = slab.stored(m, q), slab.mass_kg(m, q)
    taken = cook(m, q, 12.0)
    assert slab.stored(m, q) - e0 + m[slab.LOST_J] == pytest.approx(taken, rel=1e-9)
    assert slab.mass_kg(m, q) + m[slab.EVAPORATED] + m[slab.DRIPPED] == pytest.approx(kg, rel=1e-9)


def test_the_stall_comes_out_of_the_balance():
    # A brisket in a wet 107 C chamber stalled for hours at 67 C (Blonder 2011, web note); not without evaporation.
    wet: list[float] = []
    m, q = slab.piece(3.2, 38.0)
    cook(m, q, 14.0, watch=wet)
    dry: list[float] = []
    m, q = slab.piece(3.2, 38.0)
    q[slab.PAPER_VAPOUR] = 0.0
    cook(m, q, 14.0, wrap_h=0.0, watch=dry)

    def hours_between(trace, low, high):
        return sum(1 for t in trace if low < t < high) / 360.0

    assert hours_between(wet, 60.0, 75.0) > 3.0
    assert hours_between(dry, 60.0, 75.0) < 0.6 * hours_between(wet, 60.0, 75.0)
    assert next(i for i, t in enumerate(wet) if t > 93.0) > 1.4 * next(i for i, t in enumerate(dry) if t > 93.0)


def test_yield_of_a_whole_cook():
    # Whole briskets kept 56-59 % of their weight at 85-90 C and three hours (Meat Muscle Biol., n = 96).
    m, q = slab.piece(3.2, 38.0)
    kg = slab.mass_kg(m, q)
    watch: list[float] = []
    cook(m, q, 9.0, watch=watch)
    while m[slab.PROBE] < 88.0:
        cook(m, q, 0.1)
    assert 0.54 < slab.mass_kg(m, q) / kg < 0.68


def test_paper_shortens_the_rest_of_the_stall():
    bare, q = slab.piece(3.2, 38.0)
    wrapped, q2 = slab.piece(3.2, 38.0)
    cook(bare, q, 9.0)
    cook(wrapped, q2, 9.0, wrap_h=6.0)
    assert wrapped[slab.PROBE] > bare[slab.PROBE] + 1.0
    assert wrapped[slab.EVAPORATED] < bare[slab.EVAPORATED]


def test_halving_the_step_changes_little():
    one, q = slab.piece(3.2, 38.0)
    two, q2 = slab.piece(3.2, 38.0)
    cook(one, q, 10.0)
    cook(two, q2, 10.0, dt=5.0)
    assert abs(one[slab.PROBE] - two[slab.PROBE]) < 0.1
    assert math.isfinite(one[slab.PROBE])


def test_a_piece_out_of_range_is_refused():
    with pytest.raises(ValueError, match="kg"):
        slab.piece(0.0, 20.0)

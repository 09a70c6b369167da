"""Meat and vapour against the outside: Choi-Okos, steam tables, boiling by altitude, wet and covered surfaces."""

import pytest
from meat_kit import SIGMA
from tuyere.meat import food
from tuyere.meat import piece_slots as at
from tuyere.meat.cuts import CUTS, mix
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import slab
from tuyere.meat.slab import step
from tuyere.meat.water import PRESSURE, boiling, latent, pressure_at, saturation, vapour


@pytest.mark.parametrize(
    ("mix_", "t", "rho", "cp", "along", "across"),
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
def test_properties_from_composition(mix_, t, rho, cp, along, across):
    # Worked values of the Choi-Okos polynomials (ASHRAE Refrigeration, thermal properties of foods), computed.
    p = food.properties(mix_, t)
    assert p.density == pytest.approx(rho, abs=0.006)
    assert p.heat == pytest.approx(cp, abs=0.06)
    assert p.along == pytest.approx(along, abs=6e-5)
    assert p.across == pytest.approx(across, abs=6e-5)


def test_a_mix_must_sum_to_one_and_be_known():
    with pytest.raises(ValueError, match="sum to 1"):
        food.properties({"water": 0.5}, 20)
    with pytest.raises(ValueError, match="Unknown part"):
        food.properties({"water": 0.5, "gravel": 0.5}, 20)


def test_the_cuts_mixes_sum_to_one():
    for cut in CUTS.values():
        assert sum(part.share for part in cut.parts) == pytest.approx(1.0)
        for part in cut.parts:
            assert sum(mix(part.fat).values()) == pytest.approx(1.0)
            assert 0.5 < mix(part.fat)["water"] < 0.75


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


@pytest.mark.parametrize(
    ("feet", "c"),
    [
        (0, 99.97),
        (500, 99.47),
        (1000, 98.96),
        (2000, 97.95),
        (3000, 96.93),
        (5000, 94.90),
        (7000, 92.87),
        (10000, 89.81),
    ],
)
def test_water_boils_lower_on_the_hill(feet, c):
    # Standard atmosphere and CoolProp 8.0, computed.
    assert boiling(pressure_at(feet * 0.3048)) == pytest.approx(c, abs=0.02)


@pytest.mark.parametrize(("kpa", "c"), [(95.0, 98.18), (98.0, 99.04), (104.0, 100.71)])
def test_the_weather_moves_boiling(kpa, c):
    # CoolProp 8.0, computed.
    assert boiling(kpa * 1e3) == pytest.approx(c, abs=0.02)


def standing(air: float, w: float, h: float, emissivity: float, through: float = 1.0) -> tuple[float, float]:
    """Where the slab's own step lets a surface come to rest that stays wet, walls as warm as the air: (C, kg/m2h).

    A thin slab, so that nothing flows inwards in the end; `through`: the share of the vapour a cover lets pass.
    """
    p = Parameters(wetted=1e-6, juice_s=1e15, convection=h)
    m, q = slab(1.0, 0.002, 50.0, food.LEAN, p, n=5)
    q[at.CRUST_R], q[at.SHRINK] = 0.0, 0.0
    for i in range(5):
        q[at.DRY + 10 + i] = 0.0
    m = [0.0] * at.SLAB + m
    o, area, pv, a = at.SLAB, q[at.AREA], vapour(w, PRESSURE), air + 273.15
    wet = m[o + at.T0 + 5]
    for _ in range(1500):
        t = m[o + at.T0]
        b = t + 273.15
        g = area * (h + emissivity * SIGMA * (a * a + b * b) * (a + b))
        # a cover in front of the air's own resistance: the conductance at the film temperature, as in the table
        cover = (1.0 / through - 1.0) / (h * 2.38944e-4 * (0.5 * (air + t) + 273.15) ** 0.181333)
        m[at.RATE], m[o + at.T0 + 5] = 0.0, wet
        step(m, 0, o, q, 0, 2.0, g * (air - t) * 2.0, g, at.PAPER, cover, air, pv, PRESSURE, 100.0)
    return m[o + at.T0], m[at.RATE] / area * 3600.0


@pytest.mark.parametrize(
    ("air", "w", "h", "surface", "flux"),
    [
        (121.1, 0.010, 5, 51.30, 1.538), (121.1, 0.010, 10, 45.82, 2.193), (121.1, 0.010, 20, 42.20, 3.458),
        (121.1, 0.030, 5, 54.63, 1.482), (121.1, 0.030, 10, 50.15, 2.093), (121.1, 0.030, 20, 47.32, 3.271),
        (121.1, 0.050, 5, 57.45, 1.434), (121.1, 0.050, 10, 53.68, 2.010), (121.1, 0.050, 20, 51.38, 3.120),
        (121.1, 0.100, 5, 62.99, 1.336), (121.1, 0.100, 10, 60.33, 1.847), (121.1, 0.100, 20, 58.78, 2.836),
        (135.0, 0.030, 5, 57.47, 1.819), (135.0, 0.030, 10, 52.47, 2.527), (135.0, 0.030, 20, 49.26, 3.896),
        (135.0, 0.100, 5, 64.98, 1.687), (135.0, 0.100, 10, 61.83, 2.303), (135.0, 0.100, 20, 59.96, 3.494),
    ],
)  # fmt: skip
def test_wet_surface_with_radiation(air, w, h, surface, flux):
    # Balance solved independently with CoolProp's air, emissivity 0.9, Stefan form, Chilton-Colburn; computed.
    t, m = standing(air, w, h, 0.9)
    assert t == pytest.approx(surface, abs=0.3)
    assert m == pytest.approx(flux, rel=0.01)


@pytest.mark.parametrize(
    ("w", "surface", "bulb"),
    [(0.010, 37.57, 38.57), (0.030, 43.89, 44.64), (0.050, 48.68, 49.27), (0.100, 57.05, 57.43)],
)
def test_without_radiation_the_surface_stands_just_below_the_wet_bulb(w, surface, bulb):
    # Same balance, emissivity 0; wet bulb by CoolProp and PsychroLib at 121.1 C. Le < 1 puts the surface below it.
    t, _ = standing(121.1, w, 10.0, 0.0)
    assert t == pytest.approx(surface, abs=0.3)
    assert bulb - 1.2 < t < bulb


@pytest.mark.parametrize(
    ("air", "through", "surface", "flux"),
    [
        (107.2, 1.0, 55.84, 1.137), (107.2, 0.5, 62.06, 1.021), (107.2, 0.25, 69.23, 0.882),
        (107.2, 0.10, 78.95, 0.680), (107.2, 0.05, 85.61, 0.532),
        (121.1, 1.0, 58.25, 1.458), (121.1, 0.5, 65.32, 1.327), (121.1, 0.25, 73.30, 1.170),
        (121.1, 0.10, 83.87, 0.947), (121.1, 0.05, 90.84, 0.790),
        (135.0, 1.0, 60.58, 1.811), (135.0, 0.25, 76.95, 1.497), (135.0, 0.05, 94.56, 1.112),
    ],
)  # fmt: skip
def test_a_cover_lifts_the_wet_surface(air, through, surface, flux):
    # Vapour conductance times `through` (bark, paper), 5.4 W/m2K, emissivity 0.9, W 0.06; computed.
    t, m = standing(air, 0.06, 5.4, 0.9, through)
    assert t == pytest.approx(surface, abs=0.35)
    assert m == pytest.approx(flux, rel=0.012)

"""A slab and a piece in a pit: energy and water close, wraps, spritz, boiling, long steps."""

import random
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from meat_kit import NEVER, cooked, hours_to, steady
from tuyere.meat import piece_slots as at
from tuyere.meat.cooking import link, move, spritz, stored, wrap_in
from tuyere.meat.cuts import CUTS, mix
from tuyere.meat.outcome import mass_kg, outcome, raw_kg
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import GRADED, PieceOfMeat, lay, slab
from tuyere.meat.slab import step
from tuyere.meat.water import PRESSURE, boiling, pressure_at, vapour

FLAT = PieceOfMeat(cut="flat", mass_kg=3.0)
PIT = steady(121.1, 113.0, 0.1, 16.0)


def drive(m, q, hours, *, air=121.1, seen=113.0, w=0.1, dt=20.0, pressure=PRESSURE, each_minute=None):
    """Cook the first piece of (m, q) and count what its links gave it: J. Without grip, so that the count is exact.

    each_minute takes the temperatures of the first slab's nodes at every full minute.
    """
    given_j, boil, pv = 0.0, boiling(pressure), vapour(w, pressure)
    for i in range(int(hours * 3600.0 / dt)):
        link(m, 0, q, 0, seen)
        for s in range(at.SECTIONS):
            o = at.SLAB + s * at.SLAB_SIZE
            t = m[o + at.T0]
            given_j += (m[o + at.LINK_G] * (air - t) + m[o + at.LINK_R] * (seen - t)) * dt
        move(m, 0, q, 0, dt, air, seen, 0.0, pv, pressure, boil)
        if each_minute is not None and (i + 1) * dt % 60.0 == 0.0:
            each_minute.append(m[at.SLAB + at.T0 : at.SLAB + at.T0 + at.N])
    return given_j


def kept_kg(m, q):
    """All that is in or beside a piece, kg."""
    total = 0.0
    for s in range(at.SECTIONS):
        o, r = at.SLAB + s * at.SLAB_SIZE + at.T0 + at.N, at.Q_SLAB + s * at.SLAB_Q
        total += q[r + at.AREA] * (sum(m[o : o + at.N]) + sum(q[r + at.DRY : r + at.DRY + at.N]))
    return total


def test_energy_and_water_close_through_spritz_and_wraps():
    m, q = lay([PieceOfMeat(mass_kg=5.0)])
    start, kg = stored(m, 0, q, 0), kept_kg(m, q)
    given_j = drive(m, q, 3.0)
    given_j += spritz(m, 0, q, 0, 0.03, 20.0)
    given_j += drive(m, q, 2.0)
    wrap_in(m, 0, q, 0, at.FOIL)
    given_j += drive(m, q, 2.0)
    wrap_in(m, 0, q, 0, at.PAPER)
    given_j += drive(m, q, 2.0)
    wrap_in(m, 0, q, 0, at.BARE)
    given_j += drive(m, q, 8.0, air=135.0, seen=130.0)  # on to boiling and drying out
    assert stored(m, 0, q, 0) - start + m[at.LOST_J] == pytest.approx(given_j, rel=1e-9)
    found = outcome(m, q)
    assert kept_kg(m, q) + found.evaporated_kg + found.dripped_kg == pytest.approx(kg + 0.03, rel=1e-9)


# A surface that dries out at boiling: in steps of 20 s it once reached 209.9 C beside 207 C, in steps of 2 s 156.8 C.
DRYING = {"air": 92.0, "seen": 207.0, "w": 2.0, "seed": 46, "wraps": [at.PAPER, at.FOIL, at.BARE], "mass": 1.0}
# Hot foil opened: all the juice meets dry air at nearly boiling, and the surface falls by 20 K within a step of 20 s.
OPENED = {"air": 140.3, "seen": 212.1, "w": 0.53, "seed": 12143, "wraps": [at.PAPER, at.FOIL, at.BARE], "mass": 3.28}
# Humid air condenses on a dry surface above boiling, and boils away again.
HUMID = {"air": 125.6, "seen": 231.6, "w": 1.05, "seed": 182021, "wraps": [at.BARE] * 4, "mass": 1.6}


@settings(max_examples=30, deadline=None)
@example(dt=20.0, **DRYING)
@given(
    air=st.floats(20.0, 200.0),
    seen=st.floats(20.0, 250.0),
    w=st.floats(0.0, 2.0),
    dt=st.sampled_from([2.0, 10.0, 20.0]),
    seed=st.integers(0, 10**6),
    wraps=st.lists(st.sampled_from([at.BARE, at.PAPER, at.FOIL]), min_size=1, max_size=4),
    mass=st.floats(0.9, 5.0),
)
def test_in_any_pit_it_stays_between_its_surroundings_and_boiling(air, seen, w, dt, seed, wraps, mass):
    m, q = lay([PieceOfMeat(cut="point", mass_kg=mass)], [Parameters().drawn(random.Random(seed))])
    start, kg, given_j = stored(m, 0, q, 0), kept_kg(m, q), 0.0
    for wrap in wraps:
        wrap_in(m, 0, q, 0, wrap)
        given_j += drive(m, q, 2.0, air=air, seen=seen, w=w, dt=dt)
    found = outcome(m, q)
    assert stored(m, 0, q, 0) - start + m[at.LOST_J] == pytest.approx(given_j, rel=1e-6, abs=1.0)
    assert kept_kg(m, q) + found.evaporated_kg + found.dripped_kg == pytest.approx(kg, rel=1e-9)
    o = at.SLAB + at.T0
    assert min(m[o + at.N : o + 2 * at.N]) >= -1e-9
    # steam that condenses warms as high as its dew point
    assert min(5.0, air, seen) - 25.0 < min(m[o : o + at.N])
    assert max(m[o : o + at.N]) < max(air, seen, boiling(PRESSURE)) + 1.0


@pytest.mark.parametrize("passes", [1, 2])
def test_a_step_whose_phases_do_not_settle_boils_off_what_is_there(monkeypatch, passes):
    # Phases may cycle: a thin dry piece over a wet middle once came to 4 million C in its 840th minute.
    monkeypatch.setattr("tuyere.meat.slab.PASSES", passes)
    m, q = lay([PieceOfMeat(cut="point", mass_kg=DRYING["mass"])])
    start, given_j = stored(m, 0, q, 0), 0.0
    for wrap in DRYING["wraps"]:
        wrap_in(m, 0, q, 0, wrap)
        given_j += drive(m, q, 2.0, air=DRYING["air"], seen=DRYING["seen"], w=DRYING["w"], dt=20.0)
    assert stored(m, 0, q, 0) - start + m[at.LOST_J] == pytest.approx(given_j, rel=1e-6, abs=1.0)
    o = at.SLAB + at.T0
    assert min(m[o + at.N : o + 2 * at.N]) >= -1e-9 and max(m[o : o + at.N]) < DRYING["seen"] + 40.0


@pytest.mark.parametrize("dt", [20.0, 10.0, 5.0])
@pytest.mark.parametrize("case", [DRYING, OPENED, HUMID])
def test_steps_of_2_to_20_s_agree(case, dt):
    # Every minute each node is within 1 C of what it is in steps of 2 s, up to 3 min earlier or later: a node that has
    # just dried out warms by up to 15 K in minutes, and it dries out in one step or in the next. The first 10 min are
    # left out: the surface of a cold piece warms by 60 K in 2 min.
    fine, coarse = [], []
    for step_s, trace in ((2.0, fine), (dt, coarse)):
        m, q = lay([PieceOfMeat(cut="point", mass_kg=case["mass"])], [Parameters().drawn(random.Random(case["seed"]))])
        for wrap in case["wraps"]:
            wrap_in(m, 0, q, 0, wrap)
            drive(m, q, 2.0, air=case["air"], seen=case["seen"], w=case["w"], dt=step_s, each_minute=trace)
    assert len(fine) == len(coarse) == 120 * len(case["wraps"])
    for minute in range(10, len(fine) - 3):
        near = fine[minute - 3 : minute + 4]
        for node, c in enumerate(coarse[minute]):
            assert min(row[node] for row in near) - 1.0 < c < max(row[node] for row in near) + 1.0, (minute, node)


@pytest.mark.parametrize("wrap", [at.BARE, at.PAPER, at.FOIL])
def test_a_minute_a_step_is_as_good_as_five_seconds(wrap):
    traces = []
    for dt in (60.0, 5.0):
        pit = steady(121.1, 113.0, 0.1, 12.0, dt)
        trace = cooked(PieceOfMeat(mass_kg=5.0), pit, wrap_h=6.0, wrap=wrap, stop=False, dt=dt)[2]
        traces.append(trace[int(60.0 / dt) - 1 :: int(60.0 / dt)])
    assert max(abs(a - b) for a, b in zip(*traces, strict=True)) < 0.5


def test_finer_nodes_change_a_cook_little():
    # the nodes that cook are few: against twice as many, by hand through the same step
    ends = []
    for n in (at.N, 2 * at.N - 1):
        part = CUTS["flat"].parts[0]
        graded = GRADED if n == at.N else GRADED**0.5
        body, q = slab(3.0, 0.05, 5.0, mix(0.11), Parameters(), part=part, n=n, graded=graded)
        m, a = [0.0] * at.SLAB + body, 121.1 + 273.15
        for _ in range(int(8.0 * 180.0)):
            o = at.SLAB
            b = m[o + at.T0] + 273.15
            g = q[at.AREA] * m[o + at.SPREAD] * (5.2 + 0.76 * 5.67e-8 * (a * a + b * b) * (a + b))
            pv = vapour(0.1, PRESSURE)
            step(m, 0, o, q, 0, 20.0, g * (121.1 - m[o + at.T0]) * 20.0, g, at.BARE, 0.0, 121.1, pv, PRESSURE, 100.0)
        ends.append(m[at.SLAB + at.T0 + n - 1])
    assert ends[0] == pytest.approx(ends[1], abs=1.5)


def test_foil_keeps_its_juice_and_gives_it_back_when_opened():
    m, q = lay([FLAT])
    drive(m, q, 4.0)
    before = outcome(m, q)
    wrap_in(m, 0, q, 0, at.FOIL)
    drive(m, q, 4.0)
    closed = outcome(m, q)
    assert closed.dripped_kg == before.dripped_kg
    assert closed.evaporated_kg - before.evaporated_kg < 0.05
    assert kept_kg(m, q) - mass_kg(m, q) > 0.15  # juice beside the meat: not of its mass
    wrap_in(m, 0, q, 0, at.BARE)
    assert kept_kg(m, q) == pytest.approx(mass_kg(m, q))
    opened = outcome(m, q)
    assert opened.dripped_kg > closed.dripped_kg + 0.15
    assert opened.yield_ == pytest.approx(closed.yield_)


def test_spritz_cools_and_delays():
    pit = steady(121.1, 113.0, 0.1, 4.0)
    m, q, _ = cooked(FLAT, pit, stop=False)
    before = m[at.SLAB + at.T0]
    spritz(m, 0, q, 0, 0.03, 20.0)
    assert m[at.SLAB + at.T0] < before - 3.0
    dry = list(m)
    drive(dry, q, 0.02)
    drive(m, q, 1.0)
    without, q2, _ = cooked(FLAT, steady(121.1, 113.0, 0.1, 4.0), stop=False)
    drive(without, q2, 1.0)
    assert m[at.PROBE] < without[at.PROBE]
    assert outcome(m, q).evaporated_kg > outcome(without, q2).evaporated_kg


def test_bark_and_soaked_paper_slow_evaporation():
    m, q = lay([FLAT])
    drive(m, q, 1.5)
    rates = []
    for bark, wrap, soaked_s in ((0.0, at.BARE, 0.0), (1.0, at.BARE, 0.0), (1.0, at.PAPER, 0.0), (1.0, at.PAPER, 1e5)):
        trial = list(m)
        wrap_in(trial, 0, q, 0, wrap)
        trial[at.SLAB + at.CRUST], trial[at.WRAPPED_S] = bark, soaked_s
        drive(trial, q, 0.02)
        rates.append(trial[at.RATE])
    bare, barked, paper, soaked = rates
    assert bare > 1.3 * barked > 1.3 * 1.05 * paper > 1.3 * 1.05 * 5.0 * soaked > 0.0


def test_a_cold_piece_in_a_steamy_pit_condenses():
    m, q = lay([FLAT])
    drive(m, q, 0.1, w=0.4)
    assert outcome(m, q).evaporated_kg < 0.0
    drive(m, q, 8.0, w=0.4)
    assert outcome(m, q).evaporated_kg > 0.1


@pytest.mark.parametrize("feet", [0.0, 5000.0])
def test_boiling_is_a_lid_on_the_middle(feet):
    # Nothing wet passes 94.9 C at 5000 ft (standard atmosphere and CoolProp, computed).
    pressure = pressure_at(feet * 0.3048)
    pit = steady(135.0, 130.0, 0.1, 16.0)
    m, q, trace = cooked(FLAT, pit, wrap_h=4.0, wrap=at.FOIL, stop=False, pressure=pressure)
    assert max(trace) == pytest.approx(boiling(pressure), abs=0.3)
    if feet:
        assert max(trace) < 95.2
        assert outcome(m, q).done_h is None
    else:
        assert outcome(m, q).done_h is not None


def test_unwrapping_goes_back_to_bare():
    m, _, _ = cooked(FLAT, PIT, wrap_h=3.0, wrap=at.FOIL, bare_h=4.0, stop=False)
    assert m[at.WRAP] == at.BARE
    again = cooked(FLAT, PIT, stop=False)[2]
    foil_all = cooked(FLAT, PIT, wrap_h=3.0, wrap=at.FOIL, stop=False)[2]
    for_an_hour = cooked(FLAT, PIT, wrap_h=3.0, wrap=at.FOIL, bare_h=4.0, stop=False)[2]
    assert hours_to(foil_all, 90.0) < hours_to(for_an_hour, 90.0) <= hours_to(again, 90.0)


def test_the_surface_shrinks_with_the_volume():
    m, q, _ = cooked(FLAT, PIT, stop=False)
    lost = 1.0 - mass_kg(m, q) / raw_kg(q)
    assert 0.6 < m[at.SLAB + at.SPREAD] < 1.0
    assert 1.0 - m[at.SLAB + at.SPREAD] == pytest.approx(0.6 * lost, rel=0.12)
    none = replace(Parameters(), shrink=1e-9)
    assert cooked(FLAT, PIT, parameters=none, stop=False)[0][at.SLAB + at.SPREAD] == pytest.approx(1.0)


def test_a_plan_that_never_wraps_is_the_default():
    assert NEVER > 1e9
    assert cooked(FLAT, PIT, stop=False)[2] == cooked(FLAT, PIT, wrap_h=100.0, stop=False)[2]

"""Many pieces against given pits: plain and compiled alike, plans, and what the state tells."""

import random

import pytest
from meat_kit import NEVER, cooked, steady
from tuyere.meat import cooking
from tuyere.meat import piece_slots as at
from tuyere.meat.outcome import outcome
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import PieceOfMeat, lay
from tuyere.meat.water import PRESSURE


def ensemble(count):
    """Pieces that differ, their pits and their plans."""
    r = random.Random(7)
    pieces = [PieceOfMeat(mass_kg=r.uniform(4.0, 7.0), start_c=r.uniform(2.0, 10.0)) for _ in range(count)]
    m, q = lay(pieces, [Parameters().drawn(r) for _ in pieces])
    pits = steady(125.0, 117.0, 0.1, 6.0) + steady(110.0, 104.0, 0.06, 6.0)
    plan = []
    for i in range(count):
        plan += [float(i % 2), 3.0 * 3600.0, float(i % 3), 5.0 * 3600.0 if i % 4 == 0 else NEVER, 0.0]
    return m, q, pits, 360, plan


def test_compiled_and_plain_cook_the_same():
    np = pytest.importorskip("numpy")
    pytest.importorskip("numba")
    from tuyere.sim import compiled

    m, q, pits, rows, plan = ensemble(6)
    plain = [0.0] * (6 * rows // 10)
    fast = np.zeros(len(plain))
    m2 = np.array(m)
    cooking.cook(m, q, 6, pits, rows, 60.0, plan, PRESSURE, 10, plain)
    compiled.meat_kernel().cook(m2, np.array(q), 6, np.array(pits), rows, 60.0, np.array(plan), PRESSURE, 10, fast)
    assert max(abs(a - b) for a, b in zip(plain, fast, strict=True)) < 1e-6
    assert max(abs(a - b) for a, b in zip(m, m2, strict=True)) < 1e-3  # J among them


def test_each_piece_has_its_own_pit_and_plan():
    m, q, pits, rows, plan = ensemble(4)
    cooking.cook(m, q, 4, pits, rows, 60.0, plan, PRESSURE, rows, [0.0] * 4)
    assert [m[i * at.SIZE + at.WRAP] for i in range(4)] == [at.BARE, at.PAPER, at.FOIL, at.BARE]
    assert all(m[i * at.SIZE + at.COOKED_S] == 6 * 3600.0 for i in range(4))


def test_a_warmer_pit_is_quicker():
    m, q = lay([PieceOfMeat(), PieceOfMeat()])
    pits = ensemble(1)[2]
    ends = [0.0, 0.0]
    cooking.cook(
        m, q, 2, pits, 360, 60.0, [0.0, NEVER, 0.0, NEVER, 0.0, 1.0, NEVER, 0.0, NEVER, 0.0], PRESSURE, 360, ends
    )
    assert ends[0] > ends[1] + 3.0


def test_a_cook_goes_on_from_the_state_it_is_in():
    piece, pit = PieceOfMeat(mass_kg=5.0), steady(121.1, 113.0, 0.1, 8.0)
    whole = cooked(piece, pit, wrap_h=5.0, stop=False)[2]
    m, q, first = cooked(piece, pit[: 3 * 60 * 6], wrap_h=5.0, stop=False)
    rows = 2 * 60
    rest = [0.0] * rows
    cooking.cook(m, q, 1, pit[: rows * 3], rows, 60.0, [0.0, 5.0 * 3600.0, at.PAPER, NEVER, 0.0], PRESSURE, 1, rest)
    assert first + rest == pytest.approx(whole)


def test_a_piece_that_is_done_stops_there():
    m, q, trace = cooked(PieceOfMeat(mass_kg=5.0), steady(128.0, 119.0, 0.1, 20.0), wrap_h=5.0)
    found = outcome(m, q)
    assert found.done_h is not None and found.done_h == pytest.approx(found.cooked_h)
    assert trace[-1] == found.probe_c >= 96.0
    assert found.collagen >= 0.8
    tough = PieceOfMeat(mass_kg=5.0, done_c=90.0, done_feel=0.97)
    waited = outcome(*cooked(tough, steady(128.0, 119.0, 0.1, 20.0), wrap_h=5.0)[:2])
    assert waited.collagen >= 0.97 and waited.probe_c > 91.0


def test_times_in_the_state_are_those_of_the_trace():
    piece = PieceOfMeat(cut="flat", mass_kg=3.0)
    m, q, trace = cooked(piece, steady(121.1, 113.0, 0.1, 9.0), stop=False)
    found = outcome(m, q)
    assert found.come_up_h == pytest.approx(next(i + 1 for i, t in enumerate(trace) if t >= 54.4444) / 60.0)
    assert found.centre_h == pytest.approx(sum(1 for t in trace if 4.0 < t < 60.0) / 60.0)
    slow = sum(1 for i in range(1, len(trace)) if 55.0 < trace[i] < 85.0 and trace[i] - trace[i - 1] < 0.05)
    assert found.plateau_h == pytest.approx(slow / 60.0, abs=0.02)
    minutes = sum(1.0 / cooking.lethal_minutes(t) for t in trace if t >= 54.4444)
    assert found.lethal == pytest.approx(minutes, rel=1e-6)
    assert found.surface_h < found.centre_h


def test_an_outcome_is_plain_data():
    m, q, _ = cooked(PieceOfMeat(), steady(121.1, 113.0, 0.1, 2.0))
    data = outcome(m, q).as_dict()
    assert data["done_h"] is None and data["yield"] < 1.0
    assert all(value is None or isinstance(value, float) for value in data.values())

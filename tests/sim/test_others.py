"""The controllers the board's law is compared with, and the step test behind one of them."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pit_kit import quiet
from tuyere.sim import kernel, rivals
from tuyere.sim.outside import Outside
from tuyere.sim.rehearse import Rehearsal, run, summarise
from tuyere.sim.step_response import Lag, fit, identify, simc


@pytest.mark.parametrize(
    ("gain", "lag", "delay"),
    [(2.0, 100.0, 10.0), (250.0, 3600.0, 120.0), (900.0, 1500.0, 240.0)],
)
def test_a_known_lag_model_is_found_again(gain: float, lag: float, delay: float) -> None:
    end = max(4.0 * lag, 2400.0) if lag < 1000.0 else 2400.0
    times = [end * (i + 1) / 240.0 for i in range(240)]
    rise = [0.15 * gain * (1.0 - math.exp((delay - t) / lag)) if t > delay else 0.0 for t in times]
    found = fit(times, rise, 0.15)
    assert found.gain == pytest.approx(gain, rel=0.01)
    assert found.lag == pytest.approx(lag, rel=0.01)
    assert found.delay == pytest.approx(delay, abs=0.01 * delay + 0.2)


def test_a_pit_that_does_not_answer_is_said_so() -> None:
    with pytest.raises(ValueError, match="did not answer to the step of the fan, so nothing can be identified from it"):
        fit([float(i) for i in range(20)], [0.0] * 20, 0.15)


@pytest.mark.parametrize(
    # SIMC PI with tau_c = delay: Skogestad, J. Process Control 13 (2003) 291-309, worked out for lag models
    ("model", "kc", "ti"),
    [
        (Lag(1.0, 1.0, 1.0), 0.5, 1.0),
        (Lag(1.0, 10.0, 1.0), 5.0, 8.0),
        (Lag(2.0, 100.0, 10.0), 2.5, 80.0),
        (Lag(250.0, 3600.0, 120.0), 0.06, 960.0),
    ],
)
def test_simc_gains(model: Lag, kc: float, ti: float) -> None:
    assert simc(model) == pytest.approx((kc, ti))


def test_a_cooker_is_identified_near_its_band() -> None:
    found = identify("drum", 2)
    assert 200.0 < found.gain < 5000.0 and 60.0 < found.delay < 900.0 and found.lag > found.delay


def test_on_off_has_one_degree_of_hysteresis() -> None:
    law = rivals.on_off(128.0)
    assert law(20.0) == 1.0
    assert law(128.49) == 1.0  # still on above the middle
    assert law(128.5) == 0.0
    assert law(127.51) == 0.0  # still off below it
    assert law(127.5) == 1.0
    assert law(128.2) == 1.0


def test_simple_pid_gets_the_gains_it_is_given() -> None:
    law = rivals.pid(128.0, 0.04, 600.0)
    assert law(118.0) == pytest.approx(0.04 * 10.0 + 0.04 / 600.0 * 10.0 * 2.0)
    assert law(300.0) == 0.0 and law(20.0) == 1.0


def test_a_controller_drives_the_pit_through_the_blowers_pulses() -> None:
    fans: list[float] = []

    def law(pit: float) -> float:
        fans.append(pit)
        return 0.05

    trace = rivals.run(quiet("drum", 1, 1.0), 0.5, law)
    assert len(trace) == 900 * kernel.TRACE and len(fans) == 900
    assert set(trace[kernel.T_FAN :: kernel.TRACE]) == {0.05}
    assert set(trace[kernel.T_STATE :: kernel.TRACE]) == {-1.0}
    assert fans[1:] == pytest.approx(trace[kernel.T_PIT :: kernel.TRACE][:-1])
    stopped = rivals.run(quiet("drum", 1, 1.0), 0.5, lambda pit: 0.0)
    assert trace[-kernel.TRACE + kernel.T_PIT] > stopped[-kernel.TRACE + kernel.T_PIT] + 3.0  # pulses do blow


def test_who_knows_the_future_holds_the_band_better_than_the_law() -> None:
    pytest.importorskip("numba")
    from tuyere.sim import compiled

    def share(trace: Any) -> float:
        found = Rehearsal("drum", 1, 2.5)
        summarise(found, trace)
        assert found.in_band is not None
        return found.in_band

    world = Outside("drum", 1, hours=2.5)
    board = share(run(world, 2.5, kern=compiled.kernel()))
    known = share(rivals.look_ahead(world, 2.5))
    unwarned = share(rivals.look_ahead(world, 2.5, foresees=False))
    assert board < known <= 1.0
    assert unwarned < known  # of its openings it hears when they happen


def test_the_search_is_the_same_plain_and_compiled(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("numba")
    from tuyere.sim import compiled

    world = Outside("drum", 1, hours=0.2)
    fast = rivals.look_ahead(world, 0.1, look=20)
    monkeypatch.setattr(compiled, "available", lambda: False)
    plain = rivals.look_ahead(world, 0.1, look=20)
    assert len(plain) == len(fast) == 180 * kernel.TRACE
    assert list(fast) == pytest.approx(plain, abs=1e-6)

"""What an experiment in a record shows of its cooker."""

from __future__ import annotations

import numpy as np
import pytest
import tune_kit
from hearth.core import Settings
from tuyere.sim import kernel
from tuyere.sim.outside import Outside
from tuyere.tune import Night, marks, tried
from tuyere.tune.going import Going

BEGINS, LONG, STEP = 7200.0, 2400.0, 0.06


def night(
    gain: float = 400.0, dead: float = 80.0, fast: float = 60.0, noise: float = 0.05, level: float = 0.3
) -> Night:
    """A pit of a dead time and two lags, gain in C for the whole fan, held still but for an experiment of square
    steps; then one that stands."""
    seconds = np.arange(0.0, 3 * 3600.0, 2.0)
    inside = (seconds >= BEGINS) & (seconds < BEGINS + LONG)
    fan = np.where(inside, level + STEP * np.sign(np.sin(2.0 * np.pi * (seconds - BEGINS + 1.0) / 700.0)), level)
    x = np.concatenate([np.zeros(int(dead / 2.0)), fan - level])[: len(fan)]
    for lag in (fast, 4000.0):
        now, out = 0.0, np.zeros(len(x))
        for i, value in enumerate(x):
            now += (value - now) * 2.0 / lag
            out[i] = now
        x = out
    pit = 128.0 + gain * x + noise * np.random.RandomState(1).standard_normal(len(x))
    return Night(seconds, pit, fan, tried=[(BEGINS, LONG)])


def test_a_pit_of_a_dead_time_and_two_lags_is_found_again() -> None:
    found = dict(zip(tried.NAMES, tried.of(night()), strict=True))
    lift = 0.1 * 400.0 * (600.0 - 80.0 - 60.0) / 4000.0  # nearly: a slow lag rises evenly at first
    assert np.exp(found["tried lift"]) == pytest.approx(lift, rel=0.12)
    assert np.exp(found["tried delay"]) == pytest.approx(80.0 + 50.0, rel=0.25)
    assert found["tried rest"] < np.log(0.05)
    assert np.exp(found["tried pace"]) == pytest.approx(350.0, rel=0.15)
    twice = dict(zip(tried.NAMES, tried.of(night(gain=800.0)), strict=True))
    assert twice["tried lift"] - found["tried lift"] == pytest.approx(np.log(2.0), abs=0.05)
    assert twice["tried ratio"] - found["tried ratio"] == pytest.approx(np.log(2.0), abs=0.05)


def test_noise_is_seen_in_the_rest() -> None:
    assert tried.of(night(noise=4.0))[2] > tried.of(night())[2] + 1.0


def test_a_night_without_an_experiment_or_with_a_short_one_has_no_marks_of_it() -> None:
    one = night()
    one.tried = []
    assert np.isnan(tried.of(one)).all()
    one.tried = [(BEGINS, 300.0)]
    assert np.isnan(tried.of(one)).all()
    assert tried.step(one) == tried.STEPS[0] or tried.step(one) == pytest.approx(STEP)


def test_the_step_is_read_from_the_record() -> None:
    assert tried.step(night()) == pytest.approx(STEP)


def test_an_experiment_is_rehearsed_by_the_boards_own_law() -> None:
    world = Outside("drum", 4, hours=4.0)
    given = (world.state, world.constants, world.pieces, world.piece_constants, world.events, world.weather)
    going = Going(Settings(), [np.array(part, dtype=np.float64) for part in given])
    going.on(3 * 3600.0)
    going.experiment(STEP, 4 * 3600.0)
    going.on(4 * 3600.0 - going.seconds)
    trace = np.concatenate(going.traces)
    assert len(trace) == 4 * 1800
    one = tune_kit.as_night(trace, world)
    assert 600.0 <= one.tried_s <= 2400.0 and one.tried[0][0] >= 3 * 3600.0
    assert tried.step(one) == pytest.approx(STEP, abs=0.01)
    assert np.isfinite(marks.of(one)[-len(tried.NAMES) :]).all()
    pit = trace[:, kernel.T_PIT][int(one.tried[0][0] / 2.0) :][: int(one.tried[0][1] / 2.0)]
    assert pit.min() > 121.1 and pit.max() < 135.0

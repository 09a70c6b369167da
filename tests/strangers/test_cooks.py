"""Cooks of strangers: they repeat, the halves are apart, the loop is the board's, the count is the log's."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from strangers import build, others, trial
from strangers import places as at
from strangers.cooks import FAMILIES, draw, half_of, seeds
from tuyere.score import Score
from tuyere.sim.board_in_pit import BoardInPit


def test_the_halves_are_apart() -> None:
    choose, report = seeds("choose", 200), seeds("report", 200)
    assert not set(choose) & set(report)
    assert {half_of(seed) for seed in choose} == {"choose"}
    assert {half_of(seed) for seed in report} == {"report"}
    assert len(set(choose)) == len(set(report)) == 200
    assert seeds("report", 2, 5001) == [5001, 5003]
    assert seeds("choose", 2, 5001) == [5002, 5004]
    with pytest.raises(ValueError, match="choose, report"):
        seeds("both", 1)
    with pytest.raises(ValueError, match="begin at 1"):
        seeds("choose", 1, 0)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_seed_repeats_and_another_differs(family: str) -> None:
    runs = [trial.board(draw(family, seed, hours=3.0)) for seed in (4, 4, 6)]
    assert np.array_equal(runs[0], runs[1])
    assert not np.array_equal(runs[0], runs[2])


def test_about_a_tenth_is_awkward() -> None:
    nasty = [bool(draw(family, seed, hours=1.0).words) for family in FAMILIES for seed in range(1, 121)]
    assert 0.07 < sum(nasty) / len(nasty) < 0.18


@pytest.mark.parametrize("family", FAMILIES)
def test_the_loop_is_the_boards_own(family: str) -> None:
    """`BoardInPit` in front of the plain pit drives the same fan as the compiled loop, cycle by cycle."""
    cook = draw(family, 2, hours=1.5)
    trace = trial.board(cook)
    day = build.day(plain=True)
    x, c, y, k, e, w = (one.tolist() for one in trial.parts(cook))
    noise, board = cook.noise(), BoardInPit()
    for name, value in cook.settings.items():
        setattr(board.settings, name, value)
    for i in range(cook.cycles):
        day.look(x, y, k, e)
        day.read(y, k, noise[i])
        told, y[at.TOLD] = y[at.TOLD] > 0.0, 0.0
        meat = y[at.CORE] if y[at.MEAT_AT] >= 0.0 else None
        y[at.DUTY] = board.step(2.0, day.hundredths(y[at.READING]) / 100.0, meat, told)
        assert (y[at.DUTY], y[at.READING]) == (trace[i, at.T_DUTY], trace[i, at.T_READING]), i
        day.run(cook.code, x, c, y, k, e, w, 2)


@pytest.mark.parametrize("family", FAMILIES)
def test_the_share_in_band_is_counted_as_the_log_counts(family: str) -> None:
    cook = draw(family, 2)
    trace = trial.board(cook)
    found = trial.judge(cook, trace)
    reads = trace[:, at.T_READING].tolist()
    ends = [int((i + 1) * 2000) for i in range(len(reads))]
    score = Score(0)
    assert found.meat_min is not None
    score.meat_on(int(found.meat_min * 60000.0))
    low, high = trial.BAND_C
    score.add(ends, reads, [low] * len(reads), [high] * len(reads))
    assert score.share == pytest.approx(found.in_band, abs=2e-4)


def test_what_came_of_the_arrival_alone_ends_with_the_first_lid() -> None:
    cook = draw("lags", 2, hours=2.0)
    trace = np.zeros((cook.cycles, at.TRACE))
    low, high = trial.BAND_C
    trace[:, at.T_READING] = high - 5.0
    trace[:300, at.T_READING] = low - 50.0
    trace[400, at.T_READING] = high + 1.5
    trace[500:530, at.T_LID] = 1.0
    trace[600, at.T_READING] = high + 6.0
    found = trial.judge(cook, trace)
    assert (found.over_alone_c, found.over_c) == (1.5, 6.0)
    trace[300:530, at.T_LID] = 1.0  # it is up when the pit arrives
    assert trial.judge(cook, trace).over_alone_c == 0.0


def test_too_weak_is_the_time_below_the_band_under_all_of_the_fan() -> None:
    cook = draw("lags", 2, hours=3.0)
    trace = np.zeros((cook.cycles, at.TRACE))
    trace[:, at.T_READING] = trial.MIDDLE_C
    counted = len(trace) - int(trial.HOUR_S / at.PERIOD_S)  # nothing goes on: from the first hour on
    cold = trace[-counted // 2 :]
    cold[:, at.T_READING] = trial.BAND_C[0] - 1.0
    assert trial.too_weak(cook, trace) == 0.0
    cold[:, at.T_FAN] = 1.0
    assert trial.too_weak(cook, trace) == pytest.approx(0.5, abs=0.001)
    trace[:, at.T_READING] = 20.0
    assert trial.too_weak(cook, trace) == 1.0


def test_back_needs_two_unbroken_minutes() -> None:
    lid, inside = np.zeros(400, bool), np.ones(400, bool)
    lid[10:20] = True
    inside[10:50] = False
    inside[60] = False  # a minute inside does not count
    assert trial.backs(lid, inside) == [pytest.approx((61 - 20) * 2 / 60)]
    inside[61:] = False
    assert trial.backs(lid, inside) == []  # never back, and no later lid to end the wait


def test_a_watchdog_bite_is_carried_through() -> None:
    """The memory of at most ten minutes ago is taken up, and the board knows why it started."""
    cook = draw("bed", 2, hours=2.0)
    whole = trial.board(cook)
    cook.restarts = [5400.0]
    bitten = trial.board(cook)
    assert np.array_equal(whole[:2700], bitten[:2700])
    assert not np.array_equal(whole[2700:], bitten[2700:])


def test_a_setting_the_board_would_refuse_is_refused() -> None:
    with pytest.raises(ValueError, match="no setting 'gian'"):
        trial.check({"gian": 3})
    with pytest.raises(ValueError, match=r"gain is 1; it must be within 10\.\.5000"):
        trial.check({"gain": 1})


def test_what_no_fan_can_hold_is_told_by_running_it() -> None:
    cook: Any = draw("ceramic", 2)
    assert trial.holdable(cook) == ""
    cook.pit.scale_fan(cook.c, 0.05)
    assert "full fan" in trial.holdable(cook)
    leaky = draw("lags", 2)
    leaky.c[leaky.pit.IDLE] = 0.002
    assert "without a fan" in trial.holdable(leaky)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_pid_with_gains_of_the_cooker_holds_it_and_on_off_swings_more(family: str) -> None:
    cook = draw(family, 4, hours=5.0)
    gain, reset = others.simc(cook)
    assert 0.0003 < gain < 2.0
    assert 30.0 <= reset < 6000.0
    swings = {}
    for who in ("simc", "on-off"):
        trace = others.run(cook, others.law(who, cook))
        swings[who] = trace[3600:, at.T_TRUE].std()
        assert abs(trace[3600:, at.T_TRUE].mean() - trial.MIDDLE_C) < 12.0
    assert swings["simc"] < swings["on-off"] + 1.0

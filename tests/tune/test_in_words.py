"""What is said of a cooker, and when nothing is concluded."""

from __future__ import annotations

import numpy as np
import pytest
import tune_kit
from tuyere.text import Reader, render
from tuyere.tune import Cooker, Member, in_words
from tuyere.tune.cooker import Spread
from tuyere.tune.sensitivity import Answer


def test_quantiles_follow_the_weights() -> None:
    low, middle, high = in_words.quantiles([3.0, 1.0, 2.0], [1.0, 1.0, 1.0])
    assert middle == pytest.approx(2.0) and low < 1.5 and high > 2.5
    assert in_words.quantiles([1.0, 9.0], [0.98, 0.02])[1] == pytest.approx(1.0, abs=0.2)


def test_told_is_one_for_what_is_known_and_none_for_what_is_as_wide_as_before() -> None:
    assert in_words.told("delay", 100.0, 100.0) == 1.0
    assert in_words.told("delay", *in_words.BEFORE["delay"]) == pytest.approx(0.0)
    assert 0.3 < in_words.told("lift", 5.0, 10.0) < 0.8


def test_a_model_that_the_board_would_hold_otherwise_concludes_nothing() -> None:
    night, _ = tune_kit.recorded("drum", 4, 6.0)
    cooker = Cooker([], [Spread("delay", 50.0, 60.0, 70.0, 0.9)], misfit_c=2.0, held=0.96, was_held=0.74)
    assert not in_words.fits(cooker)
    cooker.fits = False
    (said,) = in_words.says_little(cooker, [night])
    assert "96.0 % of the time, and the real one 74.0 %" in render(said, Reader("C"))
    cooker.was_held = 0.95
    assert in_words.fits(cooker)
    cooker.misfit_c = 20.0
    assert not in_words.fits(cooker)


def test_the_spreads_are_said_with_their_ranges(monkeypatch: pytest.MonkeyPatch) -> None:
    night, _ = tune_kit.recorded("drum", 4, 6.0)
    monkeypatch.setattr(in_words, "off", lambda night, member: 60.0)
    each = [Answer(delay, np.linspace(0.0, 60.0, 540)) for delay in (80.0, 100.0, 140.0)]
    cooker = Cooker([Member([], [], np.zeros(1), 1.0, "drum", answers=[one]) for one in each])
    assert [render(one.words, Reader("C")) for one in in_words.spreads(cooker, night)] == [
        "answers the fan after 1 min (1 min to 2 min)",
        "a tenth more fan lifts it by 0.1 C in 10 min (0.1 C to 0.1 C)",
        "leaks enough air to stand at 60 C two hours after the fan stops (60 C to 60 C)",
    ]


def test_pits_that_more_fan_does_not_warm_conclude_nothing() -> None:
    rises = Answer(10.0, np.linspace(0.0, 400.0, 540)), Answer(10.0, np.linspace(0.0, -50.0, 540))
    warm, cold = (Member([], [], np.zeros(1), 0.5, "drum", answers=[rise]) for rise in rises)
    assert not in_words.backwards(Cooker([warm]))
    cooker = Cooker([warm, cold], misfit_c=1.0, fits=False)
    assert in_words.backwards(cooker) and not in_words.fits(cooker)
    night, _ = tune_kit.recorded("drum", 4, 6.0)
    assert any("--experiment" in render(one, Reader("C")) for one in in_words.says_little(cooker, [night]))


def test_a_night_that_was_hardly_held_says_little_and_what_to_do() -> None:
    night, _ = tune_kit.recorded("drum", 4, 2.0)
    said = [render(one, Reader("C")) for one in in_words.says_little(Cooker([]), [night])]
    assert any("Add another night" in one for one in said)
    night, _ = tune_kit.recorded("drum", 4, 6.0)
    said = [render(one, Reader("C")) for one in in_words.says_little(Cooker([]), [night])]
    assert any("--experiment" in one for one in said)


def test_a_fan_that_hardly_moves_is_said() -> None:
    night, _ = tune_kit.recorded("drum", 4, 6.0)
    night.fan = np.full(len(night.fan), 0.2)
    said = [render(one, Reader("C")) for one in in_words.says_little(Cooker([]), [night])]
    assert any("hardly moved" in one for one in said)

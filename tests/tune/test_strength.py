"""How strongly a fan drives its pit, from the marks of a night."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import tune_kit
from hearth.core import Settings
from tuyere.tune import Night, candidates, known, marks, strength, tried
from tuyere.tune.strength import Strength, Taught

PERIOD_S, HOURS = 2.0, 4.0


def night(warm: bool = False, held_c: float = 128.0, fan: float = 0.3) -> Night:
    """A pit that climbs 3 C a minute under the full fan, then swings a little, and its fan against it."""
    seconds = np.arange(int(HOURS * 3600.0 / PERIOD_S)) * PERIOD_S
    climb = 20.0 + 3.0 * seconds / 60.0
    swing = np.sin(seconds / 600.0)
    pit = np.full(len(seconds), held_c) if warm else np.minimum(climb, held_c)
    holds = pit >= held_c
    return Night(
        seconds,
        np.where(holds, held_c + 2.0 * swing, pit),
        np.where(holds, fan - 0.05 * swing, 1.0),
        outside_c=18.05,
    )


def test_the_marks_are_what_the_curve_shows() -> None:
    found = dict(zip(marks.NAMES, marks.of(night()), strict=True))
    assert found["level"] == pytest.approx(np.log(0.305), abs=0.02)  # 110 K above the air outside
    assert found["climb"] == pytest.approx(np.log(30.0), abs=0.05) and found["no full fan"] == 0.0
    assert found["arrival"] == pytest.approx(np.log(34.0 / 60.0), abs=0.1)
    assert found["air to arrive"] == pytest.approx(found["arrival"], abs=0.1)  # all of it under the full fan
    assert found["spread"] == pytest.approx(np.log(2.0 / 2**0.5 + 0.05), abs=0.1)
    assert found["fan's spread"] == pytest.approx(np.log(0.05 / 2**0.5 + 0.003), abs=0.1)
    assert found["after 2 min"] < -0.8  # the fan goes against the reading


def test_a_record_that_begins_warm_has_no_climb_and_one_that_never_held_has_no_marks() -> None:
    warm = dict(zip(marks.NAMES, marks.of(night(warm=True)), strict=True))
    assert np.isnan([warm[name] for name in ("climb", "no full fan", "arrival", "air to arrive", "over")]).all()
    assert np.isfinite(warm["level"])
    assert marks.of(night(held_c=100.0)) is None


def taught(noise: float) -> tuple[Taught, np.ndarray]:
    random = np.random.RandomState(3)
    rows, line = random.standard_normal((400, len(marks.NAMES))), random.standard_normal(len(marks.NAMES)) * 0.2
    lifts = rows @ line + 2.0 + noise * random.standard_normal(400)
    return Taught(rows, lifts, 5.0 - lifts), line


def without() -> np.ndarray:
    """The marks of a night without an experiment."""
    seen = np.full(len(marks.NAMES), 0.5)
    seen[-len(tried.NAMES) :] = np.nan
    return seen


def test_the_regression_finds_a_straight_line_and_how_far_it_is_off() -> None:
    rows, line = taught(0.8)
    seen, there = without(), np.arange(len(marks.NAMES)) < len(marks.NAMES) - len(tried.NAMES)
    hidden = float(np.sqrt(0.8**2 + np.sum(line[~there] ** 2)))  # what the missing marks say is noise here
    found = rows.tell(seen)
    assert found.mean == pytest.approx(2.0 + 0.5 * line[there].sum(), abs=0.25) and found.delay is None
    assert found.sd == pytest.approx(strength.SHARE * hidden, rel=0.15) and 0.1 < found.shown < 0.9
    missing = np.where(np.arange(len(seen)) == 0, np.nan, seen)
    assert rows.tell(missing).mean == pytest.approx(2.0 + 0.5 * line[there][1:].sum(), abs=0.3)
    assert taught(0.01)[0].tell(np.full(len(seen), 0.5)).sd == strength.LEAST_SD  # no cooker is known so well


def test_an_experiment_tells_the_delay_too_and_how_both_go_together() -> None:
    rows, line = taught(0.8)
    seen = np.full(len(marks.NAMES), 0.5)
    found = rows.tell(seen)
    assert found.delay is not None and found.together == pytest.approx(-1.0, abs=0.01)  # delay = 5 - lift here
    assert found.mean == pytest.approx(2.0 + 0.5 * line.sum(), abs=0.3)
    assert found.delay.mean == pytest.approx(5.0 - found.mean, abs=0.01)
    cookers = rows.marks.copy()
    cookers[100:, -1] = np.nan  # these had no experiment, and other lifts
    apart = Taught(cookers, np.where(np.arange(400) < 100, rows.lifts, 9.0), rows.delays).tell(seen)
    assert apart.mean == pytest.approx(found.mean, abs=0.5)


def test_an_experiment_that_is_explained_badly_tells_less() -> None:
    """The cookers that count are those whose experiment is explained as well as this one."""
    rows, _ = taught(0.0)
    place = marks.NAMES.index("tried rest")
    noise = np.random.RandomState(4).standard_normal(400)
    some = Taught(rows.marks, rows.lifts + noise * np.exp(rows.marks[:, place]), rows.delays)
    well, badly = np.full(len(marks.NAMES), 0.5), np.full(len(marks.NAMES), 0.5)
    well[place], badly[place] = -2.0, 2.0
    assert some.tell(badly).sd > 2.0 * some.tell(well).sd


def test_nights_alike_are_taught_by_the_same_rehearsals(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []

    def rehearsed(settings: Settings, hours: float, *_: object) -> Taught:
        asked.append(hours)
        return taught(0.5)[0]

    monkeypatch.setattr(strength, "_rehearsed", rehearsed)
    monkeypatch.setattr(strength, "_taught", {})
    other = Settings()
    other.gain = 100
    heard: list[int] = []
    first = strength.taught(night(), told=heard.append)
    assert strength.taught(night(fan=0.4)) is first and len(asked) == 1 and heard == [strength.COOKERS]
    assert strength.taught(replace(night(), settings=other)) is not first and len(asked) == 2
    for gain in range(101, 101 + 2 * strength.NIGHTS_KEPT):
        other.gain = gain
        strength.taught(replace(night(), settings=other))
    assert len(strength._taught) == strength.NIGHTS_KEPT


def test_a_night_that_never_held_tells_nothing() -> None:
    assert strength.of_nights([night(held_c=100.0)]) is None


def test_aims_are_spread_as_what_is_known() -> None:
    aims = Strength(2.0, 0.5, 0.5).aims(200)
    assert aims.shape == (200, 1)
    assert aims.mean() == pytest.approx(2.0) and aims.std() == pytest.approx(0.5, abs=0.02)
    both = Strength(2.0, 0.5, 0.5, Strength(4.0, 0.3, 0.5), -0.6).aims(200)
    assert both.mean(axis=0) == pytest.approx([2.0, 4.0], abs=0.02)
    assert both.std(axis=0) == pytest.approx([0.5, 0.3], abs=0.02)
    assert np.corrcoef(both.T)[0, 1] == pytest.approx(-0.6, abs=0.05)
    kept = Strength(2.0, 0.5, 0.5).aimed(np.array([3.0, 1.0, 2.0]))
    assert kept.argsort().tolist() == [1, 2, 0] and kept.mean() == pytest.approx(2.0)


def test_the_ensemble_is_spread_as_what_is_known_and_not_by_how_well_it_explains() -> None:
    """Weak fans explain this night best, as they do under control; the lifts stay where the marks put them."""
    lifts = np.linspace(0.0, 4.0, 161)
    chosen = known.one_each(lifts, lifts[:, None], Strength(2.0, 0.5, 0.5), 16)
    assert len(set(chosen.tolist())) == 16
    assert lifts[chosen].mean() == pytest.approx(2.0, abs=0.1) and lifts[chosen].std() == pytest.approx(0.5, abs=0.1)
    ends = known.first(np.linspace(0.0, 1.0, 1000), np.linspace(-4.0, 8.0, 1000)[:, None], Strength(2.0, 0.5, 0.5))
    begun = np.linspace(-4.0, 8.0, 1000)[ends]
    assert len(ends) == known.KEPT and begun.min() > 0.0 and begun.max() < 4.0


@pytest.mark.parametrize(("least", "left"), [(2, [1, 2, 4]), (4, [0, 1, 2, 3, 4])])
def test_a_pit_that_swings_where_the_real_one_did_not_is_left_out(
    monkeypatch: pytest.MonkeyPatch, least: int, left: list[int]
) -> None:
    drawn = candidates.draw(5, 1, 1)
    shares = np.array([0.5, 0.97, 0.92, 0.90, 1.0])
    monkeypatch.setattr(known.in_words, "held_by", lambda members, night: shares[: len(members)])
    monkeypatch.setattr(Night, "in_band", lambda self: 0.96)
    assert known.steady(drawn, night(), least).tolist() == left
    monkeypatch.setattr(Night, "in_band", lambda self: None)  # nothing counts yet
    assert len(known.steady(drawn, night(), least)) == 5


def test_the_first_part_of_a_night_has_nothing_of_the_rest() -> None:
    whole, _ = tune_kit.recorded("drum", 4, 3.0)
    whole.tried = [(1000.0, 600.0), (5000.0, 900.0), (9000.0, 100.0)]
    part = whole.first(0.5)
    assert part.length_s == pytest.approx(0.5 * whole.length_s, abs=4.0)
    assert part.tried == [(1000.0, 600.0), (5000.0, pytest.approx(part.length_s - 5000.0))]
    assert all(start < part.seconds[-1] for start, _, _ in part.openings) and whole.first(1.0) is whole

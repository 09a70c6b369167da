"""When a basket is filled up: from what may have burned by each hour, out of the cook's sleep where it can be."""

from __future__ import annotations

import pytest
from plan_kit import LONDON, at, lighten, make
from rendered import words
from supper_pages import MIXED
from tuyere.plan.burning import LEFT, Burning
from tuyere.plan.refuels import lasts, refuels
from tuyere.plan.times import HOUR, MINUTE, Sleep

NIGHT = Sleep(23 * 60, 6 * 60, LONDON)


def burns(rate: float, hours: float, fill: float) -> Burning:
    by_then = [rate * i / 2.0 for i in range(round(2.0 * hours) + 1)]
    return Burning(by_then[-1], by_then[-1], fill, 0.0, "a rate", by_then)


def test_a_fill_that_lasts_is_not_filled_up() -> None:
    fuel = burns(0.5, 12.0, 6.0 / (1.0 - LEFT))
    assert lasts(at(27, "20:00"), fuel) and not list(refuels(at(27, "20:00"), fuel, NIGHT))


def test_a_basket_is_filled_up_before_it_is_empty_and_so_often_that_it_lasts() -> None:
    light = at(28, "06:00")
    fuel = burns(0.5, 16.0, 3.0 / (1.0 - LEFT))  # 6 h a fill, all by day
    found = list(refuels(light, fuel, NIGHT))
    assert not lasts(light, fuel) and [one.in_sleep for one in found] == [False, False]
    assert [one.at for one in found] == [at(28, "11:30"), at(28, "17:00")]
    assert [one.mass for one in found] == pytest.approx([2.75, 2.5])  # what burned; then what is still to burn


def test_a_fill_that_ends_in_the_night_is_topped_up_before_the_sleep() -> None:
    fuel = burns(0.5, 14.0, 5.0 / (1.0 - LEFT))  # 10 h a fill
    [one] = refuels(at(27, "19:00"), fuel, NIGHT)  # it would end at 05:00
    assert not one.in_sleep and one.at == at(27, "22:45") and one.mass == pytest.approx(1.875)


def test_a_fill_that_cannot_last_the_sleep_says_so() -> None:
    """4 h a fill: lit at 21:30, so that nothing burned by bedtime that could be put back."""
    found = list(refuels(at(27, "21:30"), burns(0.5, 10.0, 2.0 / (1.0 - LEFT)), NIGHT))
    assert found[0].in_sleep and found[0].at == at(28, "01:00") and found[-1].at <= at(28, "07:30")


def test_each_cooker_is_judged_by_its_own_fill_and_the_timetable_names_the_times(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Plain numbers: 6 kg a fill, 0.3 kg/h at most: 17 h. Two cookers burn twice that, and one fill of each does."""
    lighten(monkeypatch.setattr)
    two = make(cookers=("upright", "upright"), oven=True)
    assert two.fuel.need > two.pits[0].fuel.fill > two.pits[0].fuel.need
    [charcoal] = [item for item in two.shopping if "charcoal" in words(item.what)]
    assert "one fill of each does" in words(charcoal.detail) and not [row for row in two.rows if row.kind == "fuel"]
    long = make(own=MIXED, guests=20, cooker="cabinet")
    fillings = list(refuels(long.light, long.pits[0].fuel, NIGHT))
    rows = [row for row in long.rows if row.kind == "fuel"]
    [charcoal] = [item for item in long.shopping if "charcoal" in words(item.what)]
    assert fillings and [row.at for row in rows] == [one.at for one in fillings]
    assert "a fill is about 6.0 kg; the timetable says when to fill up" in words(charcoal.detail)
    assert "of charcoal to the basket" in words(rows[0].what) and rows[0].until == rows[0].at + 10 * MINUTE
    assert (rows[0].at - long.light) / HOUR < 17.0

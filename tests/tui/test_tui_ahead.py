"""What is expected, shown when it is in the snapshot and not before."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from fake_source import HOUR, MINUTE, START, FakeSource, snapshot, trend
from playing import play, press, text
from textual.pilot import Pilot
from textual.widgets import Static
from tuyere.cook import ahead
from tuyere.cook.snapshot import Forecast, Snapshot
from tuyere.text import Mass, Reader, Temperature
from tuyere.text import text as text_of
from tuyere.tui.app import WatchApp


def with_forecast() -> Snapshot:
    shot = snapshot(trend(6.0))
    now = shot.now  # 01:59
    flat, _, small = shot.pieces
    flat.finish_early, flat.finish_likely, flat.finish_late = now + 5 * HOUR, now + 6 * HOUR, now + 7 * HOUR
    flat.wrap_from, flat.wrap_until = now + 40 * MINUTE, now + 100 * MINUTE
    small.place, small.hold_until = "box", now + 3 * HOUR
    ats = [now + i * 10 * MINUTE for i in range(37)]
    stood = text_of("It stood at {c} for an hour.", c=Temperature(70.0))
    flat.expected = ["Its plateau is past its middle.", stood]
    shot.fuel_left, shot.fuel_words = 3.21, text_of("It burns {mass} an hour.", mass=Mass(0.31))
    shot.fuel_early, shot.fuel_likely, shot.fuel_late = now + 3 * HOUR, now + 4 * HOUR, now + 6 * HOUR
    low, mid, high = ([68 + i * k for i in range(37)] for k in (0.5, 0.7, 0.9))
    shot.forecasts = [Forecast(piece=1, at=ats, low=low, mid=mid, high=high)]
    return shot


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 35)])
def test_ranges_windows_and_holds_have_a_place_at_every_size(tmp_path: Path, size: tuple[int, int]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        shown = text(app)
        assert [len(line) for line in shown.split("\n")] == [size[0]] * size[1] and "~" not in shown
        one = " ".join(shown.split())
        assert "7.1 lb, at least until 04:59" in one and "likely 05:59" in one
        if size[0] >= 80:
            for words in ("wrap 02:39-03:39", "ready 07:59 (06:59-08:59)", "hot until 04:59, 3 h"):
                assert words in shown
        assert "│" in shown  # now, between what was and what is expected
        await press(pilot, "r")
        page = " ".join(str(app.screen.query_one("#page", Static).render()).split())
        assert "Ready about 07:59: one time in ten before 06:59, one in ten after 08:59." in page
        assert "The fuel lasts until about 05:59: one time in ten it ends before 04:59" in page
        assert "About 7.1 lb of charcoal is left" in page
        assert "It burns 11 oz an hour." in page
        assert "Its plateau is past its middle. It stood at 158 F for an hour." in page  # in the cook's units

    play(look, tmp_path, size=size, source=FakeSource(shot=with_forecast()))


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 35)])
def test_without_a_forecast_nothing_is_said_of_it(tmp_path: Path, size: tuple[int, int]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        for word in ("ready", "hot until", "fuel", "│"):
            assert word not in text(app)

    play(look, tmp_path, size=size)


def test_what_no_longer_matters_is_left_out() -> None:
    shot = with_forecast()
    flat = shot.pieces[0]
    flat.wrap = "paper"
    assert not any("wrap" in words for words in ahead.short(flat, shot.now, Reader("C")))
    flat.place = "box"
    assert ahead.short(flat, shot.now, Reader("C")) == [] and ahead.finish(flat) is None
    flat.place, flat.finish_early, flat.finish_late = "pit", 0, 0
    assert ahead.short(flat, shot.now, Reader("C")) == ["ready 07:59 (07:59-07:59)"]
    flat.wrap = ""
    assert ahead.wrap(flat, shot.now).startswith("wrap ")
    flat.tender_at = shot.now
    assert ahead.short(flat, shot.now, Reader("C")) == ["tender: take it out"]
    flat.held = True
    assert ahead.short(flat, shot.now, Reader("C")) == ["held hot"]


def test_a_window_and_a_hold_that_are_over() -> None:
    shot = with_forecast()
    flat, _, small = shot.pieces
    later = shot.now + 4 * HOUR
    assert ahead.wrap(flat, later) == "wrap now" and ahead.hot(small, later) == "hot until 04:59, over"


def test_points_of_several_forecasts_follow_each_other() -> None:
    shot = with_forecast()
    shot.forecasts = shot.forecasts * 2
    points = ahead.points(shot)
    assert len(points) == 74 and points[37][0] == points[0][0]
    assert points[1][1:] == pytest.approx((68.5, 68.7, 68.9))
    assert ahead.points(None) == [] and ahead.points(snapshot(trend(6.0))) == []


def test_the_middle_of_a_range_has_the_day_and_over_a_longer_time_its_ends_too() -> None:
    now = START + 26 * HOUR  # Sunday 22:00
    night = (now + 7 * HOUR, now + 9 * HOUR, now + 13 * HOUR)
    assert ahead.span_words(night, now) == "07:00 (05:00-11:00)"
    assert ahead.span_words((now + HOUR, now + 9 * HOUR, now + 13 * HOUR), now) == "07:00 (23:00-11:00)"
    long = (now + HOUR, now + 20 * HOUR, now + 26 * HOUR)
    assert ahead.span_words(long, now) == "Mon 18:00 (Sun 23:00-Tue 00:00)"
    assert ahead.span_words((now + 2 * HOUR, now + 3 * HOUR, now + 4 * HOUR), now) == "01:00 (00:00-02:00)"

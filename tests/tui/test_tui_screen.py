"""The watch screen at its three sizes, and what it says when things are not well."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import HOUR, MINUTE, FakeSource, snapshot, trend
from playing import play, press, settle, text
from textual.pilot import Pilot
from textual.widgets import Footer, Static
from tuyere.cook import food_safety
from tuyere.cook.prompts import prompts
from tuyere.cook.snapshot import Alarm, Event, Kitchen, Snapshot
from tuyere.forecast.exchange import Columns
from tuyere.tui.app import WatchApp
from tuyere.tui.widgets.trend import TrendChart

SIZES = [(60, 20), (80, 24), (120, 35)]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("alarm", [False, True])
def test_all_that_matters_is_on_screen_at_every_size(tmp_path: Path, size: tuple[int, int], alarm: bool) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        shown = text(app)
        assert [len(line) for line in shown.split("\n")] == [size[0]] * size[1]
        for words in ("Holding 263 F, in the band", "250-275 F", "fan", "Wrapped, 2 of 3", "until Big flat reads 203 F",
                      "Big flat", "155 F", "Point", "paper", "Small one", "oven", "hand", "in 35 min", "01:59",
                      "simulated"):  # fmt: skip
            assert words in shown, words
        assert ("The fire is fading" in shown) == alarm
        assert ("a acknowledges" in shown) == alarm
        footer = app.screen.query_one(Footer)
        assert footer.max_scroll_x == 0
        shown_keys = [key.description for key in footer.query("FooterKey") if key.display]
        assert {"band", "opened", "note", "read", "acknowledge", "help", "quit"} <= set(shown_keys)
        assert len(shown_keys) == (9 if size[0] >= 80 else 7)
        assert all(f"{words} " in shown.split("\n")[-1] + " " for words in shown_keys)
        if not alarm or size != (60, 20):  # there the words of an urgent alarm go before the chart
            assert any("\u2800" < c <= "\u28ff" for c in shown)
            assert app.screen.query_one(TrendChart).size.height >= 5

    source = FakeSource(trend(6.0), snapshot(trend(6.0), alarm=alarm))
    play(look, tmp_path, size=size, source=source)


@pytest.mark.parametrize("size", SIZES)
def test_no_words_are_clipped(tmp_path: Path, size: tuple[int, int]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert "~" not in text(app)

    play(look, tmp_path, size=size)


@pytest.mark.parametrize("size", SIZES)
def test_detail_has_the_parts_of_the_demand(tmp_path: Path, size: tuple[int, int]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert "owed" not in text(app)
        await press(pilot, "d")
        shown = text(app)
        for words in (
            "pull",
            "+2.1 %",
            "owed",
            "+31.8 %",
            "brake",
            "-1.2 %",
            "need",
            "aim",
            "262.5 F",
            "the pit is in the band",
        ):
            assert words in shown, words
        assert app.screen.query_one(TrendChart).display == (size[0] >= 120)
        await press(pilot, "d")
        assert "owed" not in text(app)

    play(look, tmp_path, size=size)


def test_a_terminal_may_be_made_smaller_and_larger(tmp_path: Path) -> None:
    shot = snapshot(trend(6.0))
    flat, *others = shot.pieces
    times = {"finish_early": shot.now + HOUR, "finish_likely": shot.now + 2 * HOUR, "finish_late": shot.now + 3 * HOUR}
    shot = msgspec.structs.replace(shot, pieces=[msgspec.structs.replace(flat, **times), *others])

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        for size in ((80, 24), (120, 35), (60, 20), (20, 8), (3, 2), (120, 35)):
            await pilot.resize_terminal(*size)
            if size == (20, 8):
                await press(pilot, "n")  # and with a menu in two columns
            app._check_resize()  # Textual waits for more of the same; here no time passes
            await settle(pilot)
        await press(pilot, "escape")
        assert "Holding 263 F, in the band" in text(app)

    play(look, tmp_path, size=(120, 35), source=FakeSource(trend(6.0), shot))


def test_the_first_paint_waits_for_no_engine(tmp_path: Path) -> None:
    gate: asyncio.Event | None = None

    async def connect() -> FakeSource:
        nonlocal gate
        gate = asyncio.Event()
        await gate.wait()
        return FakeSource()

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        shown = text(app)
        assert "Looking for the engine." in shown and "b band" in shown.replace("  ", " ")
        await press(pilot, "b", "x", "n")
        assert len(app.screen_stack) == 1  # nothing opens; it is said why
        assert any("no engine" in n.message for n in app._notifications)
        assert gate is not None
        gate.set()
        await settle(pilot)
        assert "Holding 263 F" in text(app)

    play(look, tmp_path, connect=connect)


def test_why_there_is_no_engine_is_said(tmp_path: Path) -> None:
    async def connect() -> FakeSource:
        raise RuntimeError("another engine has the logbook")

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert "another engine has the logbook." in text(app)

    play(look, tmp_path, connect=connect)


def test_a_lost_engine_is_said_old_readings_are_not_shown_as_live_and_it_is_found_again(tmp_path: Path) -> None:
    sources = [FakeSource(), FakeSource(trend(6.5))]
    came: list[FakeSource] = []
    again: list[asyncio.Event] = []

    async def connect() -> FakeSource:
        came.append(sources[len(came)])
        return came[-1]

    async def wait() -> None:
        again.append(asyncio.Event())
        await again[-1].wait()

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        cycles = app.history.cycles
        sources[0].drop()
        await settle(pilot)
        shown = text(app)
        assert "The engine is gone since 01:59; looking for it again." in shown
        assert re.search(r"\(26\d F at 01:59\)", shown)
        assert not re.search(r"^ ?26\d F ", shown, re.M)
        assert "(155 F)" in shown and "155 F  " not in shown and "Trend, the whole cook, until 01:59" in shown
        assert "not live, " in shown
        assert sources[0].closed
        again[0].set()
        await settle(pilot)
        assert re.search(r"Holding 26\d F", text(app))
        assert sources[1].last("subscribe") == {"trend_after": sources[0].columns.last}
        assert app.history.cycles > cycles

    play(look, tmp_path, connect=connect, again=wait)


def changed(**changes: Any) -> Snapshot:
    shot = snapshot(trend(6.0))
    return msgspec.structs.replace(shot, **changes)


def test_a_lost_link_and_a_stale_cycle_are_said(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        source.push(changed(stale=True))
        await settle(pilot)
        assert "No fresh reading since 01:59." in text(app) and not app.view.live
        link = msgspec.structs.replace(source.shot.link, state="lost", words="the board is unplugged")
        source.push(changed(link=link, words=["The link is lost"]))
        await settle(pilot)
        shown = text(app)
        assert (
            "The board is unplugged." in shown
            and "not live" in shown
            and "(262 F at 01:59)" in shown.replace("263", "262")
        )
        source.push(changed())
        await settle(pilot)
        assert app.view.live

    play(look, tmp_path)


@pytest.mark.parametrize("simulated", [False, True])
def test_the_headline_says_how_old_the_last_record_is(tmp_path: Path, simulated: bool) -> None:
    now = [100.0]
    shot = snapshot(trend(6.0), simulated=simulated)

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        async def after(seconds: float, came: Snapshot | None = None) -> str:
            now[0] += seconds
            if came is not None:
                app.take_snapshot(came)
            app.check()
            await settle(pilot)
            return text(app).split("\n")[2 if app.size.height >= 35 else 1]

        assert (await after(0.0)).endswith("live, under 3 s old ")
        assert (await after(4.0)).endswith("live, 4 s old ")
        assert (await after(4.0)).endswith("late, 8 s old ")
        # the engine goes on, its records do not
        later = msgspec.structs.replace(shot, now=shot.now + 9000 if not simulated else shot.now)
        assert (await after(1.0, later)).endswith("late, 9 s old ")
        later = msgspec.structs.replace(later, now=later.now + 11_000 if not simulated else shot.now, stale=True)
        line = await after(11.0, later)
        assert line.startswith(" No fresh reading since 01:59.") and line.endswith("not live, 20 s old ")
        # and nothing that is old looks as if it were now
        shown = text(app)
        assert "(263 F at 01:59)" in shown and not re.search(r"^ ?263 F ", shown, re.M)
        cycle = msgspec.structs.replace(shot.cycle, at=later.now, sequence=99_999)
        assert (await after(1.0, msgspec.structs.replace(later, cycle=cycle, stale=False))).endswith("under 3 s old ")

    play(look, tmp_path, source=FakeSource(trend(6.0), shot), monotonic=lambda: now[0])


def test_a_small_screen_keeps_the_age_of_the_cook_and_of_the_record(tmp_path: Path) -> None:
    columns = trend(6.0)
    shot = snapshot(columns)
    assert shot.cook is not None
    shot.cook.name, shot.words = "Village hall supper", ["Nearly there: 118 C, climbing to 121-135 C", "Why."]
    now = [0.0]

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        top, head, *_ = text(app).split("\n")
        assert top.split("  ")[:2] == [" Tuyere", "Village hall supper, 5 h"] and "simulated, 60x  01:59" in top
        assert head.endswith("live, <3 s ")
        now[0] = 5.0
        app.check()
        await settle(pilot)
        assert text(app).split("\n")[1].endswith("live, 5 s old ")

    play(look, tmp_path, size=(60, 20), source=FakeSource(columns, shot), monotonic=lambda: now[0])


def test_an_engine_that_falls_silent_is_noticed(tmp_path: Path) -> None:
    now = [100.0]

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        now[0] += 14.0
        app.check()
        await settle(pilot)
        assert app.view.live and "late, 14 s old" in text(app)
        now[0] += 2.0
        app.check()
        await settle(pilot)
        assert "No word from the engine since 01:59." in text(app) and "not live, 16 s old" in text(app)
        source.push(changed())
        await settle(pilot)
        assert app.view.live

    play(look, tmp_path, monotonic=lambda: now[0])


@pytest.mark.parametrize("size", SIZES)
def test_a_cook_of_more_than_a_day_says_which_day(tmp_path: Path, size: tuple[int, int]) -> None:
    shot = changed()
    now = shot.now + 24 * HOUR  # Monday 01:59
    alarm = Alarm(id=3, raised=now - 20 * HOUR, level="warning", what="Some records are lost")
    cycle = msgspec.structs.replace(shot.cycle, at=now)
    shot = msgspec.structs.replace(shot, now=now, cycle=cycle, alarms=[alarm])

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        shown = text(app)
        assert "Mon 01:59" in shown and "Sun 05:59  Some records are lost" in shown
        await press(pilot, "r")
        assert "Sun 01:34 6 shade 6" in str(app.screen.query_one("#page", Static).render())

    play(look, tmp_path, size=size, source=FakeSource(trend(6.0), shot))


def test_missing_records_and_shelved_and_seen_alarms_are_said(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        now = source.shot.now
        link = msgspec.structs.replace(source.shot.link, missing=12)
        alarms = [
            Alarm(id=1, raised=now - HOUR, level="urgent", what="The fire is fading", acknowledged=now - MINUTE),
            Alarm(id=2, raised=now - HOUR, level="warning", what="Some records are lost", shelved=now + HOUR),
        ]
        source.push(changed(link=link, alarms=alarms))
        await settle(pilot)
        shown = text(app)
        assert "12 missing" in shown and "urgent, seen 01:58" in shown
        assert "shelved until 02:59: Some records are lost" in shown
        assert "a acknowledges" not in shown

    play(look, tmp_path)


def test_degrees_window_and_colours_change_and_are_remembered(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "u")
        shown = text(app)
        assert "Holding 128 C" in shown and "121-135 C" in shown and "until Big flat reads 95 C" in shown
        assert not re.search(r"\d F\b", shown)
        await press(pilot, "1")
        assert "Trend, last 1 h" in text(app)
        await press(pilot, "v")
        assert "Trend, last 4 h" in text(app)
        await press(pilot, "i")
        assert "near the band" in text(app)
        before = app.theme
        await press(pilot, "c")
        assert (before, app.theme) == ("tuyere-dark", "tuyere-light")

    play(look, tmp_path)

    async def again(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert "Holding 128 C" in text(app) and "Trend, last 4 h" in text(app)
        assert app.theme == "tuyere-light"

    play(again, tmp_path)


def test_no_color_paints_without_any_colour(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "n")  # a dialog too
        inks = set()
        for strip in app.screen._compositor.render_strips():
            for segment in strip.apply_filter(app._filters[-1], app.screen.styles.background):
                if segment.style:
                    inks |= {str(c.name) for c in (segment.style.color, segment.style.bgcolor) if c}
        assert inks <= {"default"}

    source = FakeSource(trend(6.0), snapshot(trend(6.0), alarm=True))
    play(look, tmp_path, source=source)


def test_an_empty_no_color_keeps_colour(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "")  # https://no-color.org: "present and not an empty string"

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert app.theme == "tuyere-dark" and not app.no_color

    play(look, tmp_path)


@pytest.mark.parametrize("colourless", ["", "1"])
def test_ascii_terminals_get_ascii(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, colourless: str) -> None:
    monkeypatch.setenv("NO_COLOR", colourless)

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        for key in ("n", "question_mark", "r", "b", "z", "m", "x", "f2"):  # each thing that opens over the screen
            app.say("A word at the edge.")
            await press(pilot, key)
            assert len(app.screen_stack) == 2
            assert "".join(sorted(set(text(app)))).isascii(), (key, {c for c in text(app) if not c.isascii()})
            await press(pilot, "escape")
        assert len(app.screen_stack) == 1 and text(app).isascii()

    source = FakeSource(trend(6.0), snapshot(trend(6.0), alarm=True))
    play(look, tmp_path, size=(60, 20), utf8=False, source=source)


def test_a_new_cook_clears_the_trend(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert app.history.cycles
        cook = msgspec.structs.replace(source.shot.cook, id=2, name="Sunday")
        source.push(changed(cook=cook))
        await settle(pilot)
        shown = text(app)
        assert "Sunday" in shown and "no readings yet" in shown

    play(look, tmp_path)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 35)])
def test_meat_that_lies_out_is_told_before_the_empty_pit_and_for_how_long(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    columns = trend(6.0)
    shot = snapshot(columns)
    for piece in shot.pieces:
        piece.place, piece.temperature, piece.place_since = "out", None, shot.now - 3 * HOUR
        left = Event(id=piece.id, at=piece.place_since, noted=piece.place_since, kind="out", piece=piece.id)
        piece.decision = food_safety.look(piece, Columns(meats=[[], [], []]), [left], shot.now, Kitchen()).decision
    shot.prompts = prompts(shot.cook, shot.pieces, [], shot.now)
    found = []

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        found.append(text(app))

    play(look, tmp_path, size=size, source=FakeSource(columns, shot))
    screen = " ".join(found[0].split())
    assert screen.count("out 3 h") == 3
    assert "now Throw Big" in screen  # 3 h, and nobody has read it
    unneeded = "The fire is no longer needed"
    assert unneeded not in screen or screen.index("Throw Big") < screen.index(unneeded)

"""Nothing a cook must read is cut: it wraps, or the screen counts it and a key reads it in full."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import HOUR, MINUTE, START, FakeSource, snapshot, trend
from playing import play, press, text
from rendered import words
from textual.containers import VerticalScroll
from textual.pilot import Pilot
from textual.widgets import Footer, Static
from tuyere.cook import faults
from tuyere.cook.snapshot import Alarm, Event, Phase, Piece, Prompt, Snapshot
from tuyere.text import Length, Said, Temperature
from tuyere.text import text as typed
from tuyere.tui.actions import ACTIONS
from tuyere.tui.app import WatchApp
from tuyere.tui.screens.help import help_text
from tuyere.tui.screens.pager import Page
from tuyere.tui.screens.read import read_text
from tuyere.tui.view import View
from tuyere.tui.widgets.alarms import alarm_lines
from tuyere.tui.widgets.detail import detail_lines
from tuyere.tui.widgets.headline import headline_lines
from tuyere.tui.widgets.prompts import hands_lines

SIZES = [(60, 20), (80, 24), (100, 20), (100, 30), (120, 35), (160, 24)]
CHECKS = [
    "Look at the fuel: is anything still lit",
    "Knock the ash off and settle bridges in the coal",
    "If water got on the coals, shovel out the wet ones and light fresh charcoal",
    "See that the fan turns and its way in is free",
    faults.MIND_THE_MEAT,
    "Then acknowledge and start again",
]
WHY = "A high fan has not lifted the pit for a long time. It is off, so that it blows no cold air over the meat."
PROMPTS = [
    "Set the vents: the top one half open, the lower ones shut but for the fan",
    typed(
        "Seat the probes: the pit's at grate height, {apart} from the meat and not over the pan; the meat's "
        "mid-thickness in the flat",
        apart=Length(0.05),
    ),
    "Fill the water pan",
]
WORDS: list[Said] = [
    typed("Tripped: no answer from the fire, {pit}, fan off", pit=Temperature(128.2)),
    WHY,
    "Look at the fuel: is anything still lit.",
]


def busy(acknowledged: int = 0, said: list[Said] | None = None) -> Snapshot:
    """Everything at once: a trip, a second alarm, three prompts of many words, a phase of a long name."""
    shot = snapshot(trend(6.0))
    now = shot.now
    alarms = [
        Alarm(
            id=7,
            raised=now - MINUTE,
            level="urgent",
            what="Still open, or the probe is off the grate",
            why=WHY,
            checks=CHECKS,
            acknowledged=acknowledged,
        ),
        Alarm(
            id=8,
            raised=now - HOUR,
            level="warning",
            what="Some records are lost",
            why="12 records were gone.",
            checks=["Nothing to do"],
            acknowledged=acknowledged,
        ),
    ]
    phases = [
        shot.phases[0],
        Phase("In paper until the flat lets the skewer in without a push", 121.1, 135.0, "by hand"),
    ]
    prompts = [*(Prompt("look", said, 0) for said in PROMPTS), Prompt("meat_on", "Put the meat on", now + HOUR)]
    return msgspec.structs.replace(shot, alarms=alarms, phases=phases, prompts=prompts, words=said or WORDS)


def words_of(text: str) -> str:
    return " ".join(text.split())


def flat(lines: list[list[tuple[str, str]]]) -> str:
    return words_of(" ".join("".join(part for part, _ in line) for line in lines))


def in_f(said: Said) -> str:
    return words(said, "F")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("seen", "keys"), [(False, []), (True, []), (True, ["d"])])
def test_every_word_on_screen_is_whole_and_what_is_not_there_is_counted(
    tmp_path: Path, size: tuple[int, int], seen: bool, keys: list[str]
) -> None:
    shot = busy(acknowledged=snapshot(trend(6.0)).now - MINUTE if seen else 0)

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, *keys)
        shown = text(app)
        assert [len(line) for line in shown.split("\n")] == [size[0]] * size[1]
        assert "~" not in shown
        one = words_of(shown)
        assert "Still open, or the probe is off the grate" in one
        assert seen or ("a acknowledges" in one and "URGENT" in one)
        # each check is there from its first word to its last, in order, or the key that reads the rest
        there = [in_f(check) in column_free(shown) for check in CHECKS]
        assert there == sorted(there, reverse=True)
        assert all(there) or "r reads the rest" in one
        for i, (check, ok) in enumerate(zip(CHECKS, there, strict=True), 1):
            assert ok or f" {i} {in_f(check)[:12]}" not in one
        # the hands: the same
        whole = [in_f(prompt) in column_free(shown) for prompt in PROMPTS]
        assert all(whole) or re.search(r"\d (more|to do), \d due now: r reads", one)
        for prompt, ok in zip(PROMPTS, whole, strict=True):
            assert ok or in_f(prompt)[:14] not in one
        assert app.screen.query_one(Footer).max_scroll_x == 0 or size[0] < 60

    play(look, tmp_path, size=size, source=FakeSource(shot=shot))


def column_free(shown: str) -> str:
    """The words of the screen read down each column too: at 120 columns the hands stand in one of their own."""
    right = words_of(" ".join(line[82:] for line in shown.split("\n")))
    return words_of(shown) + " | " + right + " | " + words_of(" ".join(line[108:] for line in shown.split("\n")))


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 35)])
def test_an_urgent_alarm_that_nobody_has_seen_is_read_without_a_key(tmp_path: Path, size: tuple[int, int]) -> None:
    shot = snapshot(trend(6.0), alarm=True)

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        one = words_of(text(app))
        for said in (shot.alarms[0].why, *shot.alarms[0].checks):
            assert in_f(said) in one

    play(look, tmp_path, size=size, source=FakeSource(shot=shot))


@pytest.mark.parametrize("width", [36, 58, 78, 118])
def test_with_room_every_word_is_there(width: int) -> None:
    view = View(shot=busy(), where="open")
    shown = flat(alarm_lines(view, width))
    for said in (WHY, *CHECKS, "Some records are lost", "a acknowledges, l shelves"):
        assert in_f(said) in shown
    hands = flat(hands_lines(view, width, 20))
    assert all(in_f(said) in hands for said in PROMPTS) and "Put the meat on" in hands
    head = flat(headline_lines(view, width, 20))
    assert WHY in head and "fan off" in head


@pytest.mark.parametrize("width", [36, 58, 78])
@pytest.mark.parametrize("most", range(1, 14))
def test_with_less_room_a_part_is_left_out_whole_and_said(width: int, most: int) -> None:
    view = View(shot=busy(), where="open")
    lines = alarm_lines(view, width, most)
    assert len(lines) <= most
    shown = flat(lines)
    there = [in_f(one) in shown for one in (WHY, *CHECKS)]
    assert there == sorted(there, reverse=True)
    if most >= 3 + (width < 58):
        assert all(there) or view.more in shown
        assert "Some records are lost" in shown or "r reads them" in shown
    hands = hands_lines(view, width, most)
    assert len(hands) <= most
    said = flat(hands)
    count = sum(in_f(one) in said for one in PROMPTS) + ("Put the meat on" in said)
    assert count == 4 or f"{4 - count} {'more' if count else 'to do'}" in said


def test_the_page_in_full_has_every_word_and_scrolls_at_the_smallest_size(tmp_path: Path) -> None:
    ats = [START + i * MINUTE for i in range(30, 0, -1)]
    events = [Event(id=i, at=at, noted=at, kind="said", text=f"Guest {30 - i} called " * 5) for i, at in enumerate(ats)]
    shot = msgspec.structs.replace(busy(), events=events)

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "r")
        page = words_of(str(app.screen.query_one("#page", Static).render()))
        for said in (*WORDS, *CHECKS, "12 records were gone", *PROMPTS,
                      "Big flat: packer, 14 lb, probe 1, 155 F",
                      "in paper", "Guest 30 called", "Guest 1 called", "the pit is in the band", "until Big flat",
                      "In paper until the flat lets the skewer in", "97 % of the time", "logbook.sqlite"):  # fmt: skip
            assert in_f(said) in page or said == "until Big flat", said
        seen = [text(app)]
        await press(pilot, "down", "end")
        scroll = app.screen.query_one(VerticalScroll)
        assert scroll.max_scroll_y > 0 and scroll.scroll_offset.y == scroll.max_scroll_y
        assert "Guest 1 called" in words_of(text(app)) and text(app) != seen[0]
        source.calls.clear()
        await press(pilot, "a")  # answers without leaving the page first
        assert source.calls == [("alarm_acknowledge", {"id": 7})] and len(app.screen_stack) == 1

    play(look, tmp_path, size=(60, 20), source=FakeSource(shot=shot))


def test_news_that_come_while_the_page_opens_or_closes_do_no_harm(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        page = Page("In full", lambda width: read_text(app.view, width), "", "r")
        app.push_screen(page)
        app.take_snapshot(source.shot)  # it is not composed yet
        await pilot.pause()
        assert "How it stands" in text(app)
        page.dismiss()
        app.take_snapshot(source.shot)
        await pilot.pause()
        assert len(app.screen_stack) == 1

    play(look, tmp_path)


@pytest.mark.parametrize("width", [40, 54, 84])
def test_the_page_and_the_help_fit_their_width(width: int) -> None:
    view = View(shot=busy(), where="open")
    for page in (read_text(view, width).plain, help_text({}, width, Path("night") / "screen.toml").plain):
        assert all(len(line) <= width for line in page.split("\n"))
    helped = words_of(help_text({}, width, Path("night") / "screen.toml").plain)
    for action in ACTIONS:
        assert action.help in helped, action.id


def test_help_at_the_smallest_size_keeps_its_explanations(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "question_mark")
        assert "Hold the band from here on" in text(app) and "Fan off. Asks first." in text(app)
        assert app.screen.query_one(VerticalScroll).max_scroll_y > 20

    play(look, tmp_path, size=(60, 20))


def test_notes_in_the_detail_view_wrap_and_are_counted() -> None:
    shot = snapshot(trend(6.0))
    long = [
        Event(
            id=i,
            at=shot.now,
            noted=shot.now,
            kind="said",
            text="The neighbours came over and wanted to know what smells so good",
        )
        for i in range(9)
    ]
    view = View(shot=msgspec.structs.replace(shot, events=long), where="open")
    for height in range(12, 60):
        lines = detail_lines(view, 36, height)
        assert len(lines) <= height
        shown = flat(lines)
        count = shown.count("wanted to know what smells so good")
        assert count == shown.count("The neighbours")
        assert (
            count == 9 or f"{9 - count} {'older' if count else 'notes'}: r reads them" in shown or "Noted" not in shown
        )


@pytest.mark.parametrize("size", [(60, 20), (120, 35)])
def test_a_form_with_many_pieces_shows_the_one_that_is_chosen(tmp_path: Path, size: tuple[int, int]) -> None:
    pieces = [Piece(id=i, name=f"Brisket number {i}", on_at=1) for i in range(1, 7)]
    shot = msgspec.structs.replace(snapshot(trend(6.0)), pieces=pieces)

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "w", "down", *["right"] * 5)
        assert "Brisket number 6" in text(app)
        await press(pilot, "right")
        assert "Brisket number 1" in text(app)

    play(look, tmp_path, size=size, source=FakeSource(shot=shot))

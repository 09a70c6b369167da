"""The screen says when nobody would be woken, tests it, and takes the word of a person who is awake."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import FakeSource, snapshot, trend
from playing import play, press, text
from textual.pilot import Pilot
from tuyere.cook.snapshot import Alarm, Snapshot, Waking
from tuyere.tui.app import WatchApp
from tuyere.tui.bell import EVERY, UNREACHED, Bell

ASLEEP = "nobody would be woken"


def shot(**waking: Any) -> Snapshot:
    return msgspec.structs.replace(snapshot(trend(6.0)), waking=Waking(**{"asked": True, "routes": 1, **waking}))


def toasts(app: WatchApp) -> str:
    return " ".join(str(one.message) for one in app._notifications)


def calls(source: FakeSource) -> list[str]:
    return [method for method, _ in source.calls]


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 35), (200, 50)])
@pytest.mark.parametrize(("watched", "said"), [(False, True), (True, False)])
def test_the_header_says_that_nobody_would_be_woken(
    tmp_path: Path, size: tuple[int, int], watched: bool, said: bool
) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        first = text(app).splitlines()[0]
        assert (ASLEEP in first) == said
        assert first.rstrip()[-5:-2].endswith(":")  # the clock is whole

    play(look, tmp_path, size=size, source=FakeSource(shot=shot(watched=watched)))


def test_a_cook_that_calls_nobody_says_nothing_of_it(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert ASLEEP not in text(app)
        await press(pilot, "f7")
        assert "No cook is open that calls anybody" in toasts(app)

    play(look, tmp_path)


@pytest.mark.parametrize(("answer", "asked"), [("y", True), ("n", False), ("enter", False)])
def test_a_test_is_asked_for(tmp_path: Path, answer: str, asked: bool) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "f7")
        assert "Test that a call wakes you?" in text(app) and "night mode" in text(app)
        await press(pilot, answer)
        assert ("wake_test" in calls(source)) == asked

    play(look, tmp_path, source=FakeSource(shot=shot()))


def test_without_a_route_it_says_how_to_add_one(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "f7")
        assert "wake add" in toasts(app) and "wake_test" not in calls(source)

    play(look, tmp_path, source=FakeSource(shot=shot(routes=0)))


def test_the_digits_are_typed(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "f7", *"0417", "enter")
        [given] = [params for method, params in source.calls if method == "wake_answer"]
        assert given == {"digits": "0417", "sounded": True}

    play(look, tmp_path, source=FakeSource(shot=shot(test_waits=True)))


def test_space_says_that_a_person_is_awake(tmp_path: Path) -> None:
    alarm = Alarm(id=1, raised=0, level="urgent", what="Tripped: grease is burning", code="trip_flare")
    calling = msgspec.structs.replace(shot(calling=True, watched=True), alarms=[alarm])

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert "space: I'm awake" in text(app)
        await press(pilot, "space")
        assert "awake" in calls(source) and "alarm_acknowledge" not in calls(source)

    play(look, tmp_path, source=FakeSource(shot=calling))


def test_space_without_a_call_says_so(tmp_path: Path) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "space")
        assert "Nobody is being called" in toasts(app) and "awake" not in calls(source)

    play(look, tmp_path, source=FakeSource(shot=shot()))


def test_an_urgent_alarm_is_shelved_for_half_an_hour_at_most(tmp_path: Path) -> None:
    alarm = Alarm(id=1, raised=0, level="urgent", what="Tripped: grease is burning", code="trip_flare")
    source = FakeSource(shot=msgspec.structs.replace(shot(), alarms=[alarm]))

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "l", "backspace", "backspace", *"45", "enter")
        assert "alarm_shelve" not in calls(source)
        await press(pilot, "backspace", "backspace", *"30", "enter")
        assert "alarm_shelve" in calls(source)

    play(look, tmp_path, source=source)


def test_the_bell_rings_more_often_while_nobody_is_reached() -> None:
    bell = Bell()
    rings = [second for second in range(121) if bell.due({"trip_flare"}, second, UNREACHED)]
    assert rings == list(range(0, 121, int(UNREACHED)))
    bell = Bell()
    assert [second for second in range(121) if bell.due({"trip_flare"}, second)] == [0, int(EVERY), 2 * int(EVERY)]

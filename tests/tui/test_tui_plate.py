"""The way to the plate on screen: the serving line, and the list of things to do, chosen and noted."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from fake_source import HOUR, FakeSource, snapshot, trend
from playing import play, press, text
from textual.pilot import Pilot
from tuyere.client.client import EngineError
from tuyere.cook.in_short import LETTERS
from tuyere.cook.serving import serving
from tuyere.cook.snapshot import Prompt
from tuyere.logbook.kinds import KINDS
from tuyere.tui.app import WatchApp
from tuyere.tui.handlers import table


def served() -> FakeSource:
    shot = snapshot(trend(6.0))
    for piece in shot.pieces:
        piece.finish_likely, piece.in_time = shot.now + 2 * HOUR, 0.99
    shot.serving = serving(shot.now + 7 * HOUR, shot.pieces, shot.now)
    shot.prompts = [
        Prompt("wrapped", "Wrap Big flat in paper now", 0, 1),
        Prompt("pan_filled", "Look at the water pan and fill it up", 0),
    ]
    return FakeSource(trend(6.0), shot)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 35), (200, 50)])
def test_the_serving_time_is_in_sight_at_every_size(tmp_path: Path, size: tuple[int, int]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        assert "Serve 08:59, likely ready 03:59, hold" in " ".join(text(app).split())
        assert "odds 97 %" in " ".join(text(app).split())

    play(look, tmp_path, size=size, source=served())


def test_the_first_thing_is_noted_with_enter(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "enter")
        assert "Wrapped" in text(app) and "how long ago" in text(app)
        await press(pilot, "enter")
        assert source.last("note")["kind"] == "wrapped" and source.last("note")["piece"] == 1

    play(do, tmp_path, source=served())


def test_another_thing_is_chosen_and_noted(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "down", "down")
        assert "> now Look at the water pan" in " ".join(text(app).split())
        await press(pilot, "enter", "enter")
        assert source.last("note")["kind"] == "pan_filled"
        await press(pilot, "up")
        assert "> now Wrap Big flat" in " ".join(text(app).split())

    play(do, tmp_path, source=served())


def test_a_fuel_that_was_looked_at_needs_no_false_note(tmp_path: Path) -> None:
    shot = snapshot(trend(6.0))
    shot.prompts = [Prompt("fuel_looked", "Look at the fuel: add charcoal if less than a third is left", 0)]

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "enter")
        assert "enough is left" in text(app) and "charcoal was added" in text(app)
        await press(pilot, "e", "enter")
        assert source.last("note")["kind"] == "fuel_looked" and source.last("note")["piece"] == 0
        await press(pilot, "enter", "f")
        assert "amount" in text(app)

    play(do, tmp_path, source=FakeSource(trend(6.0), shot))


@pytest.mark.parametrize("size", [(60, 20), (80, 24)])
def test_every_note_is_in_sight_in_the_menu(tmp_path: Path, size: tuple[int, int]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "n")
        shown = text(app)
        assert all(f"{letter}  {KINDS[kind].words}" in shown for kind, letter in LETTERS.items())
        assert "letter or enter picks, escape leaves" in shown
        await press(pilot, "right", "enter")  # the first of the second column
        assert KINDS["tender"].words.capitalize() in text(app)

    play(look, tmp_path, size=size)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 35)])
def test_all_that_is_due_is_in_sight_before_the_chart_has_its_rows(tmp_path: Path, size: tuple[int, int]) -> None:
    shot = snapshot(trend(6.0))
    long = "Take the temperature of Big flat: it was not read since 22:06, and may have cooled; past 00:06 no more"
    shot.prompts = [Prompt("hand_reading", long, 0, 1), Prompt("pan_filled", "Look at the water pan", 0)]
    shot.prompts += [Prompt("fuel_looked", "Look at the fuel", shot.now + HOUR)]

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        list_from = 83 if size[0] == 120 else 0  # there it has a column of its own
        shown = " ".join(" ".join(line[list_from:] for line in text(app).splitlines()).split())
        assert "Take the temperature of Big flat" in shown and "Look at the water pan" in shown

    play(look, tmp_path, size=size, source=FakeSource(trend(6.0), shot))


def test_a_piece_is_divided(tmp_path: Path) -> None:
    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "n", "d")
        assert "Divide which piece?" in text(app)
        await press(pilot, "2")
        assert "Point point" in text(app)
        await press(pilot, *"Burnt", "down", "down", *"2.2", "enter")
        given = source.last("piece_divide")
        assert given == {"id": 2, "name": "Burnt", "cut": "point", "mass": pytest.approx(0.998, abs=1e-3)}

    play(do, tmp_path, units="F")


def test_of_one_piece_it_is_not_asked_which_is_divided(tmp_path: Path) -> None:
    shot = snapshot(trend(6.0))
    shot.pieces = shot.pieces[:1]

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "n", "d")
        assert "Divide which piece?" not in text(app) and f"{shot.pieces[0].name} point" in text(app)

    play(do, tmp_path, source=FakeSource(trend(6.0), shot))


def test_serving_is_moved_and_what_helps_is_shown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    async def choices(app: Any, at: int, oven: bool, width: int) -> str:
        asked.append((at, oven, width))
        return "as it is       97 %\nwrap now       99 %"

    monkeypatch.setattr(table, "_choices", choices)

    async def do(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "f8", *"noon", "enter")
        assert '"noon" cannot be read' in text(app) and not asked
        await press(pilot, "escape", "f8", *"10:30", "down", "right", "down", *"170", "enter")
        at = source.last("serve_change")["at"]
        assert (at - source.shot.now) // HOUR == 8 and asked == [(at, True, 84)]  # it is 01:59; 90 columns at most
        kept = source.last("kitchen_change")
        assert kept["oven_lowest"] == pytest.approx(76.7, abs=0.1)  # 170 F
        assert (kept["oven_error"], kept["pit_error"]) == (5.0, 10.0)
        assert "wrap now       99 %" in text(app)
        await press(pilot, "escape", "f8", *["backspace"] * 5, "enter")
        assert source.last("serve_change")["at"] == 0 and len(asked) == 1

    play(do, tmp_path)


def test_what_the_choices_say_or_why_there_are_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The command computes in a process of its own, and says why it cannot in its last line."""
    face = SimpleNamespace(view=SimpleNamespace(units="F"), home=tmp_path)
    said = {}
    for name, code in {
        "good": "print('as it is'); print('wrap now')",
        "bad": "import sys; print('preparing', file=sys.stderr); sys.exit('Error: No cook is open.')",
        "mute": "import sys; sys.exit(3)",
    }.items():
        monkeypatch.setattr(table, "command", lambda code=code: [sys.executable, "-c", code])
        said[name] = asyncio.run(table._choices(face, 1_900_000_000_000, False, 74))
    assert said == {
        "good": "as it is\nwrap now", "bad": "No cook is open.", "mute": "The choices could not be worked out."
    }  # fmt: skip


def test_the_cook_is_summed_up_or_it_says_why_not(tmp_path: Path) -> None:
    source = served()
    source.answers["summary"] = {"lines": ["Saturday: 09:00 to 23:00, 14 h", "Big flat:", "Done after 10 h"]}

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "f9")
        assert "The cook summed up" in text(app) and "Done after 10 h" in text(app)
        source.answers["summary"] = EngineError("no cook was open while this engine ran")
        await press(pilot, "escape", "f9")
        assert "no cook was open" in str([one.message for one in app._notifications])

    play(look, tmp_path, source=source)

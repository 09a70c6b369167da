"""The way to the plate on screen: the serving line, and the list of things to do, chosen and noted."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from fake_source import HOUR, FakeSource, snapshot, trend
from playing import play, press, text
from textual.pilot import Pilot
from tuyere.cook.serving import serving
from tuyere.cook.snapshot import Prompt
from tuyere.tui.app import WatchApp


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

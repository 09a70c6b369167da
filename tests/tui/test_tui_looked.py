"""A start after a doubt asks whether somebody has looked at the pit probe; nothing else tells the board so."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import pytest
from fake_source import FakeSource, snapshot, trend
from playing import play, press, text
from textual.pilot import Pilot
from tuyere.tui.app import WatchApp


def orders(source: FakeSource) -> list[str]:
    return [params["name"] for method, params in source.calls if method == "order"]


@pytest.mark.parametrize(
    ("doubted", "answer", "given"),
    [(True, "y", ["looked", "start"]), (True, "n", ["start"]), (True, "enter", ["start"]), (False, "", ["start"])],
)
def test_a_start_in_doubt_asks(tmp_path: Path, doubted: bool, answer: str, given: list[str]) -> None:
    shot = msgspec.structs.replace(snapshot(trend(6.0)), doubted=doubted)

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "s")
        assert ("Have you looked at the pit probe?" in text(app)) == doubted
        if answer:
            await press(pilot, answer)
        assert orders(source) == given

    play(look, tmp_path, source=FakeSource(shot=shot))


@pytest.mark.parametrize(("answer", "given"), [("y", ["looked"]), ("enter", [])])
def test_it_has_a_key_of_its_own(tmp_path: Path, answer: str, given: list[str]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "f3")
        await press(pilot, answer)
        assert orders(source) == given

    play(look, tmp_path)

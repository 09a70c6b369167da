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


@pytest.mark.parametrize(
    ("pit", "meats", "asked"),
    [(18.0, [19.0, None, 21.0], True), (90.0, [19.0, None, None], False), (18.0, [None, None, None], False)],
)
def test_a_cold_start_offers_a_second_probe_once(
    tmp_path: Path, pit: float, meats: list[float | None], asked: bool
) -> None:
    shot = snapshot(trend(6.0))
    cycle = msgspec.structs.replace(shot.cycle, pit=pit, meats=meats, state="off")
    cook = msgspec.structs.replace(shot.cook, meat_on=0)
    shot = msgspec.structs.replace(shot, cycle=cycle, cook=cook)

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "s")
        assert ("Hang a meat probe at grate height" in text(app)) == asked
        if asked:
            assert "probe 1 hangs there" in text(app) and "probe 2" not in text(app)
            await press(pilot, "3")
            assert source.calls[-1] == ("order", {"name": "witness", "probe": 3})
        else:
            assert orders(source) == ["start"]

    play(look, tmp_path, source=FakeSource(shot=shot))


@pytest.mark.parametrize(("answer", "given"), [("n", []), ("escape", []), ("1", ["witness"])])
def test_the_second_probe_has_a_key_and_may_be_declined(tmp_path: Path, answer: str, given: list[str]) -> None:
    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "f6", answer)
        assert orders(source) == given

    play(look, tmp_path)


def test_a_second_probe_that_hangs_can_be_taken_away(tmp_path: Path) -> None:
    shot = snapshot(trend(6.0))
    shot = msgspec.structs.replace(shot, cycle=msgspec.structs.replace(shot.cycle, beside=2, witness="agrees"))

    async def look(app: WatchApp, pilot: Pilot[Any], source: FakeSource) -> None:
        await press(pilot, "f6")
        assert "take it away again" in text(app)
        await press(pilot, "n")
        assert source.calls[-1] == ("order", {"name": "witness", "probe": 0})

    play(look, tmp_path, source=FakeSource(shot=shot))

"""The engine tells the board what cold meat went on: once, as one sum, and again when a note is withdrawn."""

from __future__ import annotations

import asyncio
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from engine_kit import attached, running, seen, without_meat
from fake_board import BoardOnTerminal
from rendered import words
from tuyere.client.client import EngineError
from tuyere.cook.snapshot import Event
from tuyere.engine.night.cold_meat import AGAIN, COLD_FOR, ColdMeat
from tuyere.link.session import Answer
from tuyere.logbook.rows import PieceRow

NOW = 1_778_000_000_000
MINUTE = 60_000


def piece(number: int, minutes_ago: int | None, mass: float | None = 5.5, **fields: Any) -> PieceRow:
    on = NOW - minutes_ago * MINUTE if minutes_ago is not None else 0
    return PieceRow(id=number, cook=1, name=f"P{number}", mass=mass, on_at=on, **fields)


class Told:
    """What a board is told; `answer` is what it says to that."""

    def __init__(self, state: str = "holding") -> None:
        self.sent: list[int] = []
        self.log: list[str] = []
        self.answer = "accepted"
        cycle = SimpleNamespace(state=state)
        self.readout = SimpleNamespace(cycle=cycle)
        self.session = SimpleNamespace(boot=7, standing=True)
        self.meat = ColdMeat(self, asyncio.run, self.log.append)  # type: ignore[arg-type]

    async def order(self, name: str, mass: int) -> Answer:
        assert name == "meat"
        self.sent.append(mass)
        return Answer(1, name, self.answer == "accepted", self.answer)

    def look(
        self, *pieces: PieceRow, seconds: float = 0.0, now: int = NOW, events: tuple[Event, ...] = ()
    ) -> list[int]:
        """All that has been sent after this look."""
        self.meat.look(seconds, now, 1, pieces, events)
        return self.sent


def test_pieces_that_are_noted_as_on_are_told_as_one_sum_and_once() -> None:
    board = Told()
    assert board.look(piece(1, None), piece(2, None)) == []
    two = piece(1, 3), piece(2, 1, mass=4.2)
    assert board.look(*two) == [97] and board.look(*two) == [97]
    assert board.look(*two, piece(3, 0, mass=3.0)) == [97, 127]
    assert board.look(*two) == [97, 127, 97]  # a note withdrawn
    assert board.look(piece(1, None), piece(2, None)) == [97, 127, 97, 0]


def test_meat_that_has_warmed_or_is_elsewhere_or_went_on_warm_does_not_count() -> None:
    board = Told()
    kept = piece(1, 65), piece(2, 5, place="oven"), piece(3, 5, held=True), piece(4, 5, start=60.0)
    assert board.look(*kept) == []
    assert board.look(*kept, piece(5, 5, mass=None, cut="chuck")) == [18]  # not weighed: as usual for its cut
    assert board.look(*kept, piece(5, 5, mass=None, cut="chuck"), now=NOW + COLD_FOR) == [18]  # it ages unsaid


def test_a_board_at_rest_forgets_and_is_told_when_it_holds_again() -> None:
    board = Told("off")
    assert board.look(piece(1, 5)) == []
    board.readout.cycle.state = "climbing"
    assert board.look(piece(1, 5)) == [55]
    board.readout.cycle.state = "tripped"
    board.look(piece(1, 5))
    board.readout.cycle.state = "climbing"
    assert board.look(piece(1, 5)) == [55, 55]


def test_an_engine_that_begins_anew_does_not_tell_what_the_log_says_is_told() -> None:
    told = Event(id=9, at=NOW - 4 * MINUTE, noted=NOW, kind="meat_told")
    assert Told().look(piece(1, 5), events=(told,)) == []
    assert Told().look(piece(1, 5), piece(2, 3), events=(told,)) == [110]


def test_a_refusal_is_tried_again_and_an_old_firmware_is_left_alone() -> None:
    board = Told()
    board.answer = "link_lost"
    assert board.look(piece(1, 5)) == [55] and board.look(piece(1, 5), seconds=AGAIN - 1.0) == [55]
    board.answer = "unknown_order"
    assert board.look(piece(1, 5), seconds=AGAIN) == [55, 55]
    assert board.look(piece(1, 5), seconds=9 * AGAIN) == [55, 55] and "load it again" in board.log[0]
    board.session.boot, board.answer = 8, "accepted"
    assert board.look(piece(1, 5), seconds=10 * AGAIN) == [55, 55, 55]


def test_a_note_reaches_the_board_and_the_log_says_so(tmp_path: Path) -> None:
    board = BoardOnTerminal()
    without_meat(board.board)

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("order", name="start")
            number = (await client.call("piece_add", name="Alder", mass=5.5))["id"]
            await client.call("note", kind="meat_on", piece=number)
            shot = await seen(client, lambda s: any(event.kind == "meat_told" for event in s.events))
            told = next(event for event in shot.events if event.kind == "meat_told")
            assert words(told.text) == "5.5 kg"  # from the record of the cycle in which the board took it
            with pytest.raises(EngineError, match="note it as on"):
                await client.call("order", name="meat", mass=3.0)
            board.limit = 0

    try:
        asyncio.run(scene())
    finally:
        board.close()

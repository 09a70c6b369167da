"""What a board says of an earlier boot at each connection is logged once."""

from __future__ import annotations

import asyncio
from pathlib import Path

from tuyere.engine.device.connection import Board, Hooks
from tuyere.link import session as links
from tuyere.link.find import Finder
from tuyere.logbook import Logbook

BOARD, BOOT = "board-1", 77


class Told(Hooks):
    def __init__(self) -> None:
        self.lines: list[str] = []

    def log(self, text: str) -> None:
        self.lines.append(text)


def test_a_boot_that_ended_is_logged_once(tmp_path: Path) -> None:
    async def connections(book: Logbook, told: Told) -> None:
        for _ in range(2):  # an engine that is started again knows it from the logbook
            board = Board(book, Finder("socket://nowhere:1"), tmp_path / "aside", lambda: 5, lambda: 5.0)
            board.hooks, board.session.board = told, BOARD
            for _ in range(2):
                board._act([links.Cut(BOOT, 4, 6, 30)])
                board.write()

    told = Told()
    with Logbook(tmp_path / "logbook.sqlite") as book:
        asyncio.run(connections(book, told))
        assert told.lines == [f"boot {BOOT} ended after 6 to 30 records; 4 are accounted for"]
        assert book.records.missing(BOARD, BOOT) == 2

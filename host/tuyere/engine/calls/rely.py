"""Tells the board who relies on this computer, so that it can call when the computer falls silent."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable, Coroutine
from typing import Any

from tuyere.engine.device.connection import Board
from tuyere.engine.device.restore import runs

NOBODY, RELIED, UNREACHED = range(3)  # as the order `rely` has them
AGAIN = 30.0  # s until a board that did not take it is asked once more
LEAVE_WITHIN = 3.0  # s


class Rely:
    """Tells the board, once for each boot and each time that it holds the pit again."""

    def __init__(
        self, board: Board, task: Callable[[Coroutine[Any, Any, Any]], None], log: Callable[[str], None]
    ) -> None:
        self._board, self._task, self._log = board, task, log
        self._told: tuple[int, int] | None = None  # boot, level
        self._tried = float("-inf")
        self._telling = self._failed = False
        self._unknown = -1  # a boot whose firmware does not know the order

    def look(self, now: float, level: int) -> None:
        """`level` is what the board should know; `now` in s."""
        session = self._board.session
        if not runs(self._board.readout.cycle):
            self._told = None if self._told is None or self._told[1] else self._told  # it forgets as it comes to rest
            return
        wanted = (session.boot, level)
        fresh = self._told is None or self._told[0] != session.boot
        if wanted == self._told or (fresh and level == NOBODY) or self._telling or not session.standing:
            return
        if session.boot == self._unknown or (self._failed and now - self._tried < AGAIN):
            return
        self._tried, self._telling = now, True
        self._task(self._tell(wanted))

    async def leave(self) -> None:
        """A person ends the engine: the board need not call for it."""
        if self._told is not None and self._told[1] and self._board.session.standing:
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(LEAVE_WITHIN):
                    await self._tell((self._board.session.boot, NOBODY))

    async def _tell(self, wanted: tuple[int, int]) -> None:
        try:
            answer = await self._board.order("rely", level=wanted[1])
            self._failed = not answer.ok
            if answer.ok:
                self._told = wanted
            elif answer.why == "unknown_order":
                self._unknown = wanted[0]
                self._log("the board's firmware does not know who relies on this computer: load it again")
        finally:
            self._telling = False

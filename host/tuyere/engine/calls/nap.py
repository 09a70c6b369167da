"""Practise a computer that sleeps: nothing of it goes on meanwhile, and the board has to call by itself."""

from __future__ import annotations

from collections.abc import Callable

from tuyere.engine.device.connection import Board
from tuyere.engine.night.current import Cooking
from tuyere.logbook import Logbook
from tuyere.sim import mishaps


class Nap:
    """Once in the cook of a twin that practises it. `sleep` waits for some s."""

    def __init__(
        self, logbook: Logbook, board: Board, cooking: Cooking, log: Callable[[str], None],
        sleep: Callable[[float], None],
    ) -> None:  # fmt: skip
        self._logbook, self._board, self._cooking = logbook, board, cooking
        self._log, self._sleep, self._napped = log, sleep, False

    def look(self) -> None:
        """Sleep if it is time."""
        board, cook = self._board, self._cooking.open
        if self._napped or cook is None or not board.practice or board.readout.cycle is None:
            return
        name, at_s = mishaps.parse(str(board.hello["trouble"]))
        zero = self._logbook.cooks.text(cook.id, "twin_zero")
        if mishaps.TROUBLES[name].asleep and zero and board.clock.now() - int(zero) >= at_s * 1000:
            self._napped = True
            seconds = mishaps.ASLEEP_S / board.link.speed if board.link.speed else 0.0
            self._log(f"practice: this computer sleeps for {seconds:.0f} s")
            self._sleep(seconds)

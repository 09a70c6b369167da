"""Where a cook began, in the board's own count. So the computer's clock does not decide which records belong to it."""

from __future__ import annotations

import msgspec
from msgspec import Struct

from tuyere.engine.device.connection import Board

NAME = "began"  # of the cook's text that holds it


class Began(Struct):
    """The board, its boot and its time (ms, -1 not known) when a cook began, and the earlier boots it then held."""

    board: str = ""
    boot: int = 0
    at: int = -1
    earlier: tuple[int, ...] = ()

    @classmethod
    def of(cls, board: Board) -> Began:
        """Now."""
        at = board.clock.board_now()
        return cls(board.session.board, board.session.boot, -1 if at is None else at, board.session.held)

    @classmethod
    def read(cls, text: str | None) -> Began | None:
        """From the text kept with the cook; None for a cook of an earlier version, which kept none."""
        try:
            return msgspec.json.decode(text, type=cls) if text else None
        except ValueError:
            return None

    def has(self, board: str, boot: int, at: int) -> bool:
        """Whether a record of this board, boot and board time was made after the cook began."""
        if board != self.board:
            return True  # another board has taken its place
        if boot == self.boot:
            return at >= self.at
        return boot not in self.earlier

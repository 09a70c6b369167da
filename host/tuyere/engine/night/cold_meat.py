"""Tells the board what cold meat has gone on, so that a pit that it holds down is not taken for a slipped probe."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Sequence
from typing import Any

from hearth.core.cold_meat import MOST

from tuyere.cook.snapshot import Event
from tuyere.engine.device.connection import Board
from tuyere.engine.device.restore import runs
from tuyere.logbook.rows import PieceRow
from tuyere.meat.cuts import CUTS

COLD_FOR = 3_600_000  # ms: meat that went on this long ago is warm enough
COLD = 30.0  # C: a piece that went on warmer takes little
AGAIN = 30.0  # s until a board that did not take it is asked once more
TOLD = "meat_told"  # kind of event: the board has taken it

Went = tuple[int, int, int]  # a piece, when it went on (UTC ms), its mass (0.1 kg)


class ColdMeat:
    """Tells it once for each piece that is noted as on, as one sum; and again if such a note is withdrawn."""

    def __init__(
        self, board: Board, task: Callable[[Coroutine[Any, Any, Any]], None], log: Callable[[str], None]
    ) -> None:
        self._board, self._task, self._log = board, task, log
        self._cook = 0
        self._told: frozenset[Went] | None = None  # None: not known yet, since the engine has just begun
        self._tried = float("-inf")
        self._telling = self._failed = False
        self._unknown = -1  # a boot whose firmware does not know the order

    def look(self, seconds: float, now: int, cook: int, pieces: Sequence[PieceRow], events: Sequence[Event]) -> None:
        """A cycle has come. `seconds` is steady; `now`, UTC ms, is the cook's clock."""
        session = self._board.session
        if cook != self._cook:
            self._cook, self._told = cook, None
        if not runs(self._board.readout.cycle):
            self._told = frozenset()  # it forgets as it comes to rest
            return
        wanted = went_on(pieces, now)
        if self._told is None:
            last = max((event.at for event in events if event.kind == TOLD), default=0)
            self._told = frozenset(one for one in wanted if one[1] <= last)
        self._told = frozenset(one for one in self._told if one[1] > now - COLD_FOR)
        if wanted == self._told or self._telling or not session.standing or session.boot == self._unknown:
            return
        if self._failed and seconds - self._tried < AGAIN:
            return
        self._tried, self._telling = seconds, True
        self._task(self._tell(wanted, session.boot))

    async def _tell(self, wanted: frozenset[Went], boot: int) -> None:
        try:
            answer = await self._board.order("meat", mass=min(MOST, sum(mass for _, _, mass in wanted)))
            self._failed = not answer.ok
            if answer.ok:
                self._told = wanted
            elif answer.why == "unknown_order":
                self._unknown = boot
                self._log("the board's firmware does not know of cold meat that goes on: load it again")
        finally:
            self._telling = False


def usual(cut: str) -> float:
    """The typical mass of a piece of this cut, kg."""
    return CUTS.get(cut, CUTS["packer"]).kg[1]


def went_on(pieces: Sequence[PieceRow], now: int) -> frozenset[Went]:
    """The pieces in the pit that went on cold within COLD_FOR; one that was not weighed counts as usual for its cut."""
    return frozenset(
        (one.id, one.on_at, round(10.0 * (usual(one.cut) if one.mass is None else one.mass)))
        for one in pieces
        if one.place == "pit" and not one.held and now - COLD_FOR < one.on_at and (one.start or 0.0) < COLD
    )

"""What the simulated cook does. Nobody notes it, so the engine does, from the twin's probes and its hello."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tuyere.engine.device.connection import Board
from tuyere.logbook import Logbook
from tuyere.logbook.kinds import TWIN_KINDS
from tuyere.logbook.rows import Cook, PieceRow, Trend

GONE = 20_000  # ms without a reading: longer than a board's restart
BEFORE = "meat_before"  # of a cook's text: "1" while the probes still read what an earlier cook left in the pit


@dataclass
class Done:
    """An event for the log: kind and text of `logbook.kinds`, UTC ms, the piece (0: all), what it is known by."""

    kind: str
    at: int
    piece: int
    text: str
    source: str


class Hands:
    """Those of the twin in the open cook."""

    def __init__(self, logbook: Logbook, board: Board) -> None:
        self._logbook, self._board = logbook, board
        self.take_up()

    def take_up(self) -> None:
        """Another cook is in hand."""
        self._read: dict[int, int] = {}  # meat probe -> when it last read in this cook, UTC ms
        self._read_to = 0  # the newest cycle looked at, UTC ms
        self._told = 0  # of what the hello says, done

    def begin(self, cook: int) -> None:
        """A new cook. The meat in the pit may belong to an earlier one; only a person knows."""
        if self._reads_meat():
            self._logbook.cooks.set_text(cook, BEFORE, "1")

    def take(self, fresh: Trend) -> None:
        """New cycles of the cook."""
        for probe, column in enumerate((fresh.meat_1, fresh.meat_2, fresh.meat_3), 1):
            if reads := [at for at, celsius in zip(fresh.at, column, strict=True) if celsius is not None]:
                self._read[probe] = max(*reads, self._read.get(probe, 0))
        self._read_to = max(fresh.at, default=self._read_to)

    def look(self, cook: Cook | None, pieces: Sequence[PieceRow]) -> Iterator[Done]:
        """What the hands have done since the last look."""
        cycle = self._board.readout.cycle
        if cook is None or cycle is None or not cook.simulated or not self._board.link.simulated:
            return
        board = self._board.session.board
        before = self._logbook.cooks.text(cook.id, BEFORE) == "1"
        if not cook.meat_on:
            if self._reads_meat() and not before:
                source = f"{board}/{self._board.session.boot}/meat"
                yield Done("meat_on", cycle.at, 0, "put on by the twin", source)
            elif before and not self._reads_meat():
                self._logbook.cooks.set_text(cook.id, BEFORE, "")
        elif not before:
            yield from self._out(board, pieces)
            yield from self._as_told(board, cook.meat_on, cycle.at, pieces)

    def _out(self, board: str, pieces: Sequence[PieceRow]) -> Iterator[Done]:
        """Pieces whose probes have stopped reading."""
        for probe, at in list(self._read.items()):
            if self._read_to - at >= GONE:
                del self._read[probe]
                for piece in pieces:
                    if piece.probe == probe and piece.place == "pit":
                        yield Done("out", at, piece.id, "taken out by the twin", f"{board}/out {piece.id} at {at}")

    def _as_told(self, board: str, meat_on: int, now: int, pieces: Sequence[PieceRow]) -> Iterator[Done]:
        """What no probe shows: the hello lists it as [kind, s after the meat went on], in order."""
        for kind, seconds in _told(self._board.hello.get("hands"))[self._told :]:
            at = meat_on + 1000 * seconds
            if at > now:
                return
            self._told += 1
            source = f"{board}/hands {self._told}"
            if kind == "wrapped":
                for piece in pieces:
                    if piece.place == "pit" and piece.probe:
                        yield Done(kind, at, piece.id, "paper", f"{source} {piece.id}")
            else:
                yield Done(kind, at, 0, "by the twin", source)

    def _reads_meat(self) -> bool:
        cycle = self._board.readout.cycle
        return cycle is not None and any(meat is not None for meat in cycle.meats)


def _told(hands: object) -> list[tuple[str, int]]:
    """That part of a hello; entries that make no sense are left out."""
    rows = [row for row in hands if isinstance(row, list) and len(row) == 2] if isinstance(hands, list) else []
    return [(kind, s) for kind, s in rows if kind in TWIN_KINDS and isinstance(s, int)]

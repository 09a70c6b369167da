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
TWINS = "twin_plan"  # of a cook's text: "1" if its plan is the one that the twin cooks, piece by piece


@dataclass
class Done:
    """An event for the log: kind, text and value of `logbook.kinds`, UTC ms, the piece (0: all), what it is known
    by."""

    kind: str
    at: int
    piece: int
    text: str
    source: str
    value: float | None = None


@dataclass
class Told:
    """What a hello says that the hands do by the clock: see `tuyere.sim.script.Hand`."""

    kind: str
    seconds: int
    piece: int
    what: str | float


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
        self._gone: set[int] = set()  # pieces of which the hello has said that they are out

    def begin(self, cook: int) -> None:
        """A new cook. The meat in the pit may belong to an earlier one; only a person knows."""
        if self._reading():
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
        before = self._logbook.cooks.text(cook.id, BEFORE) == "1"
        ours = self._logbook.cooks.text(cook.id, TWINS) == "1"
        its = [one for one in pieces if not one.part_of] if ours else []
        told = _told(self._board.hello.get("hands"), len(its))
        if not cook.meat_on:
            reading = self._reading()
            if reading and not before:
                first = cycle.at - 1000 * _on_for(told, its, reading[0])
                yield from self._as_told(told, first, cook, pieces, its)
            elif before and not reading:
                self._logbook.cooks.set_text(cook.id, BEFORE, "")
        elif not before:
            yield from self._out(pieces, its)
            yield from self._as_told(told, cook.meat_on, cook, pieces, its)

    def _out(self, pieces: Sequence[PieceRow], its: Sequence[PieceRow]) -> Iterator[Done]:
        """Pieces whose probes have stopped reading, and those without one of which the hello says it."""
        came: list[tuple[PieceRow, int]] = []
        for probe, at in list(self._read.items()):
            if self._read_to - at >= GONE:
                del self._read[probe]
                came += [(piece, at) for piece in pieces if piece.probe == probe]
        said, zero = self._board.hello.get("came_out"), self._zero()
        if isinstance(said, list) and zero is not None:
            rows = [row for row in zip(its, said, strict=False) if not row[0].probe and row[0].id not in self._gone]
            came += [(piece, zero + ms) for piece, ms in rows if isinstance(ms, int) and ms > 0]
            self._gone.update(piece.id for piece, _ in came)
        for piece, at in came:
            if piece.place == "pit" and piece.on_at:
                source = f"{self._board.session.board}/out {piece.id} at {at}"
                yield Done("out", at, piece.id, "taken out by the twin", source)

    def _zero(self) -> int | None:
        """When the twin began, UTC ms."""
        pair, outside = self._board.clock.pair, self._board.hello.get("outside_ms")
        return pair.of(0) - outside if pair is not None and isinstance(outside, int) else None

    def _as_told(
        self, told: Sequence[Told], meat_on: int, cook: Cook, pieces: Sequence[PieceRow], its: Sequence[PieceRow]
    ) -> Iterator[Done]:
        """What no probe shows: the hello lists it, in order. meat_on: of the first piece, UTC ms."""
        for one in told[self._told :]:
            at = meat_on + 1000 * one.seconds
            if at > self._board.clock.now():
                return
            self._told += 1
            source = f"{self._board.session.board}/hands {self._told}"
            its_own = [its[one.piece - 1]] if one.piece else []
            if one.kind == "meat_on":
                if not (its_own[0].on_at if its_own else cook.meat_on):
                    yield Done(one.kind, at, its_own[0].id if its_own else 0, "put on by the twin", source)
            elif one.kind == "wrapped":
                for piece in its_own or [piece for piece in pieces if piece.probe]:
                    if piece.place == "pit":
                        yield Done(one.kind, at, piece.id, str(one.what), f"{source} {piece.id}")
            elif isinstance(one.what, str):
                yield Done(one.kind, at, 0, "by the twin", source)
            else:
                yield Done(one.kind, at, 0, "unlit", source, one.what)

    def _reading(self) -> list[int]:
        """The meat probes that read."""
        cycle = self._board.readout.cycle
        return [probe for probe, meat in enumerate(cycle.meats, 1) if meat is not None] if cycle is not None else []


def _told(hands: object, count: int) -> list[Told]:
    """That part of a hello; entries that make no sense are left out, and those of a single piece in a cook of other
    pieces than the twin's (count 0). Without a word of it all meat goes on at once."""
    rows = [row for row in hands if isinstance(row, list) and len(row) == 4] if isinstance(hands, list) else []
    told = [
        Told(kind, s, piece, what)
        for kind, s, piece, what in rows
        if kind in TWIN_KINDS
        and isinstance(s, int)
        and isinstance(what, str | int | float)
        and piece in range(count + 1)
    ]
    return told if any(one.kind == "meat_on" for one in told) else [Told("meat_on", 0, 0, ""), *told]


def _on_for(told: Sequence[Told], its: Sequence[PieceRow], probe: int) -> int:
    """How long the first meat is on when this probe begins to read, s: another piece may have been the first."""
    number = next((i for i, one in enumerate(its, 1) if one.probe == probe), 0)
    return next((one.seconds for one in told if one.kind == "meat_on" and one.piece in (0, number)), 0)

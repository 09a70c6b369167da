"""What has left the heat in a cook that runs, and until when it stays hot: in the box, or where it lies in the room."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import tzinfo

from tuyere.forecast import exchange
from tuyere.meat import safety
from tuyere.plan.box import counter_hours
from tuyere.plan.request import Own
from tuyere.plan.times import HOUR, MINUTE, local

Until = Callable[[exchange.Known, exchange.Piece], int]
NEAR = 20 * MINUTE  # a reading counts for the moment the piece came out within this


@dataclass(frozen=True)
class Hot:
    """The pieces out of the heat that are not hot until they are carved: their limit has passed, or it will."""

    passed: list[exchange.Piece]
    short: list[exchange.Piece]
    ends: dict[int, int]  # by piece: when its coldest spot is at the limit, UTC ms; 0 where it has no end

    @classmethod
    def of(cls, known: exchange.Known, own: dict[int, Own], carve: int, until: Until) -> Hot:
        """own: by piece; carve: when carving begins, UTC ms; until: as `tuyere.forecast.cooling.until`, for the box."""
        ends = {p.id: until(known, p) for p in known.pieces if p.place == "box"}
        ends |= {p.id: _in_the_room(known, p, own[p.id]) for p in known.pieces if p.place == "out"}
        passed = [p for p in known.pieces if 0 < ends.get(p.id, 0) <= known.now]
        short = [p for p in known.pieces if known.now < ends.get(p.id, 0) < carve]
        return cls(passed, short, ends)

    @property
    def cold(self) -> set[int]:
        """The pieces that nothing makes hot again by serving, by id."""
        return {piece.id for piece in self.passed}

    def words(self, known: exchange.Known, put: str, zone: tzinfo | None) -> list[str]:
        """What to do about them, a sentence or two for each place. put: where what lies in the room is to go."""
        limit = f"{known.limit:g} C"
        said = []
        for one in self.passed:
            hours = (known.now - self.ends[one.id]) / HOUR
            where = "has been out of the heat for so long that it" if one.place == "out" else "is in the box, but"
            since = local(self.ends[one.id], zone)
            words = f"{one.name} {where} should be below {limit} since {since:%a %H:%M}: take its temperature now."
            if hours > safety.LEFT_OUT_H:
                words += f" Is it below, do not serve it: {safety.LEFT_OUT}"
            else:
                words += f" Is it below, heat it through to {safety.REHEATED_C:g} C at once, or throw it away."
            if one.place == "out":
                words += " If it was boxed hot, note that with its time, and ask again."
            said.append(words)
        if boxed := [piece for piece in self.short if piece.place == "box"]:
            said.append(
                f"{names(boxed)} will be at {limit} by {self._first(boxed, zone)}, before it is carved: move it by "
                "then, wrapped, to a low oven or to the pit at 70-80 C."
            )
        if lying := [piece for piece in self.short if piece.place == "out"]:
            said.append(
                f"{names(lying)} is out of the heat, and where it lies at {limit} by {self._first(lying, zone)}, "
                f"before it is carved: {put}"
            )
        return said

    def _first(self, pieces: Sequence[exchange.Piece], zone: tzinfo | None) -> str:
        return f"{local(min(self.ends[piece.id] for piece in pieces), zone):%a %H:%M}"


def _in_the_room(known: exchange.Known, piece: exchange.Piece, own: Own) -> int:
    """When the coldest spot of a piece that came out and was not boxed is at the limit, UTC ms: on the counter, as it
    is not known where it lies, from what it read as it came out (else its target)."""
    came = max((note.at for note in piece.notes if note.kind == "out"), default=known.now)
    read = [note for note in piece.notes if note.kind == "hand_reading" and note.value is not None]
    cold = [note.at for note in read if note.at >= came and (note.value or 0.0) < known.limit]
    near = min(read, key=lambda note: abs(note.at - came), default=None)
    there = near is not None and abs(near.at - came) <= NEAR
    if any(note.kind == "in_box" and note.at < came for note in piece.notes) and not there:
        return came  # how warm it came out of the box nobody read
    middle = near.value if near is not None and there and near.value is not None else _probe(known, piece, came)
    wraps = [note.text for note in piece.notes if note.kind == "wrapped"]
    hours = counter_hours(own, middle, bool(wraps and wraps[-1] == "foil"), known.limit, known.room, known.altitude)
    return min([came + round(hours * HOUR), *cold])


def _probe(known: exchange.Known, piece: exchange.Piece, came: int) -> float:
    """What its probe read as it came out, C; its target if it had none."""
    if 1 <= piece.probe <= len(known.columns.meats):
        for at, c in zip(reversed(known.columns.at), reversed(known.columns.meats[piece.probe - 1]), strict=False):
            if c is not None and came - NEAR <= at <= came:
                return c
    return piece.target


def names(pieces: Iterable[exchange.Piece]) -> str:
    """'Alder, Bramble'."""
    return ", ".join(piece.name for piece in pieces)

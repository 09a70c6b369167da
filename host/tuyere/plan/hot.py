"""Pieces out of the heat in a cook that runs: how long they stay hot, and what food safety asks of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from msgspec import Struct

from tuyere.cook import food_safety
from tuyere.cook.food_history import history
from tuyere.cook.piece_prompts import ROUNDED
from tuyere.cook.snapshot import Decision, Kitchen
from tuyere.forecast import exchange
from tuyere.meat import regions
from tuyere.plan.box import counter_hours, held, oven
from tuyere.plan.request import Own
from tuyere.plan.times import HOUR, MINUTE
from tuyere.text import Clock, Range, Said, Temperature, band, text

Until = Callable[[exchange.Known, exchange.KnownPiece], int]
NEAR = 20 * MINUTE  # a reading within this time counts as that of the moment when the piece came out


class Happened(Struct, frozen=True):
    """An event as the history of a piece wants it (`tuyere.cook.noted`)."""

    kind: str
    at: int
    piece: int
    value: float | None
    text: str


def decided(known: exchange.Known, piece: exchange.KnownPiece) -> Decision:
    """What food safety asks of a piece that is on; the same as on every other page."""
    if not piece.on_at:
        return Decision()
    notes = [Happened(note.kind, note.at, piece.id, note.value, note.text) for note in piece.notes]
    notes += [Happened(note.kind, note.at, 0, note.value, note.text) for note in known.notes]
    had = history(
        piece.on_at, piece.id, piece.probe, known.columns, notes, known.now, known.limit, piece.place, known.pit_error
    )
    return food_safety.decision(had, piece.name, piece.intact, known.room, regions.rules(known.use, known.region))


@dataclass(frozen=True)
class Heat:
    """What keeps hot in a cook that runs, C. setting: of an oven; kept: what it surely keeps then; error: K by which it
    may be colder; pit: the band of a pit that only keeps wrapped pieces hot."""

    setting: float
    kept: float
    error: float
    pit: tuple[float, float]

    @classmethod
    def of(cls, limit: float, kitchen: Kitchen) -> Heat:
        """By the lowest settings that keep the limit of hot holding, C."""
        setting, kept = oven(limit, kitchen.oven_error, kitchen.oven_lowest)
        return cls(setting, kept, kitchen.oven_error, held(limit, kitchen.pit_error))

    @property
    def set_to(self) -> Temperature:
        """Of the oven."""
        return Temperature(self.setting)

    @property
    def pit_at(self) -> Range:
        """The band of the pit."""
        return band(*self.pit)


@dataclass(frozen=True)
class Hot:
    """The pieces that are not hot until they are carved: thrown away, below the limit now, or to fall below it."""

    passed: list[exchange.KnownPiece]
    short: list[exchange.KnownPiece]
    ends: dict[int, int]  # by piece: when its coldest spot is at the limit, UTC ms; 0 where it has no end
    asked: dict[int, Decision]  # by piece

    @classmethod
    def of(cls, known: exchange.Known, own: dict[int, Own], carve: int, until: Until) -> Hot:
        """own: by piece; carve: when carving begins, UTC ms; until: as `tuyere.forecast.cooling.until`, for the box."""
        asked = {p.id: decided(known, p) for p in known.pieces}
        ends = {p.id: until(known, p) for p in known.pieces if p.place == "box"}
        ends |= {p.id: _in_the_room(known, p, own[p.id]) for p in known.pieces if p.place == "out"}
        passed = [p for p in known.pieces if 0 < ends.get(p.id, 0) <= known.now or _cold(p, asked[p.id])]
        short = [p for p in known.pieces if known.now < ends.get(p.id, 0) < carve and p not in passed]
        return cls(passed, short, ends, asked)

    @property
    def cold(self) -> set[int]:
        """The pieces that nothing makes hot again by serving, by id."""
        return {piece.id for piece in self.passed}

    def words(self, known: exchange.Known, put: Said, heat: Heat) -> list[Said]:
        """What to do about them, a sentence or two for each place. put: where what lies in the room is to go; heat:
        what keeps hot."""
        limit = Temperature(known.limit)
        said: list[Said] = []
        for piece in known.pieces:
            asked = self.asked[piece.id]
            if asked.verdict in food_safety.ASKS:
                said += asked.said
            elif piece.id in self.cold:
                said.append(self._below(known, piece))
        if boxed := [piece for piece in self.short if piece.place == "box"]:
            said.append(
                text(
                    "{names} will be at {limit} by {time}, before it is carved: move it by then, wrapped, to an oven "
                    "at {oven} or to the pit at {held}.",
                    names=names(boxed), limit=limit, time=self._first(boxed), oven=heat.set_to,
                    held=heat.pit_at,
                )
            )  # fmt: skip
        if lying := [piece for piece in self.short if piece.place == "out"]:
            said.append(
                text(
                    "{names} is out of the heat, and where it lies at {limit} by {time}, before it is carved: {put}",
                    names=names(lying), limit=limit, time=self._first(lying), put=put,
                )
            )  # fmt: skip
        keeps = known.limit + heat.error
        ovens = [(piece, _oven(piece)) for piece in known.pieces]
        if cool := [piece for piece, c in ovens if c is not None and c < keeps - ROUNDED]:
            said.append(
                text(
                    "Set the oven that holds {names} to {keeps} or more: a cooler one may not keep meat above {limit}.",
                    names=names(cool), keeps=Temperature(keeps), limit=limit,
                )
            )  # fmt: skip
        return said

    def _below(self, known: exchange.Known, piece: exchange.KnownPiece) -> Said:
        """Its middle was hot recently, and its outside should be below the limit by computation."""
        where = "is in the box, and its outside" if piece.place == "box" else "is out of the heat, and its outside"
        return text(
            "{name} {where} should be below {limit} since {since}: take its temperature there now. If it is below, "
            "heat it through to {through} at once; past {by} throw it away.",
            name=piece.name, where=where, limit=Temperature(known.limit), since=Clock(self.ends[piece.id]),
            through=Temperature(regions.rules(known.use, known.region).reheat.c or 0.0),
            by=Clock(self.asked[piece.id].by),
        )  # fmt: skip

    def _first(self, pieces: Sequence[exchange.KnownPiece]) -> Clock:
        return Clock(min(self.ends[piece.id] for piece in pieces), day=True)


def _cold(piece: exchange.KnownPiece, asked: Decision) -> bool:
    """Whether it will not be ready at all: it must be thrown away, or it is only kept hot and is below the limit."""
    below = asked.verdict == food_safety.HEAT and (piece.held or piece.place in ("out", "box"))
    return below or asked.verdict == food_safety.THROW_AWAY


def _oven(piece: exchange.KnownPiece) -> float | None:
    """What the oven that holds it is set to, C; None where none does."""
    notes = [note.value for note in piece.notes if note.kind == "hold_oven"]
    return notes[-1] if piece.held and piece.place == "oven" and notes else None


def _in_the_room(known: exchange.Known, piece: exchange.KnownPiece, own: Own) -> int:
    """When the coldest spot of a piece that came out and was not boxed is at the limit, UTC ms: on the counter, as it
    is not known where it lies, from its last hot reading there, else what it read as it came out (else its target)."""
    came = max((note.at for note in piece.notes if note.kind == "out"), default=known.now)
    read = [note for note in piece.notes if note.kind == "hand_reading" and note.value is not None]
    since = [note for note in read if note.at >= came]
    cold = [note.at for note in since if (note.value or 0.0) < known.limit]
    near = since[-1] if since else min(read, key=lambda note: abs(note.at - came), default=None)
    there = near is not None and (bool(since) or abs(near.at - came) <= NEAR)
    if any(note.kind == "in_box" and note.at < came for note in piece.notes) and not there:
        return came  # nobody read how warm it came out of the box
    middle = near.value if near is not None and there and near.value is not None else _probe(known, piece, came)
    wraps = [note.text for note in piece.notes if note.kind == "wrapped"]
    hours = counter_hours(own, middle, bool(wraps and wraps[-1] == "foil"), known.limit, known.room, known.altitude)
    return min([(since[-1].at if since else came) + round(hours * HOUR), *cold])


def _probe(known: exchange.Known, piece: exchange.KnownPiece, came: int) -> float:
    """What its probe read as it came out, C; its target if it had none."""
    if 1 <= piece.probe <= len(known.columns.meats):
        for at, c in zip(reversed(known.columns.at), reversed(known.columns.meats[piece.probe - 1]), strict=False):
            if c is not None and came - NEAR <= at <= came:
                return c
    return piece.target


def names(pieces: Iterable[exchange.KnownPiece]) -> str:
    """'Alder, Bramble'."""
    return ", ".join(piece.name for piece in pieces)

"""Food safety of the present cook, for the screens. It is computed once a minute of readings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import msgspec

from tuyere.cook import follows, food_safety, snapshot
from tuyere.cook.food_history import of_meat
from tuyere.engine.night.minutes import MINUTE, Minutes
from tuyere.forecast.exchange import Columns
from tuyere.meat import safety


class Cook(Protocol):
    """What is needed of a cook."""

    @property
    def id(self) -> int:
        """Its number."""

    @property
    def ended(self) -> int:
        """UTC ms, 0 not yet."""


Key = tuple[int, int, int, int, snapshot.Kitchen]  # the cook, its minutes and its events, the minute, the kitchen


class Shown:
    """Keeps the result until something new is known, for a minute at most."""

    def __init__(self) -> None:
        self._key: Key | None = None
        self._seen: dict[tuple[int, int, int, str], food_safety.Looked] = {}  # of (piece, probe, on at, place)
        self._columns = Columns()

    def show(self, shot: snapshot.Snapshot, minutes: Minutes, events: Sequence[snapshot.Event]) -> None:
        """Add it to a snapshot with its pieces and kitchen."""
        if shot.cook is None:
            return
        seen = self.looked(shot.cook, shot.pieces, minutes, events, shot.now, shot.kitchen)
        found: list[safety.Rule] = []
        for piece in shot.pieces:
            looked = seen[piece.id]
            piece.decision, piece.safe = looked.decision, looked.safe
            piece.verdict = looked.done if piece.place in ("pit", "oven") else ""
            if piece.place not in ("carved", "thrown") or looked.decision.verdict:
                found += looked.rules
        shot.rules = food_safety.listed(found)

    def looked(
        self, cook: Cook, pieces: Sequence[snapshot.Piece], minutes: Minutes, events: Sequence[snapshot.Event],
        now: int, kitchen: snapshot.Kitchen, among: Sequence[snapshot.Piece] = (),
    ) -> dict[int, food_safety.Looked]:  # fmt: skip
        """What food safety says of these pieces of a cook, by their numbers. among: all pieces of the cook, if these
        are only some: one that was divided off has the history of the whole."""
        key = cook.id, len(minutes), len(events), now // MINUTE, kitchen
        if key != self._key:
            self._key, self._seen, self._columns = key, {}, minutes.columns()
        found = {}
        for piece in pieces:
            of = piece.id, piece.probe, piece.on_at, piece.place
            if of not in self._seen:
                its, seen = follows.own_events(piece, among or pieces, events), self._columns
                one, seen = _parted(piece, among or pieces, seen) if piece.part_of else (piece, seen)
                self._seen[of] = food_safety.look(one, seen, its, now, kitchen, bool(cook.ended))
            found[piece.id] = self._seen[of]
        return found

    def highest(self, piece: snapshot.Piece) -> float | None:
        """The highest that its probe has read in the heat, of the readings looked at last; None without any."""
        if not piece.probe:
            return None
        read = zip(self._columns.at, self._columns.meats[piece.probe - 1], strict=True)
        return max((c for at, c in read if c is not None and at >= piece.on_at and of_meat(c)), default=None)


def _parted(
    piece: snapshot.Piece, pieces: Sequence[snapshot.Piece], columns: Columns
) -> tuple[snapshot.Piece, Columns]:
    """A piece that was divided off, with the readings of the whole's probe up to then."""
    whole = next((one for one in pieces if one.id == piece.part_of), None)
    if whole is None or not whole.probe or piece.probe:
        return piece, columns
    read = [
        c if at <= piece.parted_at else None for at, c in zip(columns.at, columns.meats[whole.probe - 1], strict=True)
    ]
    meats = [*columns.meats]
    meats[whole.probe - 1] = read
    return msgspec.structs.replace(piece, probe=whole.probe), msgspec.structs.replace(columns, meats=meats)

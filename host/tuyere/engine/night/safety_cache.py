"""What is safe of the cook in hand, put where the screens look. Worked out anew once a minute of readings."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.cook import food_safety, kitchen, snapshot
from tuyere.engine.night.minutes import Minutes
from tuyere.forecast.exchange import Columns
from tuyere.meat import safety

Key = tuple[int, int, int]  # the cook, its minutes and its events


class Shown:
    """Keeps what was worked out for as long as nothing new is known."""

    def __init__(self) -> None:
        self._key: Key = (0, 0, 0)
        self._columns = Columns()
        self._seen: dict[tuple[int, int, int], food_safety.Watched | None] = {}  # of (piece, probe, on at)

    def show(self, shot: snapshot.Snapshot, minutes: Minutes, events: Sequence[snapshot.Event]) -> None:
        """Add it to a snapshot with its pieces and kitchen."""
        if shot.cook is None:
            return
        key = shot.cook.id, len(minutes), len(events)
        if key != self._key:
            self._key, self._seen, self._columns = key, {}, minutes.columns()
        found: list[safety.Rule] = []
        for piece in shot.pieces:
            seen = self._watched(piece, events)
            if seen is not None:
                piece.safe = list(food_safety.words(seen, piece.intact))
                piece.verdict = food_safety.verdict(seen, piece.target) if piece.place in ("pit", "oven") else ""
            if piece.place != "carved":
                found += food_safety.rules(seen, piece.intact, piece.mass, shot.kitchen.use == "trade")
            if piece.place in ("box", "out"):
                found.append(kitchen.limit(shot.kitchen))
            if piece.place == "out":
                found.append(safety.LEFT_OUT)
        shot.rules = list(food_safety.listed(found))

    def _watched(self, piece: snapshot.Piece, events: Sequence[snapshot.Event]) -> food_safety.Watched | None:
        if not piece.probe or not piece.on_at:
            return None
        key = piece.id, piece.probe, piece.on_at
        if key not in self._seen:
            columns = self._columns
            self._seen[key] = food_safety.watched(
                piece.on_at, piece.id, columns.at, columns.meats[piece.probe - 1], events
            )
        return self._seen[key]

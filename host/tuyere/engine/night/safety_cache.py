"""What is safe of the cook in hand, put where the screens look. Worked out anew once a minute of readings."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.cook import food_safety, snapshot
from tuyere.engine.outlook.minutes import MINUTE, Minutes
from tuyere.forecast.exchange import Columns
from tuyere.meat import safety

Key = tuple[int, int, int, int, snapshot.Kitchen]  # the cook, its minutes and its events, the minute, the kitchen


class Shown:
    """Keeps what was worked out for as long as nothing new is known, a minute at most."""

    def __init__(self) -> None:
        self._key: Key | None = None
        self._seen: dict[tuple[int, int, int, str], food_safety.Looked] = {}  # of (piece, probe, on at, place)
        self._columns = Columns()

    def show(self, shot: snapshot.Snapshot, minutes: Minutes, events: Sequence[snapshot.Event]) -> None:
        """Add it to a snapshot with its pieces and kitchen."""
        if shot.cook is None:
            return
        key = shot.cook.id, len(minutes), len(events), shot.now // MINUTE, shot.kitchen
        if key != self._key:
            self._key, self._seen, self._columns = key, {}, minutes.columns()
        found: list[safety.Rule] = []
        for piece in shot.pieces:
            looked = self._look(piece, events, shot)
            piece.decision, piece.safe = looked.decision, looked.safe
            piece.verdict = looked.done if piece.place in ("pit", "oven") else ""
            if piece.place != "carved" or looked.decision.verdict:
                found += looked.rules
        shot.rules = food_safety.listed(found)

    def _look(
        self, piece: snapshot.Piece, events: Sequence[snapshot.Event], shot: snapshot.Snapshot
    ) -> food_safety.Looked:
        key = piece.id, piece.probe, piece.on_at, piece.place
        if key not in self._seen:
            over = bool(shot.cook is not None and shot.cook.ended)
            self._seen[key] = food_safety.look(piece, self._columns, events, shot.now, shot.kitchen, over)
        return self._seen[key]

"""What is expected of the open cook: asked of the forecast's worker, kept in the logbook as it was shown, and shown."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import msgspec

from tuyere.cook import kitchen, snapshot
from tuyere.cook.errors import Refusal
from tuyere.engine.outlook.question import known
from tuyere.engine.outlook.worker import Forecasts, Worker
from tuyere.forecast.exchange import Ahead, Columns, Known, PieceAhead, Range
from tuyere.logbook import LogbookError
from tuyere.logbook.rows import Forecast

if TYPE_CHECKING:
    from tuyere.engine.engine import Engine

HEAT = ("pit", "oven")


class Expected:
    """The engine's side of the forecasts."""

    def __init__(self, engine: Engine, command: Sequence[str]) -> None:
        self._engine = engine
        self._forecasts = Forecasts(Worker(command), self._taken, engine.task, engine.steady, engine.log)

    def look(self) -> None:
        """A few times a second: ask when it is time."""
        cooking = self._engine.cooking
        cook = cooking.open
        if self._forecasts.due(cook.id if cook is not None else 0, self._engine.now()) and len(cooking.minutes):
            self._forecasts.ask(self._known(cooking.minutes.columns()))

    async def close(self) -> None:
        """End the worker."""
        await self._forecasts.close()

    def show(self, shot: snapshot.Snapshot) -> None:
        """Add to a snapshot what is expected, while the cook is open."""
        cooking = self._engine.cooking
        shot.kitchen = cooking.kitchen
        if cooking.open is None:
            return
        ahead = self._forecasts.shown(self._known(Columns()))
        shot.fuel_left, shot.fuel_words = ahead.fuel_left, ahead.fuel_words
        if ahead.fuel is not None:
            shot.fuel_early, shot.fuel_likely, shot.fuel_late = msgspec.structs.astuple(ahead.fuel)
        by_id = {piece.id: piece for piece in ahead.pieces}
        for piece in shot.pieces:
            if (found := by_id.get(piece.id)) is not None:
                _show(piece, found)
                if found.at and piece.place in HEAT:
                    shot.forecasts.append(snapshot.Forecast(piece.id, found.at, found.low, found.mid, found.high))

    @property
    def limit(self) -> float:
        """The hot-hold limit, C."""
        return kitchen.limit(self._engine.cooking.kitchen).c or 60.0

    async def kitchen_change(self, **given: Any) -> dict[str, Any]:
        """Change with what and where is cooked and held."""
        engine, cook = self._engine, self._engine.cooking.open
        if cook is None:
            raise Refusal("no cook is open: start one first")
        engine.cooking.kitchen = kitchen.change(engine.logbook, cook.id, engine.cooking.kitchen, given)
        engine.changed()
        return {"ok": True}

    def _known(self, columns: Columns) -> Known:
        engine, cooking = self._engine, self._engine.cooking
        assert cooking.open is not None
        return known(
            engine.now(), cooking.open, cooking.pieces, cooking.events, columns, engine.board.readout.cycle,
            cooking.kitchen,
        )  # fmt: skip

    def _taken(self, cook: int, ahead: Ahead) -> None:
        """Keep what is now shown."""
        places = {piece.id: piece for piece in self._engine.cooking.pieces}
        shown = []
        for found in ahead.pieces:
            if (piece := places.get(found.id)) is None:
                continue
            bare = piece.place == "pit" and not piece.wrap
            for kind, range in (
                ("finish", found.finish if piece.place in HEAT else None),
                ("wrap", found.wrap if bare else None),
                ("hold", Range(*[found.hold_until] * 3) if found.hold_until and piece.place == "box" else None),
            ):
                shown += _row(cook, piece.id, kind, ahead.now, range)
        shown += _row(cook, 0, "fuel", ahead.now, ahead.fuel)
        try:
            self._engine.logbook.keep_forecasts(shown)
        except LogbookError as error:  # the night goes on
            self._engine.log(f"a forecast was not kept: {error}")
        self._engine.changed()


def _row(cook: int, piece: int, kind: str, at: int, range: Range | None) -> list[Forecast]:
    if range is None:
        return []
    return [Forecast(cook, piece, kind, at, *sorted(msgspec.structs.astuple(range)))]


def _show(piece: snapshot.Piece, found: PieceAhead) -> None:
    """Put what is expected of a piece where the screen looks, as far as it is still to come."""
    if found.finish is not None and piece.place in HEAT:
        piece.finish_early, piece.finish_likely, piece.finish_late = msgspec.structs.astuple(found.finish)
    if found.wrap is not None and piece.place == "pit" and not piece.wrap:
        piece.wrap_from, piece.wrap_best, piece.wrap_until = msgspec.structs.astuple(found.wrap)
    if piece.place == "box":
        piece.hold_until = found.hold_until
    if piece.place != "carved":
        piece.expected = [words for words in (*found.words, found.wrap_words, found.probe_words) if words]

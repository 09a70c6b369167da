"""The forecast of the open cook: asks the worker, stores the answer in the logbook as shown, and shows it."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Iterator, Sequence
from typing import Any

import msgspec

from tuyere.cook import care, earlier, snapshot
from tuyere.cook.piece_prompts import FEEL_AGAIN
from tuyere.cook.places import GONE
from tuyere.engine.device.connection import Board
from tuyere.engine.night.current import Cooking
from tuyere.engine.outlook.question import known
from tuyere.engine.outlook.worker import Forecasts, Worker
from tuyere.forecast.exchange import Ahead, Columns, Known, PieceAhead, Range
from tuyere.logbook import Logbook, LogbookError
from tuyere.logbook.rows import Cook, Forecast

HEAT = ("pit", "oven")


class Expected:
    """The engine's side of the forecasts."""

    def __init__(
        self,
        logbook: Logbook,
        board: Board,
        cooking: Cooking,
        command: Sequence[str],
        *,
        task: Callable[[Coroutine[Any, Any, Any]], None],
        steady: Callable[[], float],
        log: Callable[[str], None],
        on_change: Callable[[], None],
    ) -> None:
        self._logbook, self._board, self._cooking = logbook, board, cooking
        self._log, self._on_change = log, on_change
        self._before: list[earlier.Night] = []
        self._before_what = 0  # of which cook they are the nights before
        self._unread: Iterator[list[earlier.Night]] = iter(())
        self._forecasts = Forecasts(Worker(command), self._taken, task, steady, log)

    def look(self) -> None:
        """A few times a second: ask when it is time."""
        cooking = self._cooking
        cook = cooking.open
        if cook is not None:
            self._look_back(cook)
        if self._forecasts.due(cook.id if cook is not None else 0, self._board.clock.now()) and len(cooking.minutes):
            self._forecasts.ask(self._known(cooking.minutes.columns()))

    def _look_back(self, cook: Cook) -> None:
        """Read the user's own nights before this one, a cook each time: a long one takes a tenth of a second."""
        if cook.id != self._before_what:
            self._before, self._before_what = [], cook.id
            self._unread = iter(()) if cook.simulated else earlier.nights(self._logbook, cook.id)
        try:
            self._before += next(self._unread, [])
        except LogbookError as error:  # tonight's forecast does without
            self._unread = iter(())
            self._log(f"an earlier cook was not read: {error}")

    def forget(self) -> None:
        """Times have moved: earlier answers are void."""
        self._forecasts.forget()

    async def close(self) -> None:
        """End the worker."""
        await self._forecasts.close()

    def show(self, shot: snapshot.Snapshot) -> None:
        """Add to a snapshot what is expected, while the cook is open."""
        cooking = self._cooking
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
                    shot.forecasts.append(
                        snapshot.Forecast(piece=piece.id, at=found.at, low=found.low, mid=found.mid, high=found.high)
                    )

    def _known(self, columns: Columns) -> Known:
        cooking, board = self._cooking, self._board
        assert cooking.open is not None
        return known(
            board.clock.now(), cooking.open, cooking.pieces, cooking.events, columns, board.readout.cycle,
            cooking.kitchen, cooking.serve, self._before,
        )  # fmt: skip

    def _taken(self, cook: int, ahead: Ahead) -> None:
        """Keep what is now shown."""
        cold = care.at_rest(self._board.readout.cycle)  # a forecast that needs a fire is not shown without one
        places = {piece.id: piece for piece in self._cooking.pieces}
        shown = []
        for found in ahead.pieces:
            if (piece := places.get(found.id)) is None or (cold and piece.place == "pit"):
                continue
            bare = piece.place == "pit" and not piece.wrap
            for kind, range in (
                ("finish", found.finish if piece.place in HEAT else None),
                ("wrap", found.wrap if bare else None),
                ("hold", Range(*[found.hold_until] * 3) if found.hold_until and piece.place == "box" else None),
            ):
                shown += _row(cook, piece.id, kind, ahead.now, range)
        shown += _row(cook, 0, "fuel", ahead.now, None if cold else ahead.fuel)
        try:
            self._logbook.forecasts.keep(shown)
        except LogbookError as error:  # the night goes on
            self._log(f"a forecast was not kept: {error}")
        self._on_change()


def _row(cook: int, piece: int, kind: str, at: int, range: Range | None) -> list[Forecast]:
    if range is None:
        return []
    early, likely, late = sorted(msgspec.structs.astuple(range))
    return [Forecast(cook=cook, piece=piece, kind=kind, at=at, early=early, likely=likely, late=late)]


def _show(piece: snapshot.Piece, found: PieceAhead) -> None:
    """Give a piece of the snapshot what is expected of it, as far as it is still to come."""
    if found.finish is not None and piece.place in HEAT:
        piece.finish_early, piece.finish_likely, piece.finish_late = msgspec.structs.astuple(found.finish)
        piece.in_time = found.in_time
    if piece.not_tender_at and piece.place in HEAT and not piece.held:
        _not_yet(piece)
    if found.wrap is not None and piece.place == "pit" and not piece.wrap:
        piece.wrap_from, piece.wrap_best, piece.wrap_until = msgspec.structs.astuple(found.wrap)
    if piece.place == "box":
        piece.hold_until = found.hold_until
    if piece.place not in GONE:
        piece.expected = [words for words in (*found.words, found.wrap_words, found.probe_words) if words]


def _not_yet(piece: snapshot.Piece) -> None:
    """A piece that was felt and is not tender is not done before it is felt again, whatever its probe reads."""
    again = piece.not_tender_at + FEEL_AGAIN
    if not piece.finish_likely:
        piece.finish_early, piece.finish_likely, piece.finish_late = again, again, again + FEEL_AGAIN
    elif piece.finish_early < again:
        later = again - piece.finish_early
        piece.finish_early, piece.finish_likely = again, piece.finish_likely + later
        piece.finish_late += later

"""Methods for screens, except orders and notes: the cook, its alarms, the engine itself."""

from __future__ import annotations

import functools
from collections.abc import Awaitable, Callable
from typing import Any

from tuyere.cook import arguments, faults, from_rows, summary, wording
from tuyere.cook import snapshot as model
from tuyere.cook.errors import Refusal
from tuyere.engine.calls.watching import Watching
from tuyere.engine.device.connection import Board
from tuyere.engine.night.alarms import Alarms
from tuyere.engine.night.current import Cooking
from tuyere.engine.night.from_plan import FromPlan
from tuyere.engine.night.notes import Notes
from tuyere.engine.night.orders import Orders
from tuyere.engine.night.programmes import Programmes
from tuyere.engine.rpc.server import Method
from tuyere.logbook import Logbook, LogbookError
from tuyere.logbook.errors import LogbookDamaged
from tuyere.text import Said, said_of, sentences, text

MINUTE = 60_000
TRIP = "trip_"
ON_THE_BOARD = (TRIP, faults.RESUMED.code)  # alarms whose codes begin so are acknowledged on the board, too


class Desk:
    """The methods that the engine's server offers."""

    def __init__(
        self,
        logbook: Logbook,
        board: Board,
        cooking: Cooking,
        alarms: Alarms,
        orders: Orders,
        notes: Notes,
        plan: FromPlan,
        kept: Programmes,
        watching: Watching,
        *,
        snapshot: Callable[[], model.Snapshot],
        about: Callable[[], model.About],
        stop: Callable[[str], None],
    ) -> None:
        self._logbook, self._board, self._cooking, self._alarms = logbook, board, cooking, alarms
        self._orders, self._notes, self._plan, self._kept, self._watching = orders, notes, plan, kept, watching
        self._snapshot, self._about, self._stop = snapshot, about, stop

    def methods(self) -> dict[str, Method]:
        """By name, as `server.Server` takes them."""
        orders, notes, kept = self._orders, self._notes, self._kept
        found = (
            self.snapshot, self.trend, self.summary, self.about, self.stop, self.settings,
            self.cook_start, self.cook_end, self.alarm_acknowledge, self.alarm_shelve,
            kept.programmes, kept.programme_keep, kept.programme_drop,
            self._watching.awake, self._watching.test.wake_test, self._watching.test.wake_answer,
            orders.order, notes.note, notes.note_undo, notes.piece_add, notes.piece_change, notes.piece_divide,
            notes.kitchen_change, notes.serve_change,
        )  # fmt: skip
        return {method.__name__: self._worded(method) for method in found}

    async def snapshot(self) -> model.Snapshot:
        """All that a screen shows but the trend."""
        return self._snapshot()

    async def trend(self, cook: int, after: int = 0) -> model.Trend:
        """Cycles of a cook since a record."""
        number, past = arguments.whole("cook", cook), arguments.whole("after", after)
        try:
            return from_rows.trend(self._logbook.reading.trend(number, past))
        except LogbookDamaged:
            if self._cooking.open is None or self._cooking.open.id != number:
                self._logbook.forgive()  # an old cook that cannot be read is no trouble for tonight's
            raise

    async def summary(self) -> dict[str, Any]:
        """The open cook, or the last one that ended, in sentences: times, yield, forecasts against what came."""
        shot = self._snapshot()
        if shot.cook is None:
            raise Refusal("no cook was open while this engine ran: `tuyere log show last` has the last one")
        shown = self._logbook.forecasts.of(shot.cook.id, "finish")
        return {"lines": summary.summary(shot.cook, shot.pieces, self._cooking.events, shown, shot.now)}

    async def about(self) -> model.About:
        """The engine itself: what it keeps, and since when."""
        return self._about()

    async def settings(self) -> dict[str, int]:
        """The board's settings in its own units, as last reported or acknowledged."""
        if not self._board.session.standing:
            raise Refusal(wording.refusal("link_lost"))
        return self._board.readout.settings

    async def stop(self) -> dict[str, Any]:
        """End the engine after the answer; the board keeps the fan, and nobody relies on the engine any more."""
        await self._watching.leave()
        self._stop("A person ended it, with `tuyere keep --end`.")  # now: an engine that ends already must hear of it
        return {"ok": True}

    # -- the cook ---------------------------------------------------------------------

    async def cook_start(self, name: str, plan: bool = False) -> dict[str, Any]:
        """Open a cook without touching the fire. plan: with the pieces and the programme of the plan kept for now."""
        if not isinstance(name, str) or not name.strip():
            raise Refusal("a cook needs a name")
        if not self._board.session.board and not self._board.link.board:
            raise Refusal("no board has answered yet: plug it in first, then start the cook")
        name = name.strip()[:200]
        if plan is True and self._cooking.open is None:
            if not self._plan.begin(name):
                raise Refusal("no plan is kept for now: begin without it, or save one with `tuyere plan --save`")
            cook = self._cooking.open
            return {"id": cook.id if cook else 0}
        return {"id": self._cooking.begin(name)}

    async def cook_end(self) -> dict[str, Any]:
        """Let the fire die (fan off for good) and close the cook."""
        cook = self._cooking.open
        if cook is None:
            raise Refusal("no cook is open")
        rows = self._board.readout.rows
        if rows:
            answer = await self._board.order("phase", row=len(rows))
        else:
            answer = await self._board.order("stop")
        self._board.write()  # the cycle that ended the cook belongs to it
        self._cooking.count()
        self._logbook.cooks.end(cook.id, max(self._board.clock.now(), cook.started))
        self._cooking.refresh()
        if answer.ok:
            return {"ok": True, "words": "The cook has ended: fan off. Close every vent."}
        said = text("The cook is closed, but the fan may still run: {why}.", why=wording.why_not(answer.why))
        return {"ok": False, "words": said}

    # -- alarms ---------------------------------------------------------------------------

    async def alarm_acknowledge(self, id: int) -> dict[str, Any]:
        """A person has seen it. A trip is acknowledged on the board too; that never starts the fan."""
        code = self._alarms.code(id) if type(id) is int else ""
        said: Said = "Acknowledged."
        if not code or not self._alarms.acknowledge(id, self._board.clock.now()):
            raise Refusal("no such alarm stands")
        if code.startswith(ON_THE_BOARD):
            answer = await self._board.order("acknowledge")
            if not answer.ok:
                said = sentences(["Acknowledged here.", wording.refusal(answer.why)])
            elif code.startswith(TRIP):
                said = "Acknowledged. The fan stays off: start again when you have checked."
        self._cooking.refresh()
        return {"ok": True, "words": said}

    async def alarm_shelve(self, id: int, minutes: float) -> dict[str, Any]:
        """Keep it quiet for some minutes of the cook's clock."""
        urgent = type(id) is int and self._alarms.level(id) == faults.URGENT
        most = faults.URGENT_SHELF if urgent else 480
        asked = arguments.number("minutes", minutes, 1, 480)
        if asked > most:
            raise Refusal(f"an urgent alarm can be shelved for {most} min at most: give fewer")
        until = self._board.clock.now() + round(asked * MINUTE)
        if type(id) is not int or not self._alarms.shelve(id, until):
            raise Refusal("no such alarm stands")
        self._cooking.refresh()
        return {"ok": True, "until": until}

    def _worded(self, method: Callable[..., Awaitable[Any]]) -> Method:
        @functools.wraps(method)  # the server asks for its signature
        async def call(**params: Any) -> Any:
            try:
                self._board.clock.look()  # before anything is dated
                return await method(**params)
            except LogbookError as error:
                raise Refusal(said_of(error)) from error

        return call

"""What screens may ask for: orders to the board, notes, pieces, cooks, alarms. People's units in, words out."""

from __future__ import annotations

import asyncio
import math
from collections.abc import Awaitable, Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from hearth.core import fields
from hearth.link import messages

from ..logbook import LogbookError
from ..logbook.cooks import PIECE_FIELDS
from . import model, programme, view, words
from .serve import Method, Refusal

if TYPE_CHECKING:
    from .keep import Engine

MINUTE = 60_000
LATEST = 2 * MINUTE  # ms a note may lie ahead of the cook's clock
TRIPPED = "Tripped"


class Desk:
    """The methods of the engine's door."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def methods(self) -> dict[str, Method]:
        """By name, as `serve.Server` wants them."""
        names = (
            "snapshot", "trend", "order", "note", "piece_add", "piece_change", "cook_start", "cook_end",
            "alarm_acknowledge", "alarm_shelve", "stop",
        )  # fmt: skip
        return {name: _worded(getattr(self, name)) for name in names}

    async def snapshot(self) -> model.Snapshot:
        """All that a screen shows but the trend."""
        return self._engine.snapshot()

    async def trend(self, cook: int, after: int = 0) -> model.Trend:
        """Cycles of a cook since a record."""
        return view.trend(self._engine.logbook.trend(_whole("cook", cook), _whole("after", after)))

    async def stop(self) -> dict[str, Any]:
        """End the engine once this has been answered; the fan is left to the board."""
        asyncio.get_running_loop().call_later(0.2, self._engine.stop)
        return {"ok": True}

    # -- orders -----------------------------------------------------------------------

    async def order(self, name: str, **arguments: Any) -> dict[str, Any]:
        """Send an order; {"ok", "words"} as the board answered. Temperatures in C, shares 0..1, seconds."""
        if name == "start":
            return await self.hold()
        if name not in messages.ORDERS:
            raise Refusal(f"there is no order {name!r}; the orders are {', '.join(messages.ORDERS)}")
        make: Callable[..., tuple[dict[str, Any], str]] = getattr(self, f"_{name}", _bare(name))
        try:
            board_arguments, done = make(**arguments)
        except TypeError as error:
            raise Refusal(f"the order {name} {str(error).split('() ', 1)[-1]}") from error
        answer = await self._engine.board.order(name, **board_arguments)
        if answer.ok and name == "programme":
            self._keep_names(arguments["phases"])
        return {"ok": answer.ok, "words": done if answer.ok else words.refusal(answer.why)}

    def _band(self, low: float, high: float) -> tuple[dict[str, Any], str]:
        bottom, top = _number("low", low, 40, 200), _number("high", high, 45, 220)
        if top - bottom < 2:
            raise Refusal("the top of the band must stand at least 2 degrees C above its bottom")
        return {"low": round(bottom * 100), "high": round(top * 100)}, f"Band {words.band(bottom, top)}."

    def _fan(self, share: float = 0.0, seconds: float = 0) -> tuple[dict[str, Any], str]:
        demand, time = _number("share", share, 0, 1), round(_number("seconds", seconds, 0, 7200))
        said = (
            f"Fan by hand at {words.percent(demand)} for {time // 60} min {time % 60} s." if time else "Fan given back."
        )
        return {"demand": round(demand * fields.FULL), "seconds": time}, said

    def _phase(self, row: int | None = None) -> tuple[dict[str, Any], str]:
        engine = self._engine
        if row is None:
            row = engine.board.readout.phase + 1
        row = _whole("row", row)
        if row > fields.ROWS:
            raise Refusal(f"a programme has at most {fields.ROWS} phases")
        name = engine.phases[row].name if row < len(engine.phases) else "the end, fan off"
        return {"row": row}, f"Phase: {name}."

    def _opened(self, seconds: float = 0) -> tuple[dict[str, Any], str]:
        time = round(_number("seconds", seconds, 0, 1800))
        return {"seconds": time}, "Opened: fan off until the lid is shut."

    def _programme(self, phases: Any) -> tuple[dict[str, Any], str]:
        made = _phases(phases)
        return {"rows": programme.rows(made)}, f"Programme of {len(made)} phases."

    def _settings(self, values: Any) -> tuple[dict[str, Any], str]:
        if not isinstance(values, dict) or not values:
            raise Refusal('settings are given as {"values": {name: number}}')
        table = {row[0]: row for row in fields.SETTINGS}
        board: dict[str, int] = {}
        for name, value in values.items():
            row = table.get(name)
            if row is None:
                raise Refusal(f"there is no setting {name!r}; the settings are {', '.join(table)}")
            board[name] = round(_number(name, value, row[3] / row[2], row[4] / row[2]) * row[2])
        return {"values": board}, f"Set: {', '.join(values)}."

    def _keep_names(self, phases: Any) -> None:
        engine = self._engine
        made = _phases(phases)
        engine.board.readout.rows = programme.rows(made)
        if engine.cook is not None and not engine.cook.ended:
            engine.logbook.set_text(engine.cook.id, "phases", "\n".join(p.name for p in made))
        engine.keep_programme()

    async def hold(self) -> dict[str, Any]:
        """Hold the band: opens a cook if none is open, gives the board a programme if it has none, then starts it."""
        engine = self._engine
        board = engine.board
        if not board.session.standing:
            return {"ok": False, "words": words.refusal("link_lost")}
        cycle = board.readout.cycle
        if cycle is not None and cycle.trip:
            return {"ok": False, "words": words.refusal("stands_tripped")}
        fresh = not engine.cooking
        if fresh:
            engine.begin_cook(f"Cook of {datetime.fromtimestamp(engine.now() / 1000):%d %b %Y}")
        row = 0
        if not board.readout.rows or fresh:
            rows = board.readout.rows
            if not rows:  # a board that has lost its memory goes on where this cook was
                rows, row = engine.programme_so_far()
            # also to a board that has one: it answers with a state record, where a replay of this cook can begin
            answer = await board.order("programme", rows=rows)
            if not answer.ok:
                return {"ok": False, "words": words.refusal(answer.why)}
            board.readout.rows = rows
            engine.keep_programme()
        answer = await board.order("start")
        if answer.ok and row:
            answer = await board.order("phase", row=row)
        if answer.ok:
            engine.restarted = False
        return {"ok": answer.ok, "words": "Holding the band from here on." if answer.ok else words.refusal(answer.why)}

    # -- cooks and pieces -----------------------------------------------------------------

    async def cook_start(self, name: str) -> dict[str, Any]:
        """Open a cook without touching the fire."""
        if not isinstance(name, str) or not name.strip():
            raise Refusal("a cook needs a name")
        if not self._engine.board.session.board and not self._engine.board.link.board:
            raise Refusal("no board has been met yet: plug it in first, then start the cook")
        return {"id": self._engine.begin_cook(name.strip()[:200])}

    async def cook_end(self) -> dict[str, Any]:
        """Let the fire die (fan off for good) and close the cook."""
        engine = self._engine
        cook = engine.cook
        if cook is None or cook.ended:
            raise Refusal("no cook is open")
        rows = engine.board.readout.rows
        if rows:
            answer = await engine.board.order("phase", row=len(rows))
        else:
            answer = await engine.board.order("stop")
        engine.board.write()  # the cycle that ended it belongs to the cook
        engine.logbook.end_cook(cook.id, max(engine.now(), cook.started))
        engine.refresh()
        if answer.ok:
            return {"ok": True, "words": "The cook has ended: fan off. Close every vent."}
        why = words.refusal(answer.why).removeprefix("Not done: ")
        return {"ok": False, "words": f"The cook is closed, but the fan may still run: {why}"}

    async def piece_add(self, **given: Any) -> dict[str, Any]:
        """Add a piece to the open cook."""
        number = self._engine.logbook.add_piece(self._open(), **_piece_fields(given))
        self._engine.refresh()
        return {"id": number}

    async def piece_change(self, id: int, **given: Any) -> dict[str, Any]:
        """Change some fields of a piece of the open cook."""
        self._own_piece(id)
        self._engine.logbook.change_piece(id, **_piece_fields(given))
        self._engine.refresh()
        return {"ok": True}

    # -- notes ----------------------------------------------------------------------------

    async def note(
        self, kind: str, piece: int = 0, value: float | None = None, text: str = "", at: int | None = None
    ) -> dict[str, Any]:
        """Note an event; `at` (UTC ms of the cook's clock) dates it back, None or 0 is now."""
        self._open()
        if not isinstance(kind, str) or not isinstance(text, str):
            raise Refusal("kind and text of a note are words")
        if value is not None:
            value = _number("value", value, -1e6, 1e6)
        if piece:
            self._own_piece(piece)
        return {"id": self.write_event(kind, _whole("at", at or 0), piece, value, text[:2000])}

    def write_event(self, kind: str, at: int, piece: int = 0, value: float | None = None, text: str = "") -> int:
        """Write an event down and let the pieces and the cook follow from it, all of it or nothing."""
        engine = self._engine
        cook, now = engine.cook, engine.now()
        assert cook is not None
        when = at or now
        if when > now + LATEST:
            raise Refusal("a note cannot be dated ahead: give when it happened")
        meat_on = kind == "meat_on" and (piece == 0 or not cook.meat_on)
        with engine.logbook.together():
            number = engine.logbook.note(cook.id, kind, when, now, piece, value, text)
            if meat_on:
                engine.logbook.set_meat_on(cook.id, when)
            events = engine.logbook.events(cook.id)
            for row in engine.logbook.pieces(cook.id):
                changed = view.piece_by_events(row.id, events) if piece in (0, row.id) else {}
                if changed:
                    engine.logbook.change_piece(row.id, **changed)
        if meat_on:
            engine.score.meat_on(when)
        engine.refresh()
        return number

    # -- alarms ---------------------------------------------------------------------------

    async def alarm_acknowledge(self, id: int) -> dict[str, Any]:
        """A person has seen it. A trip is acknowledged on the board too; that never starts the fan."""
        engine = self._engine
        name = engine.alarms.name(id) if type(id) is int else ""
        said = "Acknowledged."
        if not name or not engine.alarms.acknowledge(id, engine.now()):
            raise Refusal("no such alarm stands")
        if name.startswith(TRIPPED):
            answer = await engine.board.order("acknowledge")
            said = "Acknowledged. The fan stays off: start again when you have checked." if answer.ok else (
                "Acknowledged here. " + words.refusal(answer.why)
            )  # fmt: skip
        engine.refresh()
        return {"ok": True, "words": said}

    async def alarm_shelve(self, id: int, minutes: float) -> dict[str, Any]:
        """Keep it quiet for some minutes of the cook's clock."""
        engine = self._engine
        until = engine.now() + round(_number("minutes", minutes, 1, 480) * MINUTE)
        if type(id) is not int or not engine.alarms.shelve(id, until):
            raise Refusal("no such alarm stands")
        engine.refresh()
        return {"ok": True, "until": until}

    # -- parts ------------------------------------------------------------------------------

    def _open(self) -> int:
        cook = self._engine.cook
        if cook is None or cook.ended:
            raise Refusal("no cook is open: start one first")
        return cook.id

    def _own_piece(self, id: Any) -> None:
        self._open()
        if all(piece.id != id for piece in self._engine.pieces):
            raise Refusal(f"this cook has no piece {id}")


def _worded(method: Callable[..., Awaitable[Any]]) -> Method:
    async def call(**params: Any) -> Any:
        try:
            return await method(**params)
        except LogbookError as error:
            raise Refusal(str(error)) from error

    return call


def _bare(name: str) -> Callable[[], tuple[dict[str, Any], str]]:
    said = {
        "stop": "Stopped: the fan is off.",
        "acknowledge": "Acknowledged. The fan stays off: start again when you have checked.",
        "release": "The board restarts without its watchdog, ready for an upload.",
    }

    def make() -> tuple[dict[str, Any], str]:
        return {}, said.get(name, "Done.")

    return make


def _number(what: str, value: Any, low: float, high: float) -> float:
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or not math.isfinite(value)
        or not low <= value <= high
    ):
        raise Refusal(f"{what} of {value!r} cannot be: give a number from {low:g} to {high:g}")
    return float(value)


def _whole(what: str, value: Any) -> int:
    if type(value) is not int or not 0 <= value < 1 << 62:
        raise Refusal(f"{what} of {value!r} cannot be: give a whole number from 0 up")
    return value


def _phases(given: Any) -> list[model.Phase]:
    """[{"name", "low", "high", "end_kind", "end_value"}, ...] -> phases; Refusal says what is wrong."""
    if not isinstance(given, list) or not 1 <= len(given) <= fields.ROWS:
        raise Refusal(f"a programme is a list of 1 to {fields.ROWS} phases")
    made = []
    for i, row in enumerate(given):
        if not isinstance(row, dict):
            raise Refusal(f"phase {i + 1} needs a name, low, high, end_kind and end_value")
        kind = _whole(f"end_kind of phase {i + 1}", row.get("end_kind", 0))
        name = str(row.get("name") or f"phase {i + 1}").replace("\n", " ")[:60]
        low, high = (
            _number(f"low of {name}", row.get("low"), 40, 200),
            _number(f"high of {name}", row.get("high"), 45, 220),
        )
        if kind > fields.END_MEAT_3 or high - low < 2:
            raise Refusal(
                f"{name}: its band must be at least 2 degrees C wide and its end_kind 0 to {fields.END_MEAT_3}"
            )
        value = 0.0 if kind == fields.END_BY_HAND else _number(f"end_value of {name}", row.get("end_value"), 1, 5760)
        made.append(programme.phase(name, low, high, kind, value))
    return made


def _piece_fields(given: dict[str, Any]) -> dict[str, Any]:
    for name in given:
        if name not in PIECE_FIELDS:
            raise Refusal(f"a piece has no {name!r}; it has {', '.join(PIECE_FIELDS)}")
    return given

"""The newest cycle of the board, read from record bytes by the layout in its hello."""

from __future__ import annotations

from typing import Any

from hearth.core import Out, fields
from hearth.link import messages

from .. import codes
from ..logbook import decode
from .model import Cycle

MEATS = ("meat_1", "meat_2", "meat_3")
DEFAULT = Out()  # the band of a board that does not tell it


class Readout:
    """Follows one boot of a board, record by record."""

    def __init__(self) -> None:
        self.cycle: Cycle | None = None
        self.fault_bits = 0
        self.rows: list[list[int]] = []  # the programme on the board
        self.phase = 0
        self.phase_since = 0  # UTC ms, 0 if not known
        self.period_ms = fields.PERIOD_MS
        self._layout: decode.Layout | None = None
        self._places: dict[str, int] = {}

    def hello(self, said: dict[str, Any], fresh: bool) -> None:
        """Take a hello; `fresh` if it is the first of this boot, or since the port was opened."""
        text = decode.layout_json(said)
        self._layout = decode.layout(text) if text is not None else None
        if self._layout is not None:
            self._places = {}
            i = len(decode.HEAD_NAMES)
            for part, f in self._layout.cycle_fields:
                self._places[f"{part}.{f.name}"] = i
                i += f.count or 1
        rows = said.get("programme")
        self.rows = [list(row) for row in rows if _is_row(row)] if isinstance(rows, list) else []
        period = said.get("period_ms")
        self.period_ms = period if isinstance(period, int) and period > 0 else fields.PERIOD_MS
        if fresh:
            self.cycle, self.phase_since = None, 0

    def take(self, record: bytes, utc: int) -> None:
        """Take a record in order, with the UTC of its board time."""
        if self._layout is None or not self._layout.fits(record):
            return
        if record[0] == messages.CYCLE:
            self._cycle(self._layout.cycle.unpack(record), utc)
        elif record[0] == messages.STATE:
            memory = self._layout.state_parts(record)[2]
            flat, count = memory.get("rows"), memory.get("phases")
            if isinstance(flat, list) and isinstance(count, int):
                self.rows = [flat[i * fields.ROW : (i + 1) * fields.ROW] for i in range(count)]
            since = memory.get("phase_cycles")
            if isinstance(since, int) and not self.phase_since:
                self.phase_since = utc - since * self.period_ms

    def _cycle(self, numbers: tuple[Any, ...], utc: int) -> None:
        def get(name: str, default: int = 0) -> int:
            place = self._places.get(name)
            return default if place is None else int(numbers[place])

        phase = get("out.phase")
        accepted = get("out.answer") == fields.ACCEPTED
        order = get("now.order") if accepted else fields.NO_ORDER
        if order == fields.ORDER_PHASE or (self.cycle is not None and phase != self.phase):
            self.phase_since = utc
        elif order == fields.ORDER_START:
            self.phase_since = self.phase_since or utc
        self.phase = phase
        self.fault_bits = get("now.faults")
        self.cycle = Cycle(
            at=utc,
            sequence=int(numbers[2]),
            pit=None if self.fault_bits else get("now.pit") / 100,
            meats=[_reading(get(f"now.{meat}", fields.ABSENT)) for meat in MEATS],
            ambient=_reading(get("now.ambient", fields.ABSENT)),
            fan=get("out.fan") / fields.FULL,
            state=_word(codes.STATES, get("out.state")),
            reason=_word(codes.REASONS, get("out.reason")),
            trip=_word(codes.TRIPS, get("out.trip")),
            low=get("out.low", DEFAULT.low) / 100,
            high=get("out.high", DEFAULT.high) / 100,
            aim=get("out.aim") / 100,
            pull=get("out.pull") / fields.FULL,
            owed=get("out.owed") / fields.FULL,
            brake=get("out.brake") / fields.FULL,
            need=get("out.need") / fields.FULL,
            phase=phase,
        )


def _reading(value: int) -> float | None:
    return None if value <= fields.ABSENT else value / 100


def _word(names: tuple[str, ...], code: int) -> str:
    return names[code] if 0 <= code < len(names) else f"code {code}"


def _is_row(row: Any) -> bool:
    return isinstance(row, list) and len(row) == fields.ROW and all(type(number) is int for number in row)

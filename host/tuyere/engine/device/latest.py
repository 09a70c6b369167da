"""The newest cycle of the board, read from record bytes by the layout in its hello."""

from __future__ import annotations

from typing import Any

from hearth.core import Out, fields
from hearth.link import messages

from tuyere import codes
from tuyere.cook.snapshot import Cycle
from tuyere.logbook import decode

MEATS = ("meat_1", "meat_2", "meat_3")
RESUMES = ("", "waiting", "refused", "resumed")
DEFAULT = Out()  # the band of a board that does not tell it
HAND_MOST: int = next(row[5] for row in fields.SETTINGS if row[0] == "hand_most")


class Readout:
    """Follows one boot of a board, record by record."""

    def __init__(self) -> None:
        self.cycle: Cycle | None = None
        self.fault_bits = 0
        self.rows: list[list[int]] = []  # the programme on the board
        self.settings: dict[str, int] = {}  # on the board, in its units
        self.learned = 0  # share of the set gain that the board learned last, 0.1 %; 0: its firmware does not learn
        self.phase = 0
        self.phase_since = 0  # UTC ms, 0 if not known
        self.state_since = 0
        self.period_ms = fields.PERIOD_MS
        self._layout: decode.Layout | None = None
        self._places: dict[str, int] = {}

    @property
    def hand_most(self) -> int:
        """For how long the board takes a fan by hand, seconds."""
        return self.settings.get("hand_most", HAND_MOST)

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
        self.settings = whole(said.get("settings"))
        self.learned = whole(said).get("learned", 0)
        period = said.get("period_ms")
        self.period_ms = period if isinstance(period, int) and period > 0 else fields.PERIOD_MS
        if fresh:
            self.cycle, self.phase_since, self.state_since = None, 0, 0

    def take(self, record: bytes, utc: int) -> None:
        """Take a record in order, with the UTC of its board time."""
        if self._layout is None or not self._layout.fits(record):
            return
        if record[0] == messages.CYCLE:
            self._cycle(self._layout.cycle.unpack(record), utc)
        elif record[0] == messages.STATE:
            _, _, memory, settings = self._layout.state_parts(record)
            self.settings = whole(settings)
            self.learned = whole(memory).get("learned", 0)
            flat, count = memory.get("rows"), memory.get("phases")
            if isinstance(flat, list) and isinstance(count, int):
                self.rows = [flat[i * fields.ROW : (i + 1) * fields.ROW] for i in range(count)]
            since = memory.get("phase_cycles")
            if isinstance(since, int) and not self.phase_since:
                self.phase_since = utc - since * self.period_ms

    def move(self, by: int) -> None:
        """The clock that dates what is here has stepped by so many ms."""
        self.phase_since += by if self.phase_since else 0
        self.state_since += by if self.state_since else 0
        if self.cycle is not None:
            self.cycle.at += by

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
        self.fault_bits = get("now.faults") | get("out.bad")
        state = word(codes.STATES, get("out.state"))
        if self.cycle is None or self.cycle.state != state:
            self.state_since = utc
        self.cycle = Cycle(
            at=utc,
            sequence=int(numbers[2]),
            pit=None if self.fault_bits else get("now.pit") / 100,
            meats=[_reading(get(f"now.{meat}", fields.ABSENT)) for meat in MEATS],
            ambient=_reading(get("now.ambient", fields.ABSENT)),
            fan=get("out.fan") / fields.FULL,
            state=state,
            reason=word(codes.REASONS, get("out.reason")),
            trip=word(codes.TRIPS, get("out.trip")),
            low=get("out.low", DEFAULT.low) / 100,
            high=get("out.high", DEFAULT.high) / 100,
            aim=get("out.aim") / 100,
            pull=get("out.pull") / fields.FULL,
            owed=get("out.owed") / fields.FULL,
            brake=get("out.brake") / fields.FULL,
            need=get("out.need") / fields.FULL,
            share=get("out.share", fields.WHOLE) / fields.WHOLE,
            lesson=word(codes.LESSONS, get("out.lesson")),
            phase=phase,
            supply=get("now.supply") / 1000 or None,
            turns=None if get("now.turns", -1) < 0 else get("now.turns"),
            fan_fault=get("now.fan_fault"),
            board=get("now.board"),
            lost=get("out.lost"),
            resume=word(RESUMES, get("out.resume")),
        )


def _reading(value: int) -> float | None:
    return None if value <= fields.ABSENT else value / 100


def word(names: tuple[str, ...], code: int) -> str:
    """The name of a code; a code that a later board has is said as a number."""
    return names[code] if 0 <= code < len(names) else f"code {code}"


def whole(values: Any) -> dict[str, int]:
    """The names whose values are whole numbers."""
    if not isinstance(values, dict):
        return {}
    return {name: value for name, value in values.items() if type(value) is int}


def _is_row(row: Any) -> bool:
    return isinstance(row, list) and len(row) == fields.ROW and all(type(number) is int for number in row)

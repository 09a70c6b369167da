"""The newest cycle of the board, read from record bytes by the layout in its hello."""

from __future__ import annotations

from typing import Any

from hearth.core import fields
from hearth.link import messages

from tuyere import codes
from tuyere.cook.cycles import cycle as cycle_of
from tuyere.cook.cycles import fault_bits, word
from tuyere.cook.snapshot import Cycle
from tuyere.logbook import decode

HAND_MOST: int = next(row[5] for row in fields.SETTINGS if row[0] == "hand_most")


class Readout:
    """Follows one boot of a board, record by record."""

    def __init__(self) -> None:
        self.cycle: Cycle | None = None
        self.fault_bits = 0
        self.rows: list[list[int]] = []  # the programme on the board
        self._unread: list[list[list[int]]] = []  # programmes that it acknowledged and no record has shown yet
        self.settings: dict[str, int] = {}  # on the board, in its units
        self.learned = 0  # share of the set gain that the board learned last, 0.1 %; 0: its firmware does not learn
        self.forgot = False  # at its last start the board could not read what it had stored of the cook
        self.phase = 0
        self.phase_since = 0  # UTC ms, 0 if not known
        self.state_since = 0
        self._unheld = False  # the phase has not run yet: its time begins with the start
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
        self._unread = []
        self.settings = whole(said.get("settings"))
        self.learned = whole(said).get("learned", 0)
        self.forgot = bool(whole(said).get("forgot", 0))
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
            cause, _, memory, settings = self._layout.state_parts(record)
            self.settings = whole(settings)
            self.learned = whole(memory).get("learned", 0)
            flat, count = memory.get("rows"), memory.get("phases")
            if isinstance(flat, list) and isinstance(count, int):
                self._read_rows([flat[i * fields.ROW : (i + 1) * fields.ROW] for i in range(count)])
            since, row = memory.get("phase_cycles"), memory.get("phase")
            if isinstance(since, int):
                began = utc - since * self.period_ms
                self._unheld = since == 0
                other = cause == messages.CHANGED and abs(began - self.phase_since) > 2 * self.period_ms
                self.phase_since = began if other or not self.phase_since else self.phase_since
            if isinstance(row, int):
                self.phase = row  # its number may change with the programme: then the phase goes on

    def programme(self, rows: list[list[int]]) -> None:
        """The board has acknowledged a programme. Records from before may still be on their way."""
        self.rows = [list(row) for row in rows]
        self._unread.append(self.rows)

    def _read_rows(self, rows: list[list[int]]) -> None:
        """The programme of a state record. It counts unless it is older than the newest acknowledged one."""
        if rows in self._unread:
            self._unread = self._unread[self._unread.index(rows) + 1 :]
        if not self._unread:
            self.rows = rows

    def move(self, by: int) -> None:
        """The clock that dates the cycle has stepped by `by` ms."""
        self.phase_since += by if self.phase_since else 0
        self.state_since += by if self.state_since else 0
        if self.cycle is not None:
            self.cycle.at += by

    def _cycle(self, numbers: tuple[Any, ...], utc: int) -> None:
        def get(name: str, default: int) -> int:
            place = self._places.get(name)
            return default if place is None else int(numbers[place])

        phase = get("out.phase", 0)
        accepted = get("out.answer", 0) == fields.ACCEPTED
        order = get("now.order", 0) if accepted else fields.NO_ORDER
        if order == fields.ORDER_PHASE or (self.cycle is not None and phase != self.phase):
            self.phase_since = utc
        elif order == fields.ORDER_START:
            self.phase_since = utc if self._unheld else self.phase_since or utc
        self._unheld = self._unheld and order != fields.ORDER_START
        self.phase = phase
        self.fault_bits = fault_bits(get)
        state = word(codes.STATES, get("out.state", 0))
        if self.cycle is None or self.cycle.state != state:
            self.state_since = utc
        self.cycle = cycle_of(get, utc, int(numbers[2]))


def whole(values: Any) -> dict[str, int]:
    """The names whose values are whole numbers."""
    if not isinstance(values, dict):
        return {}
    return {name: value for name, value in values.items() if type(value) is int}


def _is_row(row: Any) -> bool:
    return isinstance(row, list) and len(row) == fields.ROW and all(type(number) is int for number in row)

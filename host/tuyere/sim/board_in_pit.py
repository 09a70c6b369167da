"""The board's law in front of any pit, in this process: for rehearsals, and for those with a pit model of their own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from hearth.core import Memory, Now, Out, Settings, cycle, fields, programme

from tuyere.codes import REASONS, STATES

PERIOD_S = fields.PERIOD_MS / 1000.0


class BoardInPit:
    """A board that holds the default band from the first step on.

    >>> board = BoardInPit()
    >>> fan = board.step(2.0, pit_c=20.0)     # cold pit: all the air there is
    >>> fan, board.state, board.reason
    (1.0, 'climbing', 'below_band')

    `now`, `out` and `memory` are the records of the last cycle, in the units of the field table.
    """

    def __init__(self, settings: Settings | None = None, rows: Sequence[Sequence[int]] = ()) -> None:
        """rows: a programme, each row (low, high, end kind, end value) as in `hearth.core.programme`."""
        self.settings: Any = settings or Settings()
        wrong = self.settings.wrong()
        if wrong:
            raise ValueError(f"setting {wrong[0]} is {wrong[1]}; it must be within {wrong[2]}..{wrong[3]}")
        listed = [list(row) for row in rows]
        fault = programme.wrong(listed, self.settings.pit_limit - 2000)
        if fault:
            raise ValueError(f"the programme has {fault}")
        self.memory: Any = Memory()  # records make their attributes from the field table
        self.now: Any = Now()
        self.out: Any = Out()
        programme.load(self.settings, self.memory, listed, 0, 0)
        self._left = 0.0  # seconds until the next cycle
        self._told = False
        self._order = (fields.ORDER_START, 0, 0)

    @property
    def state(self) -> str:
        """How the pit stands, one of STATES."""
        return STATES[self.out.state]

    @property
    def reason(self) -> str:
        """Why the fan does what it does, one of REASONS."""
        return REASONS[self.out.reason]

    @property
    def record(self) -> dict[str, int]:
        """All numbers of the last cycle: inputs, then what was decided."""
        return {name: getattr(part, name) for part in (self.now, self.out) for name, _ in part.NAMES}

    def order(self, code: int, first: int = 0, second: int = 0) -> None:
        """Give an order of `hearth.core.fields` with the next cycle."""
        self._order = (code, first, second)

    def step(
        self, seconds: float, pit_c: float, meat_c: Sequence[float | None] | float | None = None, told: bool = False
    ) -> float:
        """Let `seconds` pass with these readings; returns the fan driven, 0..1, averaged over them.

        pit_c: degrees C, NaN for a probe that gives none. meat_c: up to three meat probes.
        told: somebody opens the lid and says so.
        """
        if not seconds > 0.0:
            raise ValueError(f"a step of {seconds} s; it must be longer than nothing")
        self._told = self._told or told
        meats = list(meat_c) if isinstance(meat_c, Sequence) else [meat_c]
        driven, passed = 0.0, 0.0
        while passed < seconds:
            if self._left <= 0.0:
                self._cycle(pit_c, meats)
                self._left += PERIOD_S
            part = min(self._left, seconds - passed)
            driven += self.out.duty / fields.FULL * part
            self._left -= part
            passed += part
        return driven / seconds

    def _cycle(self, pit_c: float, meats: list[float | None]) -> None:
        now = self.now
        now.dt = fields.PERIOD_MS
        if not math.isnan(pit_c):
            now.pit, now.faults = max(-5000, min(50000, round(pit_c * 100.0))), 0
        else:
            now.faults = fields.PROBE_OPEN
        hundredths = [
            fields.ABSENT if meat is None else max(-5000, min(30000, round(meat * 100.0))) for meat in meats[:3]
        ]
        now.meat_1, now.meat_2, now.meat_3 = (hundredths + [fields.ABSENT] * 3)[:3]
        now.order, now.first, now.second = self._order
        self._order = (fields.NO_ORDER, 0, 0)
        if self._told and now.order == fields.NO_ORDER:
            now.order, self._told = fields.ORDER_OPENED, False
        cycle(self.settings, now, self.memory, self.out)

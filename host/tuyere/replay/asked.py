"""What was asked of the board in a recorded night: orders as the law takes them, and the band of every period."""

from __future__ import annotations

from typing import Any

import numpy as np
from hearth.core import fields

from tuyere.logbook import Logbook
from tuyere.replay.in_pit import PERIOD_S
from tuyere.tune.night import Night

Array = Any  # a numpy array
TAKEN = (
    fields.ORDER_START, fields.ORDER_STOP, fields.ORDER_FAN, fields.ORDER_OPENED, fields.ORDER_ACKNOWLEDGE,
    fields.ORDER_MEAT,
)  # fmt: skip
WANTED = (
    *(("now", name) for name in ("order", "first", "second")),
    *(("out", name) for name in ("answer", "low", "high", "state")),
)
RUNS = (fields.CLIMBING, fields.HOLDING, fields.OPENED, fields.FADING)


class Asked:
    """orders: rows (period, code, first, second) in their order, one flat list. low, high: the band of every period,
    C."""

    def __init__(self, orders: list[tuple[int, int, int, int]], low: Array, high: Array) -> None:
        ordered: list[tuple[int, int, int, int]] = []
        for one in sorted(orders, key=lambda order: order[0]):
            at = max(one[0], ordered[-1][0] + 1 if ordered else 0)  # the law takes one a period
            ordered.append((at, *one[1:]))
        self.orders = ordered
        self.low, self.high = low, high

    @property
    def flat(self) -> Array:
        """For the kernel."""
        return np.array([number for order in self.orders for number in order], dtype=np.int64)

    def in_band(self, low: float, high: float) -> Asked:
        """The same with one band all night, C."""
        kept = [order for order in self.orders if order[1] != fields.ORDER_BAND]
        band = (0, fields.ORDER_BAND, round(low * 100), round(high * 100))
        return Asked([band, *kept], np.full(len(self.low), low), np.full(len(self.high), high))


def of_night(night: Night) -> Asked:
    """A night from arrays: held in its band from the beginning, and the lids that were told."""
    low, high = night.band_c
    orders = [(0, fields.ORDER_BAND, round(low * 100), round(high * 100)), (1, fields.ORDER_START, 0, 0)]
    orders += [
        (max(0, int((start - night.seconds[0]) / PERIOD_S)), fields.ORDER_OPENED, 0, 0)
        for start, _, told in night.openings
        if told
    ]
    return Asked(orders, np.full(night.cycles, low), np.full(night.cycles, high))


def of_cook(book: Logbook, cook: int, night: Night) -> Asked:
    """A cook of the logbook: every accepted order of a person, and each change of the band as an order, whoever changed
    it: a person, or the programme. One from another program has no orders; it is held in its band."""
    _, runs = book.reading.picked(cook, 0, WANTED)
    if not any(("out", "low") in run.columns for run in runs):
        return of_night(night)
    rows = sorted(
        (utc, *(run.columns.get(name, [0] * len(run.utc))[i] for name in WANTED))
        for run in runs
        for i, utc in enumerate(run.utc)
    )
    begun = rows[0][0]
    count = night.cycles
    low, high = np.full(count, night.band_c[0]), np.full(count, night.band_c[1])
    orders: list[tuple[int, int, int, int]] = []
    band: tuple[int, int] | None = None
    running = False
    for utc, order, first, second, answer, bottom, top, state in rows:
        at = min(count - 1, int((utc - begun) / 1000.0 / PERIOD_S))
        low[at:], high[at:] = bottom / 100.0, top / 100.0
        if band != (bottom, top):
            band = (bottom, top)
            orders.append((at, fields.ORDER_BAND, bottom, top))
        if answer == fields.ACCEPTED and order in TAKEN:
            orders.append((at, order, first, second))
            running = running or order == fields.ORDER_START
        elif state in RUNS and not running:  # it held the pit before the record begins, or went on by itself
            orders.append((at, fields.ORDER_START, 0, 0))
            running = True
        elif state == fields.BURNOUT and running:
            orders.append((at, fields.ORDER_STOP, 0, 0))
        running = state in RUNS or (running and state == fields.MANUAL)
    return Asked(orders, low, high)

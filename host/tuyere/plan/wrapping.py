"""When a batch is wrapped: in the window of its bark, early enough for the paper to tell before the first is felt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tuyere.plan.batches import Batch, quantile
from tuyere.plan.practice import LEAD_MIN, WRAP_MIN
from tuyere.plan.times import HOUR, MINUTE, Sleep

WRAPPED_LEAST = LEAD_MIN[0] * MINUTE  # under paper before the first is felt: the shortest time to the wanted shade
EARLY_SHARE = 0.25  # of the draws; the wrap comes WRAPPED_LEAST before the first piece is done in these
WRAP_EARLY, WRAP_LATE = 60 * MINUTE, 120 * MINUTE  # how far from its window a wrap may move for the sleep
STEP, WINDOW = 5 * MINUTE, 30 * MINUTE  # a window is never shorter


@dataclass(frozen=True)
class Wrapping:
    """The wrap of a batch, UTC ms: the time chosen; the window in which it serves; the window that its bark alone would
    have, which ends later where the first may be done soon."""

    cut: str
    at: int
    window: tuple[int, int]
    bark: tuple[int, int]

    def off(self, at: int) -> int:
        """How far a time lies outside of the window, ms; 0 inside."""
        return max(self.window[0] - at, at - self.window[1], 0)


def wrap(batch: Batch, on: int, shade_h: float, first: Sequence[float], sleep: Sleep) -> Wrapping:
    """The wrap of a batch that goes on at `on`: the middle of its window, or this long before the first piece is done
    that the paper can tell; moved to the nearest waking time that the bark forgives.

    shade_h: hours to the wanted shade; first: hours to the first piece, sorted, if it is wrapped as usual.
    """
    dark = on + round(shade_h * HOUR)
    dark -= dark % STEP
    bark = begin, end = dark - LEAD_MIN[1] * MINUTE, dark - LEAD_MIN[0] * MINUTE
    soon = quantile(first, EARLY_SHARE)
    latest = end + WRAP_LATE
    if math.isfinite(soon):
        latest = on + round(soon * HOUR) - WRAPPED_LEAST - wrap_takes(batch)
        latest -= latest % STEP
    if latest < end:  # the window ends where the finish may begin
        begin, end = min(begin, latest - WINDOW), latest
    best = min(sum(bark) // 2, end)
    best -= best % STEP
    for off in range(0, WRAP_LATE + WRAP_EARLY, STEP):
        for at in (best - off, best + off):
            if begin - WRAP_EARLY <= at <= min(end + WRAP_LATE, latest) and sleep.free(at, at + 20 * MINUTE):
                return Wrapping(batch.cut, at, (begin, end), bark)
    return Wrapping(batch.cut, best, (begin, end), bark)


def wrap_takes(batch: Batch) -> int:
    """The hands' time for the wrap of a batch, ms."""
    return len(batch.pieces) * WRAP_MIN * MINUTE

"""The positions of an axis's ticks. Pure numbers."""

from __future__ import annotations

from tuyere.cook import say

MINUTE = 60_000
TIME_STEPS = tuple(m * MINUTE for m in (5, 10, 15, 30, 60, 120, 180, 240, 360, 720, 1440))
DEGREE_STEPS = {"F": (5, 10, 25, 50, 100, 200), "C": (2, 5, 10, 20, 50, 100)}


def degree_step(span: float, rows: int, units: str) -> int:
    """A round step in degrees of `units` that leaves about three rows between labels."""
    most = max(2, rows // 3)
    for step in DEGREE_STEPS[units]:
        if span / step <= most:
            return step
    return DEGREE_STEPS[units][-1]


def time_ticks(start: int, end: int, columns: int, apart: int = 9) -> list[tuple[int, int]]:
    """Round local times in start..end as (column, ms), at least `apart` columns from each other."""
    span = end - start
    step = next((s for s in TIME_STEPS if s / span * columns >= apart), TIME_STEPS[-1])
    offset = say.local(start).astimezone(say.local(start).tzinfo).utcoffset()
    local = int(offset.total_seconds() * 1000) if offset else 0
    at = -(-(start + local) // step) * step - local
    ticks = []
    while at < end:
        ticks.append((int((at - start) * columns / span), at))
        at += step
    return ticks

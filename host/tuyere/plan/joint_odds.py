"""The odds that pieces of one pit are done by a time, together: SHARED of what their finishes differ by is the pit's.

One normal number stands for the pit; given that, each piece is its own. The odds are the mean over its values.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from statistics import NormalDist, fmean

from tuyere.forecast.exchange import Range
from tuyere.plan.draws import SHARED

NORMAL = NormalDist()
Z10 = NORMAL.inv_cdf(0.9)
PITS = tuple(NORMAL.inv_cdf((i + 0.5) / 64.0) for i in range(64))  # equally likely


def chance(finish: Range | None, by: int) -> float:
    """The odds of a finish by then: half a normal curve on each side of the middle, through its 10 and 90 %."""
    if finish is None:
        return 0.0
    side = finish.likely - finish.early if by < finish.likely else finish.late - finish.likely
    return NORMAL.cdf((by - finish.likely) / max(side / Z10, 1.0))


def all_done(odds: Sequence[float]) -> float:
    """All of them, from the odds of each."""
    return _over_pits(lambda pit: math.prod(_given(one, pit) for one in odds))


def waves(now: Sequence[float], later: Sequence[float], first: int) -> float:
    """At least `first` of them by a time, and all by a later one, from the odds of each by both."""
    return _over_pits(lambda pit: _two(now, later, first, pit))


def _over_pits(odds: Callable[[float], float]) -> float:
    return min(fmean(odds(pit) for pit in PITS), 1.0)


def _given(odds: float, pit: float) -> float:
    """The odds of one piece in a pit of this pace."""
    if not 0.0 < odds < 1.0:
        return odds
    return NORMAL.cdf((NORMAL.inv_cdf(odds) + SHARED**0.5 * pit) / (1.0 - SHARED) ** 0.5)


def _two(now: Sequence[float], later: Sequence[float], first: int, pit: float) -> float:
    done = {0: 1.0}  # number of pieces done by the first time, the others by the second -> odds
    for early, late in zip(now, later, strict=True):
        a, b = _given(early, pit), _given(max(late, early), pit)
        grown: dict[int, float] = {}
        for count, odds in done.items():
            grown[count + 1] = grown.get(count + 1, 0.0) + odds * a
            grown[count] = grown.get(count, 0.0) + odds * (b - a)
        done = grown
    return sum(odds for count, odds in done.items() if count >= first)

"""What the user's own earlier nights make of the next: beliefs moved by their pace, and what odds each has.

The unit is the cook. Its pace under a belief is the mean logarithm of the hours that its pieces took over those that
the belief foretells for such pieces in such a pit, wrapped as they were. Shrinkage of a normal mean: moved by
n / (WEIGHT + n) of the mean of n cooks. WEIGHT is the spread of a user's cooks over that between users, squared; it and
SPREAD are judged, no source.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tuyere.forecast import clouds, prior
from tuyere.forecast.clouds import Believed
from tuyere.forecast.exchange import Earlier
from tuyere.forecast.prior import Belief

WEIGHT = 4.0  # of what is usual, in cooks
SPREAD = 0.25  # sd of the logarithm of a cook's hours over those foretold
TRUSTED = (0.5, 2.0)  # a pace outside of this is a slip of the notes
DRAWS = 41


Before = Callable[..., list[float]]  # `tuyere.forecast.finish.before`


def usual(night: Earlier, before: Before, belief: Belief = prior.SLOW) -> float:
    """The hours that such a night takes by a belief, the middle of its draws. ValueError for no piece of meat."""
    hours = before(
        night.piece, night.pit_c, pit_sd=0.0, altitude=night.altitude, wrap_h=night.wrap_h, members=DRAWS,
        belief=belief,
    )  # fmt: skip
    return hours[len(hours) // 2]


def paces(nights: Sequence[Earlier], foretold: Callable[[Earlier], float]) -> list[float]:
    """The pace of each cook: its pieces' hours over those foretold, their geometric mean. Slips are left out."""
    by_cook: dict[int, list[float]] = {}
    for night in nights:
        try:
            hours = foretold(night) if night.hours else math.inf
        except ValueError:  # a piece of an unknown cut teaches nothing
            continue
        ratio = night.hours / hours if hours else 0.0
        if TRUSTED[0] <= ratio <= TRUSTED[1]:
            by_cook.setdefault(night.cook, []).append(ratio)
    return [statistics.geometric_mean(ratios) for ratios in by_cook.values()]


@dataclass
class Own:
    """Keeps what the same nights gave: each is cooked again under each belief."""

    before: Before
    _of: Sequence[Earlier] = ()
    _found: Sequence[Believed] = clouds.USUAL

    def beliefs(self, nights: Sequence[Earlier]) -> Sequence[Believed]:
        """Those of `clouds.USUAL`, moved by the user's own nights; unmoved without any."""
        if list(nights) != list(self._of):
            self._of, self._found = list(nights), [self._moved(one, nights) for one in clouds.USUAL]
        return self._found

    def _moved(self, one: Believed, nights: Sequence[Earlier]) -> Believed:
        off = [math.log(pace) for pace in paces(nights, lambda night: usual(night, self.before, one.belief))]
        if not off:
            return one
        told = -0.5 * sum(x * x for x in off) / SPREAD**2
        return Believed(one.belief.slower(math.exp(sum(off) / (WEIGHT + len(off)))), one.odds + told)

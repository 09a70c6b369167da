"""A cooker from its nights: an ensemble of pits that, under the recorded fan, read what was read.

Each pit is led along the night by an observer of the one disturbance that the coal itself makes, how evenly it burns
(`led.follow`); what explains a night is a pit that needs little lead and leaves little unexplained. Until the fire has
caught the model's heat is moved along and nothing need be explained; from there on the climb must be, since under a
full fan it shows best what the fan does. The ensemble is found by iterated smoothing, multiple data assimilation
(Emerick and Reynolds, Computers & Geosciences 55, 2013, 3-15): many draws of all kinds are run through the night; those
that explain it best are moved, some times over, by what their differences say of the rest. The rest and the lead are
coloured, first order; they are whitened, the rest with a time constant that is taken from itself (Cochrane and Orcutt,
JASA 44, 1949). The fan was moved by the reading (Ljung, System Identification, 1999, chapter 13: the direct method):
where the disturbance is not of the modelled kind, that bends the answer to the fan. `in_words.fits` looks for it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tuyere.tune import candidates, stepped, worlds
from tuyere.tune.night import Night
from tuyere.tune.per_minute import EVERY, MINUTE_S, minutes

Array = Any  # a numpy array of float64
ROUNDS = 6
TRUST = 4.0  # data that count as one, since the model is not the pit
LEAST_C, LEAST_STEP_C = 0.5, 0.1  # no rest is taken for smaller: its size, and from minute to minute
AIM = 0.1  # of the logarithm of a lift, in each round
NUDGE = 0.5  # while the fire catches: share a minute
CAUGHT_C = 45.0  # this far below the band it has caught: how a full fan lifts the pit from there on must be explained
PULL, RESET_S = 0.005, 3000.0  # of the observer: share of the fire a C, s; slower than any swing of a held pit
LEAD, LEAD_S = 0.08, 1200.0  # usual lead, share of the fire, and how long it lasts: wind and an uneven bed
LEAD_LEFT = float(np.exp(-MINUTE_S / LEAD_S))
LONGEST_MEMORY = 0.995  # of the rest, from minute to minute
AFTER_S = 360.0  # this long after a lid the model's lid counts less
LID_TIMES = 4.0
BEST = 4  # the best quarter of the members says how the rest behaves
CLIP_C = 40.0  # a fire that goes out in the model must not pull all others
Done = Callable[[int], None]


@dataclass
class Data:
    """A night as the smoother takes it, by minutes: C (NaN: none), and how much larger the rest may be there."""

    pit: Array
    loose: Array
    until: int  # minutes from which on it is not fitted
    climb: int  # minutes in which the fire catches, which the model follows and need not explain
    middle: int | None = None  # the minute in which the answer to the fan is looked at; None: the band was never held

    @property
    def there(self) -> Array:
        """Where there is a datum."""
        minutes = np.arange(len(self.pit))
        return np.isfinite(self.pit) & (minutes < self.until) & (minutes >= self.climb)

    @property
    def nudge(self) -> Array:
        """Share of a difference that the model's heat is moved by: while the fire catches."""
        return np.where(np.arange(len(self.pit)) < self.climb, NUDGE, 0.0)

    def rest(self, path: Array) -> Array:
        """What a path leaves unexplained of what is fitted, C; NaN elsewhere."""
        return np.where(self.there, self.pit - path, np.nan)

    @property
    def fed(self) -> Array:
        """What the observer is led by: NaN where it holds, below -900 from where it runs freely."""
        climbs = np.arange(len(self.pit)) < self.climb
        fed = np.where((self.there | climbs) & (self.loose == 1.0), self.pit, np.nan)
        fed[self.until :] = -999.0
        return fed


def data(night: Night, share: float = 1.0) -> Data:
    """A night's minutes; only the first `share` of them is fitted."""
    count = night.cycles // EVERY
    means = minutes(night.pit_cycles())
    ends = night.seconds[0] + (np.arange(count) + 1.0) * MINUTE_S
    loose = np.ones(count)
    for start, length, _ in night.openings:
        loose[(ends > start) & (ends < start + length + AFTER_S + MINUTE_S)] = LID_TIMES
    caught = np.flatnonzero(means >= night.band_c[0] - CAUGHT_C)
    climb = int(caught[0]) if len(caught) else 0
    return Data(means, loose, int(share * count), climb, _middle(means[: int(share * count)], night.band_c))


def _middle(pit: Array, band_c: tuple[float, float]) -> int | None:
    """A minute in the middle of what was held."""
    inside = np.flatnonzero(np.isfinite(pit) & (pit >= band_c[0] - 2.0) & (pit <= band_c[1] + 8.0))
    least = int(stepped.HELD_S / MINUTE_S) + 1
    return max(least, int(inside[len(inside) // 2])) if len(inside) >= 2 * least else None


@dataclass
class Paths:
    """What all members make of one night: what their probes read, C, and what led them; a row a member.

    answers: how each answers its fan in the middle of the night, a row: the logarithm of its lift in C and, where it
    was asked for, of its delay in s; None: the band was never held.
    """

    pit: Array
    lead: Array
    answers: Array | None = None

    def pick(self, chosen: Array) -> Paths:
        """Some members."""
        return Paths(self.pit[chosen], self.lead[chosen], None if self.answers is None else self.answers[chosen])


@dataclass
class Rest:
    """How the unexplained rest behaves: its size and its step from minute to minute, C."""

    size: float
    step: float

    def white(self, paths: Paths, night: Data) -> Array:
        """Rest and lead of some members, whitened: of unit size where the members are the pit and its night usual."""
        memory = float(min(LONGEST_MEMORY, np.sqrt(max(0.0, 1.0 - (self.step / self.size) ** 2))))
        there = night.there
        rest = np.clip(np.where(there, night.pit - paths.pit, 0.0), -CLIP_C, CLIP_C)
        white = whitened(rest, there, memory, self.size, self.step) / night.loose
        calm = there & (night.loose == 1.0)
        lead = whitened(paths.lead, there, LEAD_LEFT, LEAD, LEAD * np.sqrt(1.0 - LEAD_LEFT**2))
        return np.concatenate([white[:, there], lead[:, calm]], axis=1)


def whitened(rest: Array, there: Array, memory: float, size: float, step: float) -> Array:
    """Each minute less what the one before lets expect, over its usual size."""
    before = np.concatenate([[False], there[:-1]])
    moved = np.where(before, rest - memory * np.roll(rest, 1, axis=1), rest)
    return moved / np.where(before, step, size)


def measure(paths: Sequence[Paths], nights: Sequence[Data]) -> Rest:
    """The rest of the quarter of the members that leave the least: robust, since lids and dying fires are in it."""
    squares = unexplained(paths, nights)
    best = np.argsort(squares)[: max(1, len(squares) // BEST)]
    sizes, steps = [], []
    for path, night in zip(paths, nights, strict=True):
        rest = night.pit - path.pit[best]
        calm = night.there & (night.loose == 1.0)
        sizes.append(np.abs(rest[:, calm]).ravel())
        steps.append(np.abs(np.diff(rest, axis=1)[:, calm[1:] & calm[:-1]]).ravel())
    size = max(LEAST_C, 1.4826 * float(np.median(np.concatenate(sizes))))
    step = max(LEAST_STEP_C, 1.4826 * float(np.median(np.concatenate(steps))))
    return Rest(size, min(step, size))


def unexplained(paths: Sequence[Paths], nights: Sequence[Data]) -> Array:
    """Mean square of what each member leaves, summed over the nights."""
    squares = [np.nanmean(one.rest(path.pit) ** 2, axis=1) for path, one in zip(paths, nights, strict=True)]
    return np.sum(squares, axis=0)


def run(
    drawn: candidates.Drawn,
    nights: Sequence[Night],
    fitted: Sequence[Data],
    told: Done = lambda done: None,
    late: bool = False,
) -> list[Paths]:
    """All members through all nights under the recorded fans, led along what is fitted and free after it; late: their
    delay is looked at, too."""
    follow = worlds.kernel().follow
    fans = [np.ascontiguousarray(night.fan_cycles()) for night in nights]
    fed, nudges = [one.fed for one in fitted], [one.nudge for one in fitted]

    middles = [one.middle for one in fitted]
    wide = int(stepped.HELD_S / MINUTE_S)

    def one(job: tuple[int, int]) -> tuple[Array, Array, list[float]]:
        i, k = job
        made = worlds.world(nights[k], drawn.s[i], drawn.p[i], drawn.rows[i], k)
        found, lead, carry = np.zeros(len(fed[k])), np.zeros(len(fed[k])), np.zeros(2)
        answer, look = [0.0], middles[k] or 0
        for a, b in ((0, look), (look, len(fed[k]))):
            if b > a:
                fan = fans[k][a * EVERY : b * EVERY]
                parts = (fed[k][a:b], nudges[k][a:b])
                follow(*made, fan, *parts, PULL, RESET_S, LEAD_LEFT, EVERY, found[a:b], lead[a:b], carry)
            if b == look > 0:
                level = float(np.mean(fans[k][(look - wide) * EVERY : look * EVERY]))
                answer = stepped.logs(made, level, float(lead[look - 1]), nights[k].settings, late)
        return np.nan_to_num(found, nan=0.0, posinf=1000.0, neginf=-50.0), lead, answer

    size = len(drawn.s)
    made = worlds.each(one, [(i, k) for k in range(len(nights)) for i in range(size)], told)
    ranges = [made[k * size : (k + 1) * size] for k in range(len(nights))]
    return [
        Paths(
            np.array([a for a, _, _ in part]), np.array([b for _, b, _ in part]),
            np.array([c for _, _, c in part]) if middle else None,
        )
        for part, middle in zip(ranges, middles, strict=True)
    ]  # fmt: skip


def rms(rests: Sequence[Array]) -> float:
    """Root mean square of what is there."""
    every = np.concatenate([rest[np.isfinite(rest)] for rest in rests])
    return float(np.sqrt(np.mean(every**2))) if len(every) else 0.0


def misfit(paths: Sequence[Paths], nights: Sequence[Data], rest: Rest) -> Array:
    """Sum of squares of what is whitened, one number a member."""
    every = [np.sum(rest.white(path, night) ** 2, axis=1) for path, night in zip(paths, nights, strict=True)]
    return np.sum(every, axis=0)


def tempered(cost: Array, count: float) -> Array:
    """Weights exp(-cost / 2 T), with the least T >= 1 at which they count as at least `count` equal ones."""
    low, high = 0.0, 20.0
    weights = np.ones(len(cost))
    for _ in range(40):
        middle = (low + high) / 2.0
        weights = np.exp(-0.5 * (cost - cost.min()) / np.exp(middle))
        weights /= weights.sum()
        if 1.0 / np.sum(weights**2) < count:
            low = middle
        else:
            high = middle
    return weights


def answered(paths: Sequence[Paths]) -> Array | None:
    """How each member answers its fan, a row: the mean over the nights that show it; None where none does."""
    every = [path.answers for path in paths if path.answers is not None]
    return np.mean(every, axis=0) if every else None


def moved(
    rows: Array, paths: Sequence[Paths], nights: Sequence[Data], rest: Rest, random: Any, aims: Array | None = None
) -> Array:
    """One round: each row moved by what the ensemble's own differences say of its rest, with noise on the data.

    With X, Y the rows' and predictions' differences from their means, over sqrt(members - 1), the step is
    X Y' (Y Y' + a R)^-1 (rest + sqrt(a R) noise), R = TRUST, a = ROUNDS; solved in the ensemble's own space. aims: what
    the logarithm of each member's lift should become, known to AIM; it carries its spread itself and needs no noise.
    """
    white = np.concatenate([rest.white(path, night) for path, night in zip(paths, nights, strict=True)], axis=1)
    count = len(rows)
    loose = np.sqrt(ROUNDS * TRUST)
    x = (rows - rows.mean(axis=0)) / np.sqrt(count - 1.0)
    y = -(white - white.mean(axis=0)) / np.sqrt(count - 1.0) / loose  # the rest falls where the prediction rises
    noise = random.standard_normal(white.shape)
    asked = white / loose + noise - noise.mean(axis=0)
    now = answered(paths)
    if aims is not None and now is not None:
        lifts = now[:, 0]
        y = np.column_stack([y, (lifts - lifts.mean()) / np.sqrt(count - 1.0) / AIM])
        asked = np.column_stack([asked, (aims - lifts) / AIM])
    # X Y' (Y Y' + I)^-1 = X (Y' Y + I)^-1 Y', with members as rows of y
    inner = np.linalg.solve(y @ y.T + np.eye(count), y @ asked.T)  # members x members
    return rows + inner.T @ x

"""How strongly a cooker's fan drives it, from the marks of its nights.

What the marks mean is learnt from rehearsed cookers that have the night's own settings: cookers of all kinds, spread
widely, are held by the board's law in front of their pits; each night's marks and each pit's true lift (what a tenth
more fan does in ten minutes) go into a ridge regression (approximate Bayesian computation by regression: Beaumont,
Zhang and Balding, Genetics 162, 2002, 2025-2035). Nothing but the fit is taken from the model, so no noise has to be
modelled right.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Any

import numpy as np
from hearth.core import Settings, fields

from tuyere.sim import kernel
from tuyere.sim import pit_slots as at
from tuyere.tune import candidates, marks, rehearsed, stepped, tried, worlds
from tuyere.tune.cooker import Member
from tuyere.tune.going import Going
from tuyere.tune.marks import NAMES
from tuyere.tune.night import FELT_S, Night, lids_of, stretches

Array = Any  # a numpy array of float64
COOKERS = 240
LOOK_H = 5.0  # when a rehearsed pit's lift is measured
LEAST_H, MOST_H = 6.0, 14.0
INSIDE = 0.7  # of the hour before: a cooker that the board does not hold teaches nothing
RIDGE = 30.0
LIKE, PULL = 1.2, 10.0  # with an experiment: the spread of the weights, and the ridge. Chosen on even seeds
LEAST_LIKE = 60  # cookers with an experiment; fewer teach nothing of it
FAR = 3.0  # spreads that a mark counts at most
FOLDS = 5
SHARE = 0.75  # of the spread left over; rehearsed cookers differ more than real ones. Chosen on even seeds
LEAST_SD = 0.2
HALF_HOUR_S = 1800.0
GOLDEN = 0.6180339887498949
NIGHTS_KEPT = 8  # rehearsed sets, each of some kB


@dataclass(frozen=True)
class Strength:
    """Logarithm of the lift in C: middle and standard deviation. shown: 1 the marks tell it, 0 no more than before.

    delay: the same of the delay in s, None without an experiment. together: how the errors of both go together, -1..1.
    """

    mean: float
    sd: float
    shown: float
    delay: Strength | None = None
    together: float = 0.0

    @property
    def lift_c(self) -> tuple[float, float, float]:
        """10, 50 and 90 %, C."""
        return self._range()

    @property
    def delay_s(self) -> tuple[float, float, float] | None:
        """10, 50 and 90 %, s; None without an experiment."""
        return None if self.delay is None else self.delay._range()

    def _range(self) -> tuple[float, float, float]:
        low, middle, high = (NormalDist(self.mean, self.sd).inv_cdf(share) for share in (0.1, 0.5, 0.9))
        return math.exp(low), math.exp(middle), math.exp(high)

    def aims(self, count: int) -> Array:
        """`count` rows spread as this is: the middles of equal parts. One column, the lift; with a delay two."""
        ends = _ends(count)
        if self.delay is None:
            return (self.mean + self.sd * ends)[:, None]
        apart = ends[np.argsort(np.argsort([GOLDEN * i % 1.0 for i in range(count)]))]  # evenly, for each part of lifts
        late = self.together * ends + math.sqrt(1.0 - self.together**2) * apart
        return np.column_stack([self.mean + self.sd * ends, self.delay.mean + self.delay.sd * late])

    def aimed(self, lifts: Array) -> Array:
        """The lifts of `aims` for members that have `lifts` now, so that each keeps its place among them."""
        found: Array = self.mean + self.sd * _ends(len(lifts))[np.argsort(np.argsort(lifts))]
        return found

    def apart(self, one: Array, other: Array) -> Array:
        """How far rows are from each other, in spreads."""
        sds = np.array([self.sd] if self.delay is None else [self.sd, self.delay.sd])
        return np.sqrt(np.sum(((one - other) / sds) ** 2, axis=1))

    @property
    def means(self) -> Array:
        """The middle of it as a row."""
        return np.array([self.mean] if self.delay is None else [self.mean, self.delay.mean])


def _ends(count: int) -> Array:
    """The middles of equal parts of the normal distribution."""
    return np.array([NormalDist().inv_cdf((i + 0.5) / count) for i in range(count)])


@dataclass(frozen=True)
class Taught:
    """Rehearsed cookers: marks, a row each, and the logarithms of their lift and of their delay."""

    marks: Array
    lifts: Array
    delays: Array

    def tell(self, seen: Array) -> Strength:
        """What the marks of a night tell. Those that it does not have are left out. Where it has an experiment, so are
        the cookers without one, and those count most whose experiment is explained as well: how far off such a fit is
        depends on that (local regression: Beaumont and others, as above)."""
        own = len(NAMES) - len(tried.NAMES)
        like = np.isfinite(self.marks[:, -1])
        tries = bool(np.isfinite(seen[own:]).all()) and int(like.sum()) >= LEAST_LIKE
        like = like if tries else np.full(len(self.marks), True)
        use = np.isfinite(seen) & (np.isfinite(self.marks[like]).mean(axis=0) > 0.5)
        use[own:] = tries
        rows, lifts = self.marks[like][:, use], self.lifts[like]
        rows = np.where(np.isfinite(rows), rows, np.nanmedian(rows, axis=0))
        middle, wide = rows.mean(axis=0), rows.std(axis=0) + 1e-9
        rows = np.clip((rows - middle) / wide, -FAR, FAR)
        one = np.clip((seen[use] - middle) / wide, -FAR, FAR)
        if not tries:
            return _tell(rows, lifts, one, np.ones(len(rows)), RIDGE)[0]
        rest = own + tried.NAMES.index("tried rest")
        weights = np.exp(-0.5 * ((self.marks[like][:, rest] - seen[rest]) / LIKE) ** 2)
        lift, off = _tell(rows, lifts, one, weights, PULL)
        delay, late = _tell(rows, self.delays[like], one, weights, PULL)
        both = float(np.sum(weights * off * late) / np.sqrt(np.sum(weights * off**2) * np.sum(weights * late**2)))
        return replace(lift, delay=delay, together=both)


def _tell(rows: Array, lifts: Array, one: Array, weights: Array, pull: float) -> tuple[Strength, Array]:
    """(what one row tells, what is left over of every other when it is told by the rest)."""
    fold, left = np.arange(len(rows)) % FOLDS, np.zeros(len(rows))
    for part in range(FOLDS):
        out = fold == part
        left[out] = lifts[out] - _told(_line(rows[~out], lifts[~out], weights[~out], pull), rows[out])
    spread = float(np.sqrt(np.average(left**2, weights=weights)))
    mean = float(_told(_line(rows, lifts, weights, pull), one[None, :])[0])
    return Strength(mean, max(LEAST_SD, SHARE * spread), 1.0 - spread / float(lifts.std())), left


def _line(rows: Array, lifts: Array, weights: Array, ridge: float) -> Array:
    """Ridge regression; the last number is the constant, which nothing pulls."""
    full = np.concatenate([rows, np.ones((len(rows), 1))], axis=1)
    pull = ridge * np.eye(full.shape[1])
    pull[-1, -1] = 0.0
    weighted = full * weights[:, None]
    return np.linalg.solve(weighted.T @ full + pull, weighted.T @ lifts)


def _told(line: Array, rows: Array) -> Array:
    return rows @ line[:-1] + line[-1]


_taught: dict[tuple[Any, ...], Taught] = {}


def of_nights(
    nights: Sequence[Night], seed: int = 1, kind: str = "", told: Callable[[int], None] = lambda done: None
) -> Strength | None:
    """What several nights of one cooker tell together; None where none of them held its band for long. Where some have
    an experiment, only those count: they tell far more.

    Their errors are mostly the same (the cooker is none of those that were rehearsed), so more nights make the
    middle better and not the range.
    """
    seen = [(night, marks.of(night)) for night in nights]
    every = [taught(night, seed, kind, told).tell(one) for night, one in seen if one is not None]
    tries = [one for one in every if one.delay is not None]
    if not tries:
        return _mean(every) if every else None
    delay = _mean([one.delay for one in tries if one.delay is not None])
    return replace(_mean(tries), delay=delay, together=float(np.mean([one.together for one in tries])))


def _mean(every: Sequence[Strength]) -> Strength:
    mean, sd, shown = (float(np.mean([getattr(one, name) for one in every])) for name in ("mean", "sd", "shown"))
    return Strength(mean, sd, shown)


def taught(night: Night, seed: int = 1, kind: str = "", told: Callable[[int], None] = lambda done: None) -> Taught:
    """Cookers rehearsed with a night's own settings, as long to half an hour, and with its experiment; kept for nights
    that are alike."""
    settings = night.settings or Settings()
    hours = min(MOST_H, max(LEAST_H, math.ceil(night.length_s / HALF_HOUR_S) / 2.0))
    step = tried.step(night) if night.tried_s >= tried.LEAST_S else 0.0
    key = (tuple(settings.values()), hours, seed, kind, step)
    if key not in _taught:
        while len(_taught) >= NIGHTS_KEPT:
            del _taught[next(iter(_taught))]
        _taught[key] = _rehearsed(settings, hours, seed, kind, told, step)
    told(COOKERS)
    return _taught[key]


def _rehearsed(
    settings: Settings, hours: float, seed: int, kind: str, told: Callable[[int], None], step: float
) -> Taught:
    drawn = candidates.draw(COOKERS, 1, seed + 1000, kind)

    def one(i: int) -> tuple[Array, float, float] | None:
        member = Member(drawn.s[i], drawn.p[i], drawn.rows[i], 1.0, drawn.kinds[i])
        return rehearse(member, seed * 10000 + i, settings, hours, step)

    every = [one for one in worlds.each(one, range(COOKERS), told) if one is not None]
    return Taught(*(np.array([one[i] for one in every]) for i in range(3)))


def rehearse(
    member: Member, seed: int, settings: Settings, hours: float, step: float = 0.0
) -> tuple[Array, float, float] | None:
    """(marks of a member's night to come, logarithm of its lift after LOOK_H, and of its delay, 0 without a step); None
    where the board did not hold it. step: of an experiment that begins then, share of the fan; 0: none."""
    one: Any = settings
    band = one.band_low / 100.0, one.band_high / 100.0
    world = rehearsed.lit(member, seed, hours, band[0])
    outside = np.array(world[5][at.W_AMBIENT :: at.WEATHER])
    going = Going(settings, world)
    going.on(LOOK_H * rehearsed.HOUR_S)
    last = going.traces[0][-int(rehearsed.HOUR_S / kernel.PERIOD_S) :]
    near = (last[:, kernel.T_PIT] > band[0] - 2.0) & (last[:, kernel.T_PIT] < band[1] + 3.0)
    if near.mean() < INSIDE:
        return None
    level = float(last[-int(stepped.HELD_S / kernel.PERIOD_S) :, kernel.T_DUTY].mean())
    lift, *late = stepped.logs(world, level, 0.0, settings, step > 0.0)
    if lift <= np.log(stepped.LEAST_LIFT_C):
        return None  # no fan worth the name
    if step:
        going.experiment(step, hours * rehearsed.HOUR_S)
    going.on(hours * rehearsed.HOUR_S - going.seconds)
    whole = np.concatenate(going.traces)
    seconds = np.arange(len(whole)) * kernel.PERIOD_S
    lids = [
        (start - (0.0 if told else FELT_S), length + (0.0 if told else FELT_S), told)
        for start, length, told in lids_of(seconds, whole[:, kernel.T_STATE], whole[:, kernel.T_REASON])
    ]
    air = outside[np.minimum((seconds / at.WEATHER_S).astype(int), len(outside) - 1)]
    night = Night(
        seconds, whole[:, kernel.T_PIT], whole[:, kernel.T_DUTY], lids, outside_c=air, band_c=band,
        tried=stretches(seconds, whole[:, kernel.T_REASON] == fields.EXPERIMENTING),
    )  # fmt: skip
    seen = marks.of(night)
    if seen is None:
        return None
    return seen, lift, late[0] if late else 0.0

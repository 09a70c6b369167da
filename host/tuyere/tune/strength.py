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
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np
from hearth.core import Memory, Now, Out, Settings, fields

from tuyere.meat import piece_slots as piece
from tuyere.sim import compiled, kernel
from tuyere.sim import pit_slots as at
from tuyere.tune import candidates, marks, rehearsed, stepped, worlds
from tuyere.tune.cooker import Member
from tuyere.tune.night import FELT_S, Night, lids_of

Array = Any  # a numpy array of float64
COOKERS = 240
LOOK_H = 5.0  # when a rehearsed pit's lift is measured
LEAST_H, MOST_H = 6.0, 14.0
INSIDE = 0.7  # of the hour before: a cooker that the board does not hold teaches nothing
RIDGE = 30.0
FAR = 3.0  # spreads that a mark counts at most
FOLDS = 5
SHARE = 0.75  # of the spread left over; rehearsed cookers differ more than real ones. Chosen on even seeds
LEAST_SD = 0.2
HALF_HOUR_S = 1800.0
NIGHTS_KEPT = 8  # rehearsed sets, each of some kB


@dataclass(frozen=True)
class Strength:
    """Logarithm of the lift in C: middle and standard deviation. shown: 1 the marks tell it, 0 no more than before."""

    mean: float
    sd: float
    shown: float

    @property
    def lift_c(self) -> tuple[float, float, float]:
        """10, 50 and 90 %, C."""
        low, middle, high = (NormalDist(self.mean, self.sd).inv_cdf(share) for share in (0.1, 0.5, 0.9))
        return math.exp(low), math.exp(middle), math.exp(high)

    def aims(self, count: int) -> Array:
        """`count` numbers spread as this is: the middles of equal parts."""
        parts = NormalDist(self.mean, self.sd)
        return np.array([parts.inv_cdf((i + 0.5) / count) for i in range(count)])


@dataclass(frozen=True)
class Taught:
    """Rehearsed cookers: marks, a row each, and the logarithm of their lift."""

    marks: Array
    lifts: Array

    def tell(self, seen: Array) -> Strength:
        """What the marks of a night tell. Those that it does not have are left out."""
        use = np.isfinite(seen) & (np.isfinite(self.marks).mean(axis=0) > 0.5)
        rows = self.marks[:, use]
        rows = np.where(np.isfinite(rows), rows, np.nanmedian(rows, axis=0))
        middle, wide = rows.mean(axis=0), rows.std(axis=0) + 1e-9
        rows = np.clip((rows - middle) / wide, -FAR, FAR)
        fold, left = np.arange(len(rows)) % FOLDS, np.zeros(len(rows))
        for one in range(FOLDS):
            out = fold == one
            left[out] = self.lifts[out] - _told(_line(rows[~out], self.lifts[~out]), rows[out])
        spread = float(np.sqrt(np.mean(left**2)))
        one = np.clip((seen[use] - middle) / wide, -FAR, FAR)[None, :]
        mean = float(_told(_line(rows, self.lifts), one)[0])
        return Strength(mean, max(LEAST_SD, SHARE * spread), 1.0 - spread / float(self.lifts.std()))


def _line(rows: Array, lifts: Array) -> Array:
    """Ridge regression; the last number is the constant, which nothing pulls."""
    full = np.concatenate([rows, np.ones((len(rows), 1))], axis=1)
    pull = RIDGE * np.eye(full.shape[1])
    pull[-1, -1] = 0.0
    return np.linalg.solve(full.T @ full + pull, full.T @ lifts)


def _told(line: Array, rows: Array) -> Array:
    return rows @ line[:-1] + line[-1]


_taught: dict[tuple[Any, ...], Taught] = {}


def of_nights(
    nights: Sequence[Night], seed: int = 1, kind: str = "", told: Callable[[int], None] = lambda done: None
) -> Strength | None:
    """What several nights of one cooker tell together; None where none of them held its band for long.

    Their errors are mostly the same (the cooker is none of those that were rehearsed), so more nights make the
    middle better and not the range.
    """
    seen = [(night, marks.of(night)) for night in nights]
    every = [taught(night, seed, kind, told).tell(one) for night, one in seen if one is not None]
    if not every:
        return None
    return Strength(*(float(np.mean([getattr(one, name) for one in every])) for name in ("mean", "sd", "shown")))


def taught(night: Night, seed: int = 1, kind: str = "", told: Callable[[int], None] = lambda done: None) -> Taught:
    """Cookers rehearsed with a night's own settings, and as long to half an hour; kept for nights that are alike."""
    settings = night.settings or Settings()
    hours = min(MOST_H, max(LEAST_H, math.ceil(night.length_s / HALF_HOUR_S) / 2.0))
    key = (tuple(settings.values()), hours, seed, kind)
    if key not in _taught:
        while len(_taught) >= NIGHTS_KEPT:
            del _taught[next(iter(_taught))]
        _taught[key] = _rehearsed(settings, hours, seed, kind, told)
    told(COOKERS)
    return _taught[key]


def _rehearsed(settings: Settings, hours: float, seed: int, kind: str, told: Callable[[int], None]) -> Taught:
    drawn = candidates.draw(COOKERS, 1, seed + 1000, kind)

    def one(i: int) -> tuple[Array, float] | None:
        member = Member(drawn.s[i], drawn.p[i], drawn.rows[i], 1.0, drawn.kinds[i])
        return rehearse(member, seed * 10000 + i, settings, hours)

    every = [one for one in worlds.each(one, range(COOKERS), told) if one is not None]
    return Taught(np.array([one for one, _ in every]), np.array([lift for _, lift in every]))


def rehearse(member: Member, seed: int, settings: Settings, hours: float) -> tuple[Array, float] | None:
    """(marks of a member's night to come, logarithm of its lift after LOOK_H); None where the board did not hold it."""
    one: Any = settings
    band = one.band_low / 100.0, one.band_high / 100.0
    world = rehearsed.lit(member, seed, hours, band[0])
    outside = np.array(world[5][at.W_AMBIENT :: at.WEATHER])
    records = [compiled.record(kind) for kind in (Settings, Now, Memory, Out)]
    setting, now, memory, _ = records
    for name, _count in Settings.NAMES:
        setattr(setting, name, getattr(settings, name))
    now.order = fields.ORDER_START
    memory.low, memory.high = setting.band_low, setting.band_high
    per_hour = int(rehearsed.HOUR_S / kernel.PERIOD_S)
    traces, lift = [], 0.0
    for part in (LOOK_H, hours - LOOK_H):
        trace = np.zeros(int(part * per_hour) * kernel.TRACE)
        cycles = len(trace) // kernel.TRACE
        worlds.cook()(*records, *world, cycles, trace, piece.PROBE, piece.SIZE, piece.ON)
        traces.append(trace.reshape(-1, kernel.TRACE))
        if len(traces) == 1:
            last = traces[0][-per_hour:]
            near = (last[:, kernel.T_PIT] > band[0] - 2.0) & (last[:, kernel.T_PIT] < band[1] + 3.0)
            if near.mean() < INSIDE:
                return None
            held = last[-int(stepped.HELD_S / kernel.PERIOD_S) :, kernel.T_DUTY]
            lift = stepped.log_lift(world, float(held.mean()), 0.0, settings)
            if lift <= np.log(stepped.LEAST_LIFT_C):
                return None  # no fan worth the name
    whole = np.concatenate(traces)
    seconds = np.arange(len(whole)) * kernel.PERIOD_S
    lids = [
        (start - (0.0 if told else FELT_S), length + (0.0 if told else FELT_S), told)
        for start, length, told in lids_of(seconds, whole[:, kernel.T_STATE], whole[:, kernel.T_REASON])
    ]
    air = outside[np.minimum((seconds / at.WEATHER_S).astype(int), len(outside) - 1)]
    night = Night(seconds, whole[:, kernel.T_PIT], whole[:, kernel.T_DUTY], lids, outside_c=air, band_c=band)
    seen = marks.of(night)
    return None if seen is None else (seen, lift)

"""What an experiment in a record shows of its cooker: its marks.

Steps that the pit itself turns (`hearth.core.experiment`) move it at the pace that matters, far more than its noise.
So their answer can be fitted: a dead time and two lags, tried over a grid, and one gain by least squares beside a line
for each stretch. The fit alone is not believed, because the reading turns the steps: a gust turns them, too. What it
means is learnt from rehearsed cookers with the same experiment, like all marks (`strength.py`).
"""

from __future__ import annotations

from functools import lru_cache
from itertools import product
from typing import Any

import numpy as np

from tuyere.tune.night import PERIOD_S, Night
from tuyere.tune.sensitivity import Answer
from tuyere.tune.stepped import LEAST_DELAY_S, LEAST_LIFT_C, lift

Array = Any  # a numpy array of float64
EVERY = 5  # periods between two points: 10 s
POINT_S = EVERY * PERIOD_S
LEAST_S = 480.0  # a shorter stretch has no swing in it
BEFORE_S = 2400.0  # the fan's moves of this long before still show in the pit
DEAD_S, FAST_S, SLOW_S = (0.0, 20.0, 40.0, 80.0, 140.0, 220.0), (15.0, 60.0, 150.0, 350.0), (1200.0, 4000.0)
COUNTED = 30.0  # points that count as each its own: the rest of a fit is coloured
STEPS = (0.02, 0.15)  # of the fan, in the experiments that are rehearsed
TURNED_S = 120.0  # the fan's mean of this long says which way the step goes
NAMES = ("tried lift", "tried delay", "tried rest", "tried pace", "tried ratio")


def of(night: Night) -> Array:
    """One number for each of NAMES, logarithms: the lift in C, the delay in s, what the fit leaves over all that moved,
    the seconds between two turns, and the pit's swing over the fan's. NaN without an experiment of some length."""
    read, moved, fits, turns, count = [], [], [], 0, 0
    for start, length in night.tried:
        stretch = _stretch(night, start, length)
        if stretch is None:
            continue
        pit, fan, inside = stretch
        lines = np.column_stack([np.ones(int(inside.sum())), np.linspace(-1.0, 1.0, int(inside.sum()))])
        read.append(_left(pit[inside], lines))
        moved.append(_left(fan[inside], lines))
        answers = np.array([np.convolve(fan, shape)[: len(fan)][inside] for shape in impulses()])
        fits.append(_left(answers.T, lines).T)
        turns += _turned(moved[-1])
        count += len(read[-1])
    if not read:
        return np.full(len(NAMES), np.nan)
    pit, fan, x = np.concatenate(read), np.concatenate(moved), np.concatenate(fits, axis=1)
    gains = x @ pit / np.maximum(1e-12, np.sum(x**2, axis=1))
    costs = np.sum((pit - gains[:, None] * x) ** 2, axis=1)
    whole = max(1e-9, float(pit @ pit))
    weights = np.where(gains > 0.0, (costs.min() / np.maximum(costs, 1e-9)) ** (COUNTED / 2.0), 1e-12)
    lifts, delays = shapes()
    told = np.log(np.maximum(LEAST_LIFT_C, lifts * np.maximum(gains, 0.0)))
    return np.array([
        float(np.average(told, weights=weights)),
        float(np.average(np.log(np.maximum(LEAST_DELAY_S, delays)), weights=weights)),
        float(np.log(max(1e-3, costs.min() / whole))),
        float(np.log(count * POINT_S / (turns + 1.0))),
        float(0.5 * np.log(whole / max(1e-9, float(fan @ fan)))),
    ])  # fmt: skip


def step(night: Night) -> float:
    """The step of the experiments in a night, share of the fan, to a hundredth: how far the fan's minutes spread."""
    wide, times, fan = int(60.0 / PERIOD_S), night.times(), night.fan_cycles()
    found: list[float] = []
    for start, length in night.tried:
        inside = fan[(times >= start) & (times < start + length)]
        means = inside[: len(inside) // wide * wide].reshape(-1, wide).mean(axis=1)
        found += [float(means.std())] * len(means)
    return round(min(STEPS[1], max(STEPS[0], float(np.mean(found or [0.0])))), 2)


def _stretch(night: Night, start: float, length: float) -> tuple[Array, Array, Array] | None:
    """An experiment and what was before it, by points: (pit, C; the fan less its mean before; which points count)."""
    begins = max(0, int((start - BEFORE_S - night.seconds[0]) / PERIOD_S))
    first, last = (int((at - night.seconds[0]) / PERIOD_S) for at in (start, start + length))
    rows = slice(begins, begins + (last - begins) // EVERY * EVERY)
    pit, fan = (one[rows].reshape(-1, EVERY) for one in (night.pit_cycles(), night.fan_cycles()))
    missing = np.isnan(pit).any(axis=1)
    pit, fan = np.nanmean(np.where(missing[:, None], 0.0, pit), axis=1), fan.mean(axis=1)
    number = np.arange(len(pit))
    before = number < (first - begins) // EVERY
    inside = ~before & ~missing
    if inside.sum() * POINT_S < LEAST_S:
        return None
    return pit, fan - float(fan[before if before.any() else inside].mean()), inside


def _left(values: Array, lines: Array) -> Array:
    """What lines do not explain, of each column."""
    found: Array = values - lines @ np.linalg.lstsq(lines, values, rcond=None)[0]
    return found


def _turned(moved: Array) -> int:
    """How often the step turned."""
    wide = int(TURNED_S / POINT_S)
    smooth = np.convolve(moved, np.ones(wide) / wide, mode="same")
    return int(np.sum(np.diff(np.sign(smooth)) != 0.0))


@lru_cache(maxsize=1)
def impulses() -> Array:
    """What a point of the whole fan makes of a pit of gain 1 in the points from then on; a row for each of the grid."""
    count = int((BEFORE_S + 2400.0) / POINT_S)
    found = []
    for dead, fast, slow in product(DEAD_S, FAST_S, SLOW_S):
        late = int(dead / POINT_S)
        path = np.convolve(_lag(count, fast), _lag(count, slow))[:count]
        found.append(np.concatenate([np.zeros(late), path[: count - late]]))
    return np.array(found)


def _lag(count: int, seconds: float) -> Array:
    """The answer of a first-order lag to a point."""
    keeps = float(np.exp(-POINT_S / seconds))
    found: Array = (1.0 - keeps) * keeps ** np.arange(count)
    return found


@lru_cache(maxsize=1)
def shapes() -> tuple[Array, Array]:
    """(lift in C for a gain of 1, delay in s) of each pit of the grid."""
    answers = [Answer(POINT_S, np.cumsum(one)) for one in impulses()]
    return np.array([lift(one) for one in answers]), np.array([one.delay_s for one in answers])

"""What the curve of a night shows of its cooker, as a few plain numbers: its marks.

A pit under control does not show by regression how strongly its fan drives it: the fan answers what disturbs the pit,
and a noise model that is free enough explains the whole loop (Ljung, System Identification, 1999, section 13.4). The
marks are what a controlled night shows nevertheless: the climb under a full fan, the air it needs, how far fan and
reading move, and which of them moves first; and the answer to an experiment, where there was one (`tried.py`).
`strength.py` knows what they mean from rehearsed cookers.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from tuyere.tune import tried
from tuyere.tune.night import Night
from tuyere.tune.per_minute import EVERY, minutes

Array = Any  # a numpy array of float64
LAGS_MIN = (-10, -5, -2, 2, 5, 10, 20, 40)  # minutes by which the reading is later than the fan
CLIMB_C = 60.0  # the climb counts from here on
WINDOW = 10  # minutes in which a rise is looked at
FULL = 0.8  # a fan of more counts as full
BEST = 6  # the last windows of the climb
ARRIVES_MIN, OVER_MIN = 20, 40  # held from this long after the arrival; the arrival is looked at for this long
LID_S = 900.0  # and from this long after a lid
HELD_MIN = 60  # a night that held for less shows nothing
EARLY_MIN, LATE_MIN = 300, 240
WARM_C = 60.0  # a record that begins above it has no climb
USUAL_K = 110.0  # between pit and air outside: the fan's level is brought to it
NAMES = (
    "level", "late", "climb", "no full fan", "arrival", "air to arrive", "over", "spread", "off", "fan's spread",
    *(f"after {lag} min" for lag in LAGS_MIN), *tried.NAMES,
)  # fmt: skip


def of(night: Night, outside_c: float = 15.0) -> Array | None:
    """One number for each of NAMES; NaN where the night does not have it, None for one that hardly held its band.

    outside_c: where the night does not say it.
    """
    pit = minutes(night.pit_cycles())
    count = len(pit)
    fan = night.fan_cycles()[: count * EVERY].reshape(count, EVERY).mean(axis=1)
    low, high = night.band_c
    there = np.flatnonzero(pit >= low)
    if not len(there):
        return None
    first = int(there[0])
    held = np.isfinite(pit) & (pit > low - 6.0) & (pit < high + 8.0)
    held[: first + ARRIVES_MIN] = False
    ends = night.seconds[0] + (np.arange(count) + 1.0) * 60.0
    for start, length, _ in night.openings:
        held[(ends > start - 60.0) & (ends < start + length + LID_S)] = False
    if held.sum() < HELD_MIN:
        return None
    outside = night.outside_cycles()
    air = np.full(count, outside_c) if outside is None else outside[EVERY - 1 :: EVERY][:count]
    middle = (low + high) / 2.0
    level = float(fan[held].mean())
    early, late = held.copy(), held.copy()
    early[first + EARLY_MIN :] = False
    late[: max(0, count - LATE_MIN)] = False
    found = [float(np.log(level * USUAL_K / max(20.0, float((middle - air)[held].mean())) + 0.005))]
    both = early.any() and late.any()
    found.append(float(np.log((fan[late].mean() + 0.01) / (fan[early].mean() + 0.01))) if both else np.nan)
    found += _climb(pit, fan, first)
    off = np.where(held, pit - middle, np.nan)
    moved = np.where(held, fan - level, np.nan)
    wide, fans = float(np.nanstd(off)), float(np.nanstd(moved))
    found.append(float(np.nanmax(pit[first : first + OVER_MIN])) - middle if np.isfinite(found[2]) else np.nan)
    found += [float(np.log(wide + 0.05)), float(np.nanmean(off)), float(np.log(fans + 0.003))]
    for lag in LAGS_MIN:
        ahead, behind = (moved[:-lag], off[lag:]) if lag > 0 else (moved[-lag:], off[:lag])
        product = ahead * behind
        product = product[np.isfinite(product)]
        found.append(float(product.mean()) / (wide * fans + 1e-6) if len(product) else np.nan)
    return np.concatenate([found, tried.of(night)])


def _climb(pit: Array, fan: Array, first: int) -> list[float]:
    """Rise in ten minutes for a whole fan (logarithm), 1 where the fan never was full, hours to arrive (logarithm), and
    minutes of the whole fan until then (logarithm); NaN for a record that begins warm."""
    begins = pit[np.isfinite(pit)][0]
    if begins > WARM_C or first <= WINDOW:
        return [np.nan] * 4
    ends = np.arange(WINDOW, first + 1)
    given = np.array([fan[end - WINDOW : end + 1].mean() for end in ends])
    rises = pit[ends] - pit[ends - WINDOW]
    good = (given > FULL) & (pit[ends] > CLIMB_C) & np.isfinite(rises)
    rates = (rises[good] / given[good])[-BEST:]
    rise = float(np.log(max(0.5, rates.mean()))) if len(rates) else float(np.log(20.0))
    air = float(np.log(fan[: first + 1].sum() / 60.0 + 0.02))
    return [rise, 0.0 if len(rates) else 1.0, float(np.log((first + 1) / 60.0)), air]

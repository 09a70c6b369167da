"""Readings by minutes: the mean of every 30 periods."""

from __future__ import annotations

from typing import Any

import numpy as np

from tuyere.tune.night import PERIOD_S

Array = Any  # a numpy array of float64
EVERY = 30  # periods that a datum is the mean of: a minute
MINUTE_S = EVERY * PERIOD_S


def minutes(cycles: Array) -> Array:
    """Means of whole minutes; NaN where half of a minute is missing. A begun minute at the end is left out."""
    count = len(cycles) // EVERY
    rows = cycles[: count * EVERY].reshape(count, EVERY)
    seen = np.isfinite(rows).sum(axis=1)
    return np.where(seen >= EVERY // 2, np.nansum(rows, axis=1) / np.maximum(seen, 1), np.nan)

"""A third structure, for the last hours in a wrap: a rise that has been steady goes on as a straight line.

Meat that slows or hastens shows it in three hours. Where it has done neither, a line through the last hour is better
than any balance of heat and drying. The line counts as the three rises agree.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from tuyere.forecast import exchange, rise, update
from tuyere.forecast.piece_night import MINUTE, Course
from tuyere.forecast.rise import Carried

OVER_MIN, RISES = 60.0, 3  # a rise is taken over this long, and this many are compared
LEAST_N = 10  # readings in one of them
LEAST_C_H = 0.3  # no rise counts as less, C/h
# Share of the line beside the other structures; the spread of the logarithms of the rises, and the hours to go, at
# which it has fallen to 1/e; sd of the logarithm of its hours.
SHARE, AGREE, NEAR_H, PACE = 0.9, 0.2, 5.0, 0.12


@dataclass
class Line:
    """Hours to go by a straight line through the last hour, the probe now (C), its rise (C/h), and the share that the
    line has beside the other structures, 0..1."""

    hours: float
    here: float
    rise: float
    share: float

    def members(self, count: int, steps: int, step_h: float, seed: int) -> Carried:
        """The line as members: its hours spread, mirrored, so that their median is the line's; the probe every step_h;
        equal weights."""
        half = np.random.default_rng(seed).standard_normal((count + 1) // 2)
        times = np.exp(PACE * np.concatenate([half, -half])[:count])
        to_go = self.rise * self.hours
        ahead = self.rise * step_h * np.arange(1, steps + 1)
        probes = self.here + np.minimum(ahead / times[:, None], to_go)
        return Carried(self.hours * times, probes, np.full(count, 1.0 / count), np.empty((count, 0)))


def line(known: exchange.Known, one: exchange.KnownPiece, night: Course) -> Line | None:
    """The line of the last hour; None where there are too few readings or the probe does not rise."""
    ats, values = update.readings(known, one)
    when, c = np.array(ats, dtype=float), np.array(values)
    ago = (known.now - when) / MINUTE
    good = when >= max(night.seat.now, one.on_at) + update.SETTLED * MINUTE
    rises: list[float] = []
    for i in range(RISES):
        inside = good & (ago >= OVER_MIN * i) & (ago < OVER_MIN * (i + 1))
        if inside.sum() < LEAST_N:
            return None
        rises.append(float(np.polyfit(-ago[inside] / 60.0, c[inside], 1)[0]))
    if rises[0] <= 0.0:
        return None
    here = float(c[-1])
    hours = max(one.target - here, 0.0) / rises[0]
    logs = [math.log(max(c_h, LEAST_C_H)) for c_h in rises]
    share = SHARE * math.exp(-(((max(logs) - min(logs)) / AGREE) ** 2) - (hours / NEAR_H) ** 2)
    return Line(hours, here, rises[0], share * rise.soaked(night))

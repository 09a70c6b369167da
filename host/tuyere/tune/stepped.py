"""A pit's answer to a small step of its fan, from the state that it is in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from hearth.core import Settings, fields

from tuyere.sim import pit_slots as at
from tuyere.tune import worlds
from tuyere.tune.night import PERIOD_S
from tuyere.tune.sensitivity import Answer

Array = Any  # a numpy array of float64
STEP = 0.04  # of the fan, up and down
EVERY = 2  # periods between two points of an answer
LONG_S = 5400.0
HELD_S = 1800.0  # the fan's mean of this long is what the step is made from
TOPPED_KG = 2.0  # so that no pan runs dry in one of two runs and not in the other
LIFT_S, LIFT_FAN = 600.0, 0.1  # a tenth more fan, ten minutes later
DELAY_S = 1900.0  # of an answer: enough for its steepest rise
LEAST_LIFT_C, LEAST_DELAY_S = 0.3, 10.0  # they are taken for no less where their logarithms are needed


def answer(
    made: Sequence[Array], level: float, uneven: float = 0.0, settings: Settings | None = None, long_s: float = LONG_S
) -> Answer:
    """The answer of a pit (s, p, m, q, e, w, left as they are) whose fan demand stands at `level`, per whole fan."""
    kernel = worlds.kernel()
    count = int(long_s / PERIOD_S / EVERY)
    low, high = max(0.0, level - STEP), min(1.0, level + STEP)
    ends = []
    for demand in (low, high):
        s, p, m, q, e, w = (np.array(part) for part in made)
        s[at.OPEN_UNTIL] = s[at.NOW]
        if s[at.PAN_KG] > 0.0:
            s[at.PAN_KG] += TOPPED_KG
        found = np.zeros(count)
        kernel.stand(s, p, m, q, e, w, steady(p, demand, settings), uneven, count * EVERY, EVERY, found)
        ends.append(found)
    return Answer(EVERY * PERIOD_S, (ends[1] - ends[0]) / (high - low))


def steady(p: Array, demand: float, settings: Settings | None = None) -> float:
    """The steady fan that gives as much air as the board's pulses of a small demand do (`hearth.core.drive`)."""
    one: Any = settings or Settings()
    pulse = max(one.breakaway, one.slowest) / fields.FULL
    if demand >= one.slowest / fields.FULL or pulse <= 0.0:
        return demand
    dead, bend = float(p[at.FAN_DEAD]), float(p[at.FAN_BEND])
    if pulse <= dead:
        return 0.0
    return dead + (pulse - dead) * float(demand / pulse) ** (1.0 / bend)


def lift(one: Answer) -> float:
    """C that a tenth more fan lifts a pit in ten minutes."""
    return float(one.rise[int(LIFT_S / one.step_s) - 1]) * LIFT_FAN


def logs(
    made: Sequence[Array], level: float, uneven: float = 0.0, settings: Settings | None = None, late: bool = False
) -> list[float]:
    """Logarithms of a pit's lift, C, and with `late` of its delay, s, from the state that it is in; of the least of
    each where they are less, and of what DELAY_S shows where the pit does not answer."""
    one = answer(made, level, uneven, settings, DELAY_S if late else LIFT_S)
    found = [float(np.log(max(LEAST_LIFT_C, lift(one))))]
    return [*found, float(np.log(min(DELAY_S, max(LEAST_DELAY_S, one.delay_s))))] if late else found

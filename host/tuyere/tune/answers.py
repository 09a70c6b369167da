"""How a member's pit answers a small step of its fan while its night's band is held."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from hearth.core import Settings, fields

from tuyere.sim import pit_slots as at
from tuyere.tune import smoother, worlds
from tuyere.tune.cooker import Member
from tuyere.tune.night import PERIOD_S, Night
from tuyere.tune.sensitivity import Answer

Array = Any  # a numpy array of float64
STEP = 0.04  # of the fan, up and down
EVERY = 2  # periods between two points of an answer
LONG_S = 5400.0
HELD_S = 1800.0  # the fan's mean of so long is what the step is made from
TOPPED_KG = 2.0  # so that no pan runs dry in one of two runs and not in the other
PARTS = (0.4, 0.9)  # of the time held: early, and with ash and a hotter wall


def looks(night: Night) -> list[int]:
    """Minutes of a night at which its cooker's answer is looked at: while the band is held; none where it never is."""
    pit = smoother.data(night).pit
    inside = np.flatnonzero(np.isfinite(pit) & (pit >= night.band_c[0] - 2.0) & (pit <= night.band_c[1] + 8.0))
    if len(inside) < 2 * HELD_S / smoother.MINUTE_S:
        return []
    least = int(HELD_S / smoother.MINUTE_S) + 1
    return sorted({max(least, int(inside[int(part * (len(inside) - 1))])) for part in PARTS})


def led(night: Night, member: Member, minute: int, number: int = 0) -> tuple[list[Array], float]:
    """(a member's pit s, p, m, q, e, w at a minute of a night, led along it; its lead then)."""
    made = worlds.world(night, member.s, member.p, member.row, number)
    path, lead = np.zeros(minute), np.zeros(minute)
    fan, whole = np.ascontiguousarray(night.fan_cycles()), smoother.data(night)
    fed, nudge = whole.fed[:minute], whole.nudge[:minute]
    worlds.kernel().follow(
        *made, fan, fed, nudge, smoother.PULL, smoother.RESET_S, smoother.LEAD_LEFT, smoother.EVERY, path, lead
    )  # fmt: skip
    return made, float(lead[-1])


def of_members(
    night: Night, members: Sequence[Member], number: int = 0, settings: Settings | None = None
) -> list[list[Answer]]:
    """For each member its answers at the looks of a night (number: which of the member's nights it is)."""
    minutes = looks(night)
    fan = night.fan_cycles()

    def one(member: Member) -> list[Answer]:
        found = []
        for minute in minutes:
            made, lead = led(night, member, minute, number)
            last = int(minute * smoother.MINUTE_S / PERIOD_S)
            level = float(np.mean(fan[last - int(HELD_S / PERIOD_S) : last]))
            found.append(answer(made, level, lead, settings))
        return found

    return worlds.each(one, members)


def answer(made: Sequence[Array], level: float, uneven: float = 0.0, settings: Settings | None = None) -> Answer:
    """The answer of a pit (s, p, m, q, e, w, left as they are) whose fan demand stands at `level`, per whole fan."""
    kernel = worlds.kernel()
    count = int(LONG_S / PERIOD_S / EVERY)
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

"""How a member's pit answers a small step of its fan while its night's band is held."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from hearth.core import Settings

from tuyere.tune import smoother, worlds
from tuyere.tune.cooker import Member
from tuyere.tune.night import PERIOD_S, Night
from tuyere.tune.sensitivity import Answer
from tuyere.tune.stepped import HELD_S, answer

Array = Any  # a numpy array of float64
PARTS = (0.5, 0.9)  # of the time held: early, and with ash and a hotter wall


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
        *made, fan, fed, nudge, smoother.PULL, smoother.RESET_S, smoother.LEAD_LEFT, smoother.EVERY, path, lead,
        np.zeros(2),
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

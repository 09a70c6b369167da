"""A night to come, rehearsed by a member under the board's law, and what it came to, quickly."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from hearth.core import Settings, fields

from tuyere.meat.water import PRESSURE, boiling
from tuyere.score import SETTLE
from tuyere.sim import cookers, kernel
from tuyere.sim import pit_slots as at
from tuyere.sim.rehearse import ARRIVAL_S
from tuyere.sim.script import Script, flat_pieces
from tuyere.tune import candidates
from tuyere.tune.cooker import Member
from tuyere.tune.going import Going

Array = Any  # a numpy array of float64
HOURS = 12.0
TURN = 0.03  # of the fan: a smaller change of direction is none
HOUR_S = 3600.0


@dataclass(frozen=True)
class Came:
    """What a night came to. in_band: share as in `tuyere.score`, 0 for a pit that never arrived; over_c: the first
    arrival above the top of the band; arrival_min: None when never; back_min: median after its lids; turns: changes of
    the fan's direction an hour; trips: how often the board tripped."""

    in_band: float
    over_c: float
    arrival_min: float | None
    back_min: float | None
    turns: float
    trips: int


@lru_cache(maxsize=512)
def script(seed: int, hours: float = HOURS) -> tuple[Script, Array, Array, Array, Array]:
    """A night to come: weather, lids, meat, coal; the same for every member and every setting."""
    made = Script.draw(seed, hours)
    m, q = flat_pieces(made.pieces, made.meats)
    return made, np.array(m), np.array(q), np.array(made.events), np.array(made.weather)


def lit(member: Member, seed: int, hours: float = HOURS, band_low_c: float = 121.1) -> list[Array]:
    """A member's pit, lit, at the beginning of a night to come: fresh arrays s, p, m, q, e, w."""
    made, m, q, e, w = script(seed, hours)
    s, p = candidates.apply(member.s, member.p, member.row)
    candidates.light(s, member.row)
    p[at.ARRIVAL_C], p[at.AMBIENT_W] = band_low_c, made.humidity
    p[at.MEAT_AFTER], p[at.MEAT_WAIT] = made.meat_after, made.meat_wait
    p[at.MEAT_OPEN], p[at.MEAT_TOLD], p[at.OUT_OPEN] = made.meat_open, float(made.meat_told), made.out_open
    p[at.AIR_PA], p[at.BOILS] = PRESSURE, boiling(PRESSURE)
    cookers.settle(s, float(w[at.W_AMBIENT]), made.humidity)
    return [np.array(s), np.array(p), m.copy(), q.copy(), e.copy(), w.copy()]


def rehearse(member: Member, seed: int, settings: Settings, hours: float = HOURS) -> Came:
    """One member, one night to come, one set of settings."""
    one: Any = settings
    world = lit(member, seed, hours, one.band_low / 100.0)
    return came(cooked(world, settings, hours), one.band_low / 100.0, one.band_high / 100.0)


def cooked(world: list[Array], settings: Settings, hours: float) -> Array:
    """The law over a whole night; the trace, a row of `kernel.TRACE` numbers a period."""
    return Going(settings, world).on(hours * HOUR_S)


def came(trace: Array, low: float, high: float) -> Came:
    """What a trace came to."""
    pit, lid = trace[:, kernel.T_PIT], trace[:, kernel.T_OPEN] > 0.0
    inside = (pit >= low) & (pit <= high)
    reached = np.flatnonzero(pit >= low)
    state = trace[:, kernel.T_STATE] == fields.TRIPPED
    trips = int(np.sum(state[1:] & ~state[:-1]))
    turns = turned(trace[:, kernel.T_FAN]) / (len(trace) * kernel.PERIOD_S / HOUR_S)
    if not len(reached):
        return Came(0.0, 0.0, None, None, turns, trips)
    first = int(reached[0])
    over = float(max(0.0, pit[first : first + int(ARRIVAL_S / kernel.PERIOD_S)].max() - high))
    meat = np.flatnonzero(trace[:, kernel.T_MEAT] > -99.0)
    on = int(meat[0]) if len(meat) else int(HOUR_S / kernel.PERIOD_S)
    since = max(on, first + int(SETTLE / 1000.0 / kernel.PERIOD_S)) + 1
    share = float(inside[since:].mean()) if since < len(pit) else 0.0
    return Came(share, over, (first + 1) * kernel.PERIOD_S / 60.0, back(lid, inside), turns, trips)


def back(lid: Array, inside: Array) -> float | None:
    """Median minutes from each lid shut to the pit in its band; to the next lid where it is not; None without lids."""
    shuts = np.flatnonzero(lid[:-1] & ~lid[1:]) + 1
    opens = np.flatnonzero(~lid[:-1] & lid[1:]) + 1
    fine = np.flatnonzero(inside & ~lid)
    found = []
    for shut in shuts:
        later = np.searchsorted(opens, shut)
        until = int(opens[later]) if later < len(opens) else len(lid)
        there = np.searchsorted(fine, shut)
        at_ = int(fine[there]) if there < len(fine) else until
        found.append((min(at_, until) - shut) * kernel.PERIOD_S / 60.0)
    return float(np.median(found)) if found else None


def turned(fan: Array) -> int:
    """How often the fan's demand changes its direction by more than TURN, looked at once a minute."""
    means = fan[: len(fan) // 30 * 30].reshape(-1, 30).mean(axis=1)
    count, last, way = 0, float(means[0]) if len(means) else 0.0, 0
    for value in means.tolist():
        if value > last + TURN or value < last - TURN:
            now = 1 if value > last else -1
            count += int(way != 0 and now != way)
            way, last = now, value
        elif (way > 0 and value > last) or (way < 0 and value < last):
            last = value
    return count

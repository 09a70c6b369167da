"""Charcoal and water for a cook: rehearsed with all its pieces, or reference values where there is no compiler.

The pieces count with their heat: each warms up, and the water that leaves it takes its latent heat along. A rehearsal
has that in its balance. The reference values are those of a small load, and each kg beyond it takes its own heat.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import Any

from hearth.core import Settings
from msgspec import Struct, field

from tuyere.plan.loads import PANS, Load, script
from tuyere.plan.request import Asked
from tuyere.sim import compiled, cookers, kernel, rehearse
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside
from tuyere.text import Mass, Range, Said, Temperature, text

SEEDS = 12
MARGIN = 1.15  # on what nine of ten rehearsals burn
LEFT = 0.15  # share of a fill that keeps no band: scattered, under ash
# kg an hour for a cooker of bare steel, of ceramic: common practice, no source; in between as their walls lose.
REFERENCE = {
    "upright": (0.20, 0.35),
    "ceramic": (0.10, 0.25),
    "drum": (0.20, 0.50),
    "cabinet": (0.08, 0.20),
    "offset": (0.25, 0.50),
}
USUAL_C, USUAL_OUT_C = 128.0, 15.0  # of REFERENCE and PAN; both go with how far the pit is above what is outside
PAN = (0.14, 0.20)  # kg/h: 0.09 kg/h from 0.06 m2 (computed), pans of 0.05 to 0.1 m2, and the lid
USUAL_KG = 8.0  # of meat, in REFERENCE: common practice, no source
# J for each kg of meat: 3.4 kJ/kgK over 90 K, and 0.27 kg of water at 2.35 MJ/kg that leaves it; of charcoal 29 MJ/kg,
# of which the pit gives 0.95 to what lies in it (both computed, see the rehearsals)
MEAT_KG = (3400.0 * 90.0 + 0.27 * 2.35e6) / (29e6 * 0.95)  # of charcoal for a kg of meat
STEP_H = 0.5
ROOM = 1500  # 1/100 C from the band to the limit at which the board trips


class Burning(Struct):
    """kg of charcoal: burned (likely), to have (with margin), what the cooker takes; kg of water; the source; kg that
    may have burned by each STEP_H after lighting (nine of ten, with the margin)."""

    likely: float
    need: float
    fill: float
    water: float
    source: Said
    by_then: list[float] = field(default_factory=list)

    def burned(self, hours: float) -> float:
        """kg that may have burned that many hours after lighting."""
        if len(self.by_then) < 2:  # a plan that an earlier version kept
            return 0.0
        place = min(max(hours / STEP_H, 0.0), len(self.by_then) - 1.0)
        i = min(int(place), len(self.by_then) - 2)
        return self.by_then[i] + (self.by_then[i + 1] - self.by_then[i]) * (place - i)

    @property
    def lasting(self) -> float:
        """kg of a fill that keep the band."""
        return self.fill * (1.0 - LEFT)


def burning(asked: Asked, cooker: str, hours: float, loads: list[Load]) -> Burning:
    """Of one cooker, for the hours from lighting until the pit is no longer needed, in the band, weather and altitude
    asked for."""
    fill = sum(cookers.KINDS[cooker].fuel) / 2.0
    hotter = (asked.low + asked.high - 2.0 * USUAL_OUT_C) / (2.0 * (USUAL_C - USUAL_OUT_C))
    low, high = (hotter * rate for rate in REFERENCE[cooker])
    hours = math.ceil(min(max(hours, 2.0), 72.0) / STEP_H) * STEP_H
    if not compiled.available():
        wet = hotter * PAN[1] * hours * MARGIN if cooker in PANS else 0.0
        more = max(sum(one.meat.mass_kg for one in loads) - USUAL_KG, 0.0) * MEAT_KG
        most = high * hours + more
        return Burning(
            (low + high) / 2.0 * hours + more, _need(most), fill, wet,
            text(
                "common practice, {rate} an hour in this band, and {more} more for the heat that the meat takes; "
                "rehearsals need numba",
                rate=Range(Mass(low), Mass(high)), more=Mass(more),
            ),
            [most * MARGIN * i * STEP_H / hours for i in range(round(hours / STEP_H) + 1)],
        )  # fmt: skip
    unnamed = tuple(replace(one, meat=replace(one.meat, name="piece")) for one in loads)
    held = (asked.low, asked.high, asked.outside, asked.altitude)
    found = [_rehearsed(*held, cooker, hours, unnamed, seed) for seed in range(1, SEEDS + 1)]
    burned = sorted(charcoal[-1] for charcoal, _ in found)
    by_then = [sorted(each)[int(0.9 * SEEDS)] * MARGIN for each in zip(*(one for one, _ in found), strict=True)]
    weather: Said = "any weather"
    if asked.outside is not None:
        weather = text("about {outside} outside", outside=Temperature(asked.outside))
    return Burning(
        burned[SEEDS // 2], _need(burned[int(0.9 * SEEDS)]), fill, max(water for _, water in found) * MARGIN,
        text(
            "{count} rehearsals in this band with all the pieces of a pit (the heat that warms and dries them counts) "
            "on simulated cookers of this kind ({kind}), {weather}; common practice, no source, is {rate} an hour",
            count=SEEDS, kind=cooker, weather=weather, rate=Range(Mass(low), Mass(high)),
        ),
        by_then,
    )  # fmt: skip


@lru_cache(maxsize=32 * SEEDS)  # a plan that is moved, or made for another time, asks the same again
def _rehearsed(
    low: float,
    high: float,
    outside: float | None,
    altitude: float,
    cooker: str,
    hours: float,
    loads: tuple[Load, ...],
    seed: int,
) -> tuple[list[float], float]:
    """kg of charcoal burned by each STEP_H, and of water gone in all, in one rehearsal."""
    world, end, trace = cooked(low, high, outside, altitude, cooker, hours, loads, seed)
    fuel = trace[kernel.T_FUEL :: kernel.TRACE]
    events = end[4].reshape(-1, at.EVENT)
    filled = events[(events[:, at.E_KIND] == at.PAN_FILL) & (events[:, at.E_DONE] > 0.0), at.E_A].sum()
    step = round(STEP_H * 3600.0 / kernel.PERIOD_S)
    burned = [0.0, *(float(fuel[0] - fuel[i - 1]) for i in range(step, len(fuel) + 1, step))]
    return burned, float(world.state[at.PAN_KG] + filled - end[0][at.PAN_KG])


def cooked(
    low: float,
    high: float,
    outside: float | None,
    altitude: float,
    cooker: str,
    hours: float,
    loads: tuple[Load, ...],
    seed: int,
) -> tuple[Outside, list[Any], Any]:
    """One rehearsal: (the pit as it began, its flat sequences at the end, the trace). Its pan is filled up on the
    rounds, and its charcoal never ends."""
    made = script(loads, cooker, low, altitude, hours, seed)
    if outside is not None:
        column = made.weather[at.W_AMBIENT :: at.WEATHER]
        off = outside - sum(column) / len(column)
        made.weather[at.W_AMBIENT :: at.WEATHER] = [value + off for value in column]
    settings = Settings()
    settings.band_low, settings.band_high = round(low * 100.0), round(high * 100.0)
    settings.pit_limit = max(settings.pit_limit, settings.band_high + ROOM)
    world, end = Outside(cooker, seed, made), list[Any]()
    world.state[at.UNLIT] += 20.0  # so that it never runs out: the question is how much burns
    return world, end, rehearse.run(world, hours, settings, compiled.kernel(), end=end)


def _need(burned: float) -> float:
    return burned * MARGIN / (1.0 - LEFT)

"""Charcoal and water for a cook: rehearsed with this load, or reference values where there is no compiler."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from hearth.core import Settings
from msgspec import Struct

from tuyere.meat.piece import PieceOfMeat
from tuyere.plan.practice import PAN_EVERY_H
from tuyere.plan.request import Asked
from tuyere.sim import compiled, cookers, kernel, rehearse
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside
from tuyere.sim.script import Script
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
FILLED_UP = 0.5  # kg on each round
ROOM = 1500  # 1/100 C from the band to the limit at which the board trips
PANS = ("upright", "cabinet")  # cookers that usually have one; see `tuyere.sim.cookers`


class Burning(Struct):
    """kg of charcoal: burned (likely), to have (with margin), what the cooker takes; kg of water; the source."""

    likely: float
    need: float
    fill: float
    water: float
    source: Said


def burning(asked: Asked, cooker: str, hours: float, pieces: list[PieceOfMeat]) -> Burning:
    """Of one cooker, for the hours from lighting until the pit is no longer needed, in the band, weather and altitude
    asked for.

    The simulated pit takes three pieces; more are put together into three of the same mass.
    """
    fill = sum(cookers.KINDS[cooker].fuel) / 2.0
    if not compiled.available():
        hotter = (asked.low + asked.high - 2.0 * USUAL_OUT_C) / (2.0 * (USUAL_C - USUAL_OUT_C))
        low, high = (hotter * rate for rate in REFERENCE[cooker])
        wet = hotter * PAN[1] * hours * MARGIN if cooker in PANS else 0.0
        return Burning(
            (low + high) / 2.0 * hours, _need(high * hours), fill, wet,
            text(
                "common practice, {rate} an hour in this band; rehearsals need numba",
                rate=Range(Mass(low), Mass(high)),
            ),
        )  # fmt: skip
    burned, water = [], []
    hours = min(max(hours, 2.0), 72.0)
    for seed in range(1, SEEDS + 1):
        load = (asked.low, asked.high, asked.outside, asked.altitude)
        charcoal, wet = _rehearsed(*load, cooker, hours, tuple(_three(pieces)), seed)
        burned.append(charcoal)
        water.append(wet)
    burned.sort()
    weather: Said = "any weather"
    if asked.outside is not None:
        weather = text("about {outside} outside", outside=Temperature(asked.outside))
    return Burning(
        burned[SEEDS // 2], _need(burned[int(0.9 * SEEDS)]), fill, max(water) * MARGIN,
        text(
            "{count} rehearsals of such a cook in this band on simulated cookers of this kind, {weather}",
            count=SEEDS, weather=weather,
        ),
    )  # fmt: skip


@lru_cache(maxsize=32 * SEEDS)  # a plan that is moved, or made for another time, asks the same again
def _rehearsed(
    low: float,
    high: float,
    outside: float | None,
    altitude: float,
    cooker: str,
    hours: float,
    pieces: tuple[PieceOfMeat, ...],
    seed: int,
) -> tuple[float, float]:
    """kg of charcoal burned and of water gone in one rehearsal, its pan filled up on the rounds."""
    script = Script.draw(seed, hours)
    script.pieces, script.meats, script.altitude_m = list(pieces), [], altitude
    script.arrival_c = low
    if outside is not None:
        column = script.weather[at.W_AMBIENT :: at.WEATHER]
        off = outside - sum(column) / len(column)
        script.weather[at.W_AMBIENT :: at.WEATHER] = [value + off for value in column]
    if cooker in PANS:
        for hour in range(PAN_EVERY_H, int(hours) + 1, PAN_EVERY_H):
            script.add(at.PAN_FILL, hour * 3600.0, FILLED_UP)
    settings = Settings()
    settings.band_low, settings.band_high = round(low * 100.0), round(high * 100.0)
    settings.pit_limit = max(settings.pit_limit, settings.band_high + ROOM)
    world, end = Outside(cooker, seed, script), list[Any]()
    world.state[at.UNLIT] += 20.0  # so that it never runs out: the question is how much burns
    before = world.state[at.PAN_KG]
    trace = rehearse.run(world, hours, settings, compiled.kernel(), end=end)
    fuel = trace[kernel.T_FUEL :: kernel.TRACE]
    events = end[4].reshape(-1, at.EVENT)
    filled = events[(events[:, at.E_KIND] == at.PAN_FILL) & (events[:, at.E_DONE] > 0.0), at.E_A].sum()
    return float(fuel[0] - fuel[-1]), float(before + filled - end[0][at.PAN_KG])


def _need(burned: float) -> float:
    return burned * MARGIN / (1.0 - LEFT)


def _three(pieces: list[PieceOfMeat]) -> list[PieceOfMeat]:
    """At most three pieces that weigh as much in all."""
    if len(pieces) <= at.PIECES:
        return list(pieces)
    total = sum(piece.mass_kg for piece in pieces)
    return [PieceOfMeat(f"load {i + 1}", "packer", min(max(total / at.PIECES, 2.5), 10.0)) for i in range(at.PIECES)]

"""Charcoal and water for a cook: rehearsed with this load, or reference values where nothing can be compiled."""

from __future__ import annotations

from msgspec import Struct

from tuyere.meat.piece import Piece
from tuyere.sim import compiled, cookers, kernel, rehearse
from tuyere.sim import slots as at
from tuyere.sim.outside import Outside
from tuyere.sim.script import Script

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
PAN = (0.14, 0.20)  # kg/h: 0.09 kg/h from 0.06 m2 (computed), pans of 0.05 to 0.1 m2, and the lid
PANS = ("upright", "cabinet")  # cookers that usually have one; see `tuyere.sim.cookers`


class Burning(Struct):
    """kg of charcoal: burned (likely), to have (with margin), what the cooker takes; kg of water; the source."""

    likely: float
    need: float
    fill: float
    water: float
    source: str


def burning(
    cooker: str, hours: float, pieces: list[Piece], outside: float | None = None, altitude: float = 0.0
) -> Burning:
    """For so many hours from lighting until the last piece is out. `outside`: C, None for any weather.

    The simulated pit takes three pieces; more are put together into three of the same mass.
    """
    fill = sum(cookers.KINDS[cooker].fuel) / 2.0
    if not compiled.available():
        low, high = REFERENCE[cooker]
        wet = cooker in PANS
        return Burning(
            (low + high) / 2.0 * hours, _need(high * hours), fill, PAN[1] * hours if wet else 0.0,
            f"common practice, {low:g}-{high:g} kg an hour; rehearsals need numba",
        )  # fmt: skip
    burned, water = [], []
    hours = min(max(hours, 2.0), 40.0)
    kern = compiled.kernel()
    for seed in range(1, SEEDS + 1):
        script = Script.draw(seed, hours)
        script.pieces, script.meats, script.altitude_m = _three(pieces), [], altitude
        if outside is not None:
            column = script.weather[at.W_AMBIENT :: at.WEATHER]
            off = outside - sum(column) / len(column)
            script.weather[at.W_AMBIENT :: at.WEATHER] = [value + off for value in column]
        world, end = Outside(cooker, seed, script), []  # type: ignore[var-annotated]
        world.state[at.UNLIT] += 20.0  # so that it never runs out: what is asked is how much burns
        fuel = rehearse.run(world, hours, kern=kern, end=end)[kernel.T_FUEL :: kernel.TRACE]
        burned.append(float(fuel[0] - fuel[-1]))
        if world.state[at.PAN_KG] > 0.0:
            water.append(world.state[at.PAN_KG] - float(end[0][at.PAN_KG]))
    burned.sort()
    weather = "any weather" if outside is None else f"about {outside:g} C outside"
    return Burning(
        burned[SEEDS // 2], _need(burned[int(0.9 * SEEDS)]), fill, max(water, default=0.0),
        f"{SEEDS} rehearsals of such a cook on simulated cookers of this kind, {weather}",
    )  # fmt: skip


def _need(burned: float) -> float:
    return burned * MARGIN / (1.0 - LEFT)


def _three(pieces: list[Piece]) -> list[Piece]:
    """At most three pieces that weigh as much in all."""
    if len(pieces) <= at.PIECES:
        return list(pieces)
    total = sum(piece.mass_kg for piece in pieces)
    return [Piece(f"load {i + 1}", "packer", min(max(total / at.PIECES, 2.5), 10.0)) for i in range(at.PIECES)]

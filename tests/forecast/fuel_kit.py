"""Rehearsed pits whose charcoal ends: what a board would have recorded, and when it no longer held the band."""

from __future__ import annotations

from functools import lru_cache

from tuyere.forecast.exchange import Columns, Known, KnownPiece
from tuyere.sim import compiled, kernel, rehearse
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside

START = 1_700_000_000_000 // 600_000 * 600_000
MINUTE = 60_000
CYCLES = 30  # a minute
COLD, FOR = 110.0, 900  # C, cycles: the band is lost
FILLS = {"upright": 2.8, "ceramic": 2.1, "drum": 3.2, "cabinet": 1.8, "offset": 3.6}  # kg, for an end within the night


@lru_cache(maxsize=64)
def night(kind: str, seed: int, fill: float = 0.0, hours: float = 20.0) -> tuple[Columns, list[float], float | None]:
    """(a column a minute, kg that are left each minute, hours until the band is lost; None: it is not)."""
    world = Outside(kind, seed, hours=hours)
    world.state[at.UNLIT] = (fill or FILLS[kind]) - world.state[at.LIT]
    trace = rehearse.run(world, hours, kern=compiled.kernel()).tolist()
    pit, fan, fuel = (trace[i :: kernel.TRACE] for i in (kernel.T_PIT, kernel.T_FAN, kernel.T_FUEL))
    rows = range(0, len(pit) - CYCLES, CYCLES)
    minutes = [START + i * 2000 for i in rows]
    weather = world.weather[at.W_AMBIENT :: at.WEATHER]
    columns = Columns(
        minutes,
        [sum(pit[i : i + CYCLES]) / CYCLES for i in rows],
        [sum(fan[i : i + CYCLES]) / CYCLES for i in rows],
        [121.1] * len(minutes),
        [135.0] * len(minutes),
        [weather[min(i * 2 // int(at.WEATHER_S), len(weather) - 1)] for i in rows],
        [[None] * len(minutes)] * 3,
    )
    hot = next((i for i, c in enumerate(pit) if c > 118.0), len(pit))
    ends = next((i for i in range(hot, len(pit) - FOR, CYCLES) if max(pit[i : i + FOR]) < COLD), None)
    return columns, [fuel[i] for i in rows], None if ends is None else ends / 1800.0


def known(kind: str, seed: int, after: float, fill: float = 0.0, **changes: object) -> Known:
    """What is known of that night after so many hours, by one who was told the fill."""
    columns, _, _ = night(kind, seed, fill)
    count = round(after * 60.0)
    seen = Columns(
        columns.at[:count], columns.pit[:count], columns.fan[:count], columns.low[:count], columns.high[:count],
        columns.ambient[:count], [column[:count] for column in columns.meats],
    )  # fmt: skip
    given = {
        "cooker": kind,
        "fuel": fill or FILLS[kind],
        "pieces": [KnownPiece(id=1, mass=6.0, on_at=START)],
        "columns": seen,
    }
    return Known(now=START + count * MINUTE, **{**given, **changes})  # type: ignore[arg-type]

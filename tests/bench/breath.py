"""How early the fire's breath is said to fail (`tuyere.cook.breath`), and how often wrongly.

    python tests/bench/breath.py [--half choose|report] [--fleet 20] [--strangers 20] [--smoke] [--json FILE]

Ash nights: cookers whose ash closes the grate so that the pit leaves its band between the fifth and the thirteenth hour
(the first of a row of grates that does it); of the strangers those families that have ash. Ordinary
nights: all cookers as they are drawn. Reported: said 30 min or more before the pit left its band, of the ash
nights that were lost; said at all in ordinary nights. Even seeds may choose a number, odd seeds are reported once.
"""

from __future__ import annotations

import argparse
import json
import statistics
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from strangers import cooks, trial
from strangers import places as st
from tuyere.cook import breath
from tuyere.cook.snapshot import Event
from tuyere.sim import compiled, kernel
from tuyere.sim import pit_slots as at
from tuyere.sim.cookers import KINDS
from tuyere.sim.outside import Outside
from tuyere.sim.rehearse import run
from tuyere.tune.night import lids_of
from tuyere.tune.per_minute import EVERY, minutes

HOURS = 14.0
HALVES_KG = tuple(1.5 * 0.8**i for i in range(20))  # ash that halves the way of the air, from little to much
FROM_H, UNTIL_H = 5.0, 13.0
LOST_MIN = 15  # below the band for so long it has left it
LID_MIN = 40  # unless a lid was up so shortly before
LOOK_MIN = 5
EARLY_MIN = 30
BAND_C = (121.1, 135.0)


def night(pit: Any, duty: Any, state: Any, reason: Any, outside: Any) -> dict[str, Any]:
    """A trace by minutes, with the openings as the board saw them."""
    seconds = np.arange(len(pit)) * 2.0
    lids = lids_of(seconds, state, reason)
    found = minutes(pit)
    count = len(found)
    return {
        "at": [(i + 1) * 60_000 for i in range(count)],
        "pit": [float(x) if np.isfinite(x) else None for x in found],
        "fan": minutes(duty).tolist(),
        "outside": outside[EVERY - 1 :: EVERY][:count].tolist(),
        "events": [
            Event(id=i, at=int(start * 1000.0), noted=0, kind="opened_told" if told else "opened_felt")
            for i, (start, _, told) in enumerate(lids)
        ],
        "shut": [start + length for start, length, _ in lids],
    }


def lost(one: dict[str, Any]) -> float | None:
    """Minute at which the pit left its band, not because of a lid; None where it never did after it had arrived."""
    below, arrived = 0, False
    for minute, reading in enumerate(one["pit"]):
        arrived = arrived or (reading is not None and reading >= BAND_C[0])
        shut = any(0.0 <= minute - end / 60.0 < LID_MIN for end in one["shut"])
        below = below + 1 if arrived and reading is not None and reading < BAND_C[0] and not shut else 0
        if below >= LOST_MIN:
            return float(minute - LOST_MIN + 1)
    return None


def full(one: dict[str, Any]) -> int | None:
    """Minute from which on the fan stands at its end for twenty."""
    fan = one["fan"]
    return next((i for i in range(60, len(fan) - 20) if sum(fan[i : i + 20]) / 20.0 >= 0.95), None)


def said(one: dict[str, Any], until: float | None) -> tuple[float | None, float]:
    """(minute at which it is first said, minutes by which the time that it names then is later than the fan's end; NaN
    without an end)."""
    last = len(one["at"]) if until is None else int(until)
    for i in range(60, last, LOOK_MIN):
        events = [event for event in one["events"] if event.at <= one["at"][i - 1]]
        columns = [one[name][:i] for name in ("at", "pit", "fan")]
        bands = [[edge] * i for edge in BAND_C]
        found = breath.look(*columns, *bands, one["outside"][:i], events, one["at"][i - 1])
        if found.spent:
            end = full(one)
            return float(i), found.spent / 60_000.0 - end if end is not None else float("nan")
    return None, float("nan")


def own(kind: str, seed: int, ash_kg: float | None) -> dict[str, Any]:
    """A night of the fleet; ash_kg: the ash that halves the way of the air, None as drawn."""
    world = Outside(kind, seed, hours=HOURS)
    if ash_kg is not None:
        world.constants[at.ASH_SHARE] = max(world.constants[at.ASH_SHARE], 0.10)
        world.constants[at.ASH_HALF] = ash_kg
    trace = np.array(run(world, HOURS, None, compiled.kernel())).reshape(-1, kernel.TRACE)
    weather = np.array(world.weather[at.W_AMBIENT :: at.WEATHER])
    rows = np.minimum((np.arange(len(trace)) * 2.0 / at.WEATHER_S).astype(int), len(weather) - 1)
    columns = (trace[:, i] for i in (kernel.T_PIT, kernel.T_DUTY, kernel.T_STATE, kernel.T_REASON))
    return night(*columns, weather[rows])


def stranger(family: str, seed: int, ash_kg: float | None) -> dict[str, Any]:
    """A night of a stranger, like `own`."""
    cook = cooks.draw(family, seed)
    pit: Any = cook.pit
    if ash_kg is not None:
        cook.c[pit.ASH_SHARE] = max(cook.c[pit.ASH_SHARE], 0.10)
        cook.c[pit.ASH_HALF] = ash_kg
    trace = trial.board(cook)
    weather = np.array(cook.weather)[0::2]
    rows = np.minimum((np.arange(len(trace)) * st.PERIOD_S / st.WEATHER_S).astype(int), len(weather) - 1)
    columns = (trace[:, i] for i in (st.T_READING, st.T_DUTY, st.T_STATE, st.T_REASON))
    return night(*columns, weather[rows])


def ash_night(make: Callable[[str, int, float | None], dict[str, Any]], kind: str, seed: int) -> dict[str, Any] | None:
    """The night with the least ash that loses the band between FROM_H and UNTIL_H; None where none of them does."""
    if make is stranger and not hasattr(cooks.FAMILIES[kind], "ASH_HALF"):
        return None
    for size in HALVES_KG:
        one = make(kind, seed, size)
        end = lost(one)
        if end is not None and FROM_H * 60.0 <= end <= UNTIL_H * 60.0:
            return one
        if end is not None and end < FROM_H * 60.0:
            return None
    return None


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--half", choices=list(cooks.HALVES), default="choose")
    parser.add_argument("--fleet", type=int, default=20)
    parser.add_argument("--strangers", type=int, default=20)
    parser.add_argument("--smoke", action="store_true", help="one of each: only to see that it works")
    parser.add_argument("--json", type=Path, metavar="FILE")
    given = parser.parse_args()
    if given.smoke:
        given.fleet = given.strangers = 1
    seeds = cooks.seeds(given.half, 400)
    rows: list[dict[str, Any]] = []
    for sort, names, count in (("own", list(KINDS), given.fleet), ("stranger", list(cooks.FAMILIES), given.strangers)):
        for i in range(count):
            kind, seed = names[i % len(names)], seeds[i]
            make = own if sort == "own" else stranger
            plain, ash = make(kind, seed, None), ash_night(make, kind, seed)
            for what, one in (("ordinary", plain), ("ash", ash)):
                if one is None:
                    continue
                end = lost(one)
                when, error = said(one, end)
                row = {"sort": sort, "name": f"{kind} {seed}", "what": what, "lost": end, "said": when, "error": error}
                rows.append(row)
                print(row, flush=True)
    for sort in ("own", "stranger"):
        mine = [row for row in rows if row["sort"] == sort]
        ends = [row for row in mine if row["what"] == "ash" and row["lost"] is not None]
        early = [row for row in ends if row["said"] is not None and row["lost"] - row["said"] >= EARLY_MIN]
        held = [row for row in mine if row["what"] == "ordinary" and row["lost"] is None]
        wrong = [row for row in held if row["said"] is not None]
        print(f"{sort}: said {EARLY_MIN} min or more ahead in {len(early)} of {len(ends)}; wrongly in {len(wrong)} of "
              f"{len(held)} nights that held")  # fmt: skip
        if early:
            ahead = statistics.median(row["lost"] - row["said"] for row in early)
            errors = [abs(row["error"]) for row in early if row["error"] == row["error"]]
            print(f"  {ahead:.0f} min ahead (median); the time named is off by {statistics.median(errors):.0f} min")
    if given.json:
        given.json.write_text(json.dumps(rows, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()

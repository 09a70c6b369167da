"""What `replay.through_pit` says of other settings in a recorded night, beside what the true pit makes of them.

    python tests/bench/playback.py [--half choose|report] [--fleet 10] [--strangers 10] [--workers 2] [--smoke]

A night is recorded with settings A; the true pit then has the same night with settings B: the same weather, and meat
and lids at the times of the record, also where the pit arrives later. Reported: the sign of the
change where it is larger than 0.02, how often the range covers the truth, the trace's root mean square error. Even
seeds may choose a number; odd seeds are for the last word, once. "Cannot tell" is counted apart. What is said in words
of each cooker stands beside its true answer to its fan.
"""

from __future__ import annotations

import argparse
import json
import statistics
from concurrent.futures import ProcessPoolExecutor
from itertools import zip_longest
from pathlib import Path
from typing import Any

import numpy as np
import tune as bench
from hearth.core import Settings
from strangers import cooks, trial
from strangers import places as st
from tuyere import tune
from tuyere.replay.asked import of_night
from tuyere.replay.through_pit import kept, through_pit
from tuyere.sim import compiled, kernel
from tuyere.sim.cookers import KINDS
from tuyere.sim.rehearse import run
from tuyere.text import Reader, render

DEFAULT: dict[str, int] = {}
PAIRS = (  # settings of the night, settings asked for
    (DEFAULT, {"gain": 70}),
    (DEFAULT, {"gain": 1200, "lead": 20}),
    ({"gain": 70}, DEFAULT),
    ({"gain": 1200, "lead": 20}, DEFAULT),
)
LARGE = 0.02  # of the share
NEVER = 1e9
Deeds = list[float | None]  # when the meat went on, and with a stranger each of its events; None: not at all


def settings(changed: dict[str, int]) -> Settings:
    made = Settings()
    for name, value in changed.items():
        setattr(made, name, value)
    return made


def traced(cooker: Any, changed: dict[str, int], deeds: Deeds | None = None) -> tuple[Any, Any, Any, Any, Deeds]:
    """Seconds; readings, duty, state, reason; outside of night 0 under some settings; when the meat went on; when each
    deed was done. deeds: those of another run of this night, done again at the same times."""
    if isinstance(cooker, bench.Own):
        world = cooker.world(0)
        if deeds is not None:
            world.constants[bench.at.ARRIVAL_C], world.constants[bench.at.MEAT_WAIT] = -NEVER, 0.0
            world.constants[bench.at.MEAT_AFTER] = deeds[0] if deeds[0] is not None else NEVER
        trace = np.array(run(world, bench.HOURS, settings(changed), compiled.kernel())).reshape(-1, kernel.TRACE)
        seconds = np.arange(len(trace)) * kernel.PERIOD_S
        meat = np.flatnonzero(trace[:, kernel.T_MEAT] > -99.0)
        weather = np.array(world.weather[bench.at.W_AMBIENT :: bench.at.WEATHER])
        step, on = bench.at.WEATHER_S, float(seconds[meat[0]]) if len(meat) else None
        columns = [trace[:, i] for i in (kernel.T_PIT, kernel.T_DUTY, kernel.T_STATE, kernel.T_REASON)]
        done = [on]
    else:
        cook = cooker.cook(0)
        if deeds is not None:
            for row, when in zip(cook.events, deeds, strict=True):
                row[st.E_CLOCK], row[st.E_WHEN] = st.FROM_START, NEVER if when is None else when
        trace = trial.board(cook, changed)
        seconds = np.arange(len(trace)) * st.PERIOD_S
        on, weather, step = trial.begins(trace, st.T_MEAT), np.array(cook.weather)[0::2], st.WEATHER_S
        columns = [trace[:, i] for i in (st.T_READING, st.T_DUTY, st.T_STATE, st.T_REASON)]
        done = [trial.happened(trace, row) for row in cook.events]
    outside = weather[np.minimum((seconds / step).astype(int), len(weather) - 1)]
    return seconds, columns, outside, on, done


def night(cooker: Any, changed: dict[str, int], deeds: Deeds | None = None) -> tuple[tune.Night, Deeds]:
    """A recorded night, and when each deed of it was done."""
    seconds, (pit, duty, state, reason), outside, on, done = traced(cooker, changed, deeds)
    made = tune.Night(
        seconds, pit, duty, bench.lids(seconds, state, reason), outside_c=outside, meat_on_s=on,
        settings=settings(changed),
    )  # fmt: skip
    return made, done


def one(job: tuple[str, str, int, int]) -> dict[str, Any]:
    """One cooker, one pair of settings."""
    sort, kind, seed, pair = job
    cooker = bench.Own(kind, seed) if sort == "own" else bench.Stranger(kind, seed)
    a, b = PAIRS[pair]
    recorded, deeds = night(cooker, a)
    truth, _ = night(cooker, b, deeds)
    asked = of_night(recorded)
    was, _ = kept(recorded, recorded.pit_cycles(), asked)
    true, _ = kept(recorded, truth.pit_cycles()[: recorded.cycles], asked)
    known = tune.identify(recorded)
    would = through_pit(recorded, settings(b), cooker=known)
    later = np.arange(recorded.cycles) * 2.0 > 5400.0
    error = (would.pit_c - truth.pit_cycles()[: recorded.cycles])[later]
    return {
        "sort": sort, "kind": kind, "seed": seed, "pair": pair, "was": was, "true": true,
        "change": (true or 0.0) - (was or 0.0), "said": would.change, "same": would.same[1],
        "rms_c": float(np.sqrt(np.nanmean(error**2))), "again_c": would.read_again_c, "heat_k": would.heat_k,
       
        "misfit_c": known.misfit_c, "words": bench.in_words_and_true(cooker, known), "lead": would.lead,
        "cannot": render(would.cannot_tell, Reader("C"))[:60],
    }  # fmt: skip


def summary(rows: list[dict[str, Any]]) -> list[str]:
    """The figures of some cooks."""
    told = [row for row in rows if not row["cannot"]]
    large = [row for row in told if abs(row["change"]) > LARGE]
    right = sum(row["said"][1] * row["change"] > 0 for row in large)
    covered = sum(row["said"][0] <= row["change"] <= row["said"][2] for row in told)
    lines = [
        f"{len(rows)} cooks, cannot tell {len(rows) - len(told)}",
        f"sign right in {right} of {len(large)} with a change beyond {LARGE}",
        f"range covers {covered} of {len(told)}",
    ]
    if told:
        lines.append(f"trace: median of {statistics.median(row['rms_c'] for row in told):.2f} C rms, read again "
                     f"{statistics.median(row['again_c'] for row in told):.2f} C")  # fmt: skip
    return lines + bench.covered([row["words"] for row in rows])


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--half", choices=("choose", "report"), default="choose")
    asked.add_argument("--fleet", type=int, default=10)
    asked.add_argument("--strangers", type=int, default=10)
    asked.add_argument("--workers", type=int, default=2)
    asked.add_argument("--json", type=Path)
    asked.add_argument("--smoke", action="store_true", help="one cooker: only to see that it works")
    given = asked.parse_args()
    if given.smoke:
        given.fleet, given.strangers = 1, 0
    first = 2 if given.half == "choose" else 1
    kinds, families = list(KINDS), list(cooks.FAMILIES)
    own = [("own", kinds[i % len(kinds)], first + 2 * i, i % len(PAIRS)) for i in range(given.fleet)]
    others = [("stranger", families[i % len(families)], first + 2 * i, i % len(PAIRS)) for i in range(given.strangers)]
    jobs = [job for pair in zip_longest(own, others) for job in pair if job]  # a run that is broken off has both
    with ProcessPoolExecutor(given.workers) as pool:
        rows = []
        for row in pool.map(one, jobs):
            rows.append(row)
            low, middle, high = row["said"]
            print(
                f"{row['sort']:8} {row['kind']:9} {row['seed']:3} pair {row['pair']}: was {row['was']:.3f} same "
                f"{row['same']:.3f} true {row['true']:.3f} change {row['change']:+.3f} said {middle:+.3f} "
                f"({low:+.3f}..{high:+.3f}) "
                f"misfit {row['misfit_c']:.1f} rms {row['rms_c']:.1f} again {row['again_c']:.2f} "
                f"heat {row['heat_k']:.2f} "
                f"{row['cannot']} | {bench.beside(row['words'])}",
                flush=True,
            )
    for sort in ("own", "stranger"):
        some = [row for row in rows if row["sort"] == sort]
        if some:
            print(sort, *summary(some), sep="\n  ")
    if given.json:
        given.json.write_text(json.dumps(rows, indent=1))


if __name__ == "__main__":
    main()

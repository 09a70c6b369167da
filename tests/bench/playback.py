"""What `replay.through_pit` says of other settings in a recorded night, beside what the true pit makes of them.

    python tests/bench/playback.py [--half choose|report] [--first 1] [--fleet 10] [--strangers 10] [--workers 2]
                                   [--smoke] [--json FILE]

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
import tune_cookers as cookers
from hearth.core import Settings
from strangers import cooks, trial
from strangers import places as st
from tuyere import tune
from tuyere.replay.asked import of_night
from tuyere.replay.played import BETTER, SAME, WORSE, kept, through_pit
from tuyere.sim import compiled, kernel
from tuyere.sim.cookers import KINDS
from tuyere.sim.rehearse import run
from tuyere.text import Reader, render

DEFAULT: dict[str, int] = {}
LOW, HIGH = {"gain": 70}, {"gain": 1200, "lead": 20}
NIGHTS = (  # settings of the night; those asked for
    (DEFAULT, (LOW, HIGH, {"gain": 150, "lead": 30})),
    (LOW, (DEFAULT, {"gain": 150}, HIGH)),
    (DEFAULT, (LOW, HIGH, {"reset": 400, "gain": 500})),
    (HIGH, (DEFAULT, LOW, {"gain": 700})),
)
LARGE = 0.02  # of the share
LATER_S = 5400.0  # the trace is compared from then on
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
    if isinstance(cooker, cookers.Own):
        world = cooker.world(0)
        if deeds is not None:
            world.constants[cookers.at.ARRIVAL_C], world.constants[cookers.at.MEAT_WAIT] = -NEVER, 0.0
            world.constants[cookers.at.MEAT_AFTER] = deeds[0] if deeds[0] is not None else NEVER
        trace = np.array(run(world, cookers.HOURS, settings(changed), compiled.kernel())).reshape(-1, kernel.TRACE)
        seconds = np.arange(len(trace)) * kernel.PERIOD_S
        meat = np.flatnonzero(trace[:, kernel.T_MEAT] > -99.0)
        weather = np.array(world.weather[cookers.at.W_AMBIENT :: cookers.at.WEATHER])
        step, on = cookers.at.WEATHER_S, float(seconds[meat[0]]) if len(meat) else None
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
        seconds, pit, duty, cookers.lids(seconds, state, reason), outside_c=outside, meat_on_s=on,
        settings=settings(changed),
    )  # fmt: skip
    return made, done


def one(job: tuple[str, str, int, int]) -> list[dict[str, Any]]:
    """One cooker, known from one night; a row for each of the settings asked for."""
    sort, kind, seed, number = job
    cooker = cookers.Own(kind, seed) if sort == "own" else cookers.Stranger(kind, seed)
    a, listed = NIGHTS[number]
    recorded, deeds = night(cooker, a)
    asked = of_night(recorded)
    was, _ = kept(recorded, recorded.pit_cycles(), asked)
    known = tune.identify(recorded)
    words = bench.in_words_and_true(cooker, known)
    rows = []
    for b in listed:
        truth = night(cooker, b, deeds)[0].pit_cycles()[: recorded.cycles]
        true, _ = kept(recorded, truth, asked)
        would = through_pit(recorded, settings(b), cooker=known)
        later = np.arange(recorded.cycles) * 2.0 > LATER_S
        rows.append({
            "sort": sort, "kind": kind, "seed": seed, "was": was, "same": would.same[1], "true": true, "a": a, "b": b,
            "change": (true or 0.0) - (was or 0.0), "said": would.change, "answer": would.answer,
            "rms_c": float(np.sqrt(np.nanmean((would.pit_c - truth)[later] ** 2))), "again_c": would.read_again_c,
            "heat_k": would.heat_k, "misfit_c": known.misfit_c, "lead": would.lead, "words": words,
            "cannot": render(would.cannot_tell, Reader("C")),
        })  # fmt: skip
    return rows


def summary(rows: list[dict[str, Any]]) -> list[str]:
    """The figures of some cooks."""
    told = [row for row in rows if not row["cannot"]]
    large = [row for row in told if abs(row["change"]) > LARGE]
    right = sum(row["said"][1] * row["change"] > 0 for row in large)
    missed = [row for row in rows if row["cannot"] and abs(row["change"]) > LARGE]
    covered = sum(row["said"][0] <= row["change"] <= row["said"][2] for row in told)
    lines = [
        f"{len(rows)} answers, cannot tell {len(rows) - len(told)}, {len(missed)} of them with a change beyond {LARGE}",
        f"sign right in {right} of {len(large)} with a change beyond {LARGE}",
        *(f"{word}: {sum(row['answer'] == word for row in told)}" for word in (BETTER, WORSE, SAME)),
        f"range covers {covered} of {len(told)}",
    ]
    if told:
        lines.append(f"trace: median of {statistics.median(row['rms_c'] for row in told):.2f} C rms, read again "
                     f"{statistics.median(row['again_c'] for row in told):.2f} C")  # fmt: skip
    return lines + bench.covered(
        [rows[i]["words"] for i in range(len(rows)) if i == 0 or rows[i]["words"] is not rows[i - 1]["words"]]
    )


def line(row: dict[str, Any]) -> str:
    """One answer."""
    low, middle, high = row["said"]
    return (
        f"{row['sort']:8} {row['kind']:9} {row['seed']:5} {named(row['a'])} -> {named(row['b'])}: "
        f"was {row['was']:.3f} same {row['same']:.3f} true {row['true']:.3f} "
        f"change {row['change']:+.3f} said {middle:+.3f} ({low:+.3f}..{high:+.3f}) "
        f"rms {row['rms_c']:.1f} again {row['again_c']:.2f} heat {row['heat_k']:.2f} misfit {row['misfit_c']:.1f} "
        f"{row['answer'] or row['cannot'][:60]}"
    )


def named(changed: dict[str, int]) -> str:
    """'gain 70 lead 20', 'default'."""
    return " ".join(f"{name} {value}" for name, value in changed.items()) or "default"


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--first", type=int, default=1, help="the least seed")
    asked.add_argument("--half", choices=("choose", "report"), default="choose")
    asked.add_argument("--fleet", type=int, default=10)
    asked.add_argument("--strangers", type=int, default=10)
    asked.add_argument("--workers", type=int, default=2)
    asked.add_argument("--json", type=Path)
    asked.add_argument("--smoke", action="store_true", help="one cooker: only to see that it works")
    given = asked.parse_args()
    if given.smoke:
        given.fleet, given.strangers = 1, 0
    seeds = cooks.seeds(given.half, max(given.fleet, given.strangers), given.first)
    kinds, families = list(KINDS), list(cooks.FAMILIES)
    own = [("own", kinds[i % len(kinds)], seeds[i], i % len(NIGHTS)) for i in range(given.fleet)]
    others = [("stranger", families[i % len(families)], seeds[i], i % len(NIGHTS)) for i in range(given.strangers)]
    jobs = [job for pair in zip_longest(own, others) for job in pair if job]  # a run that is broken off has both
    with ProcessPoolExecutor(given.workers) as pool:
        rows = []
        for some in pool.map(one, jobs):
            rows += some
            for row in some:
                print(line(row), flush=True)
            print(f"    {bench.beside(some[0]['words'])}", flush=True)
    for sort in ("own", "stranger"):
        some = [row for row in rows if row["sort"] == sort]
        if some:
            print(sort, *summary(some), sep="\n  ")
    if given.json:
        given.json.write_text(json.dumps(rows, indent=1))


if __name__ == "__main__":
    main()

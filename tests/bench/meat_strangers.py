"""How good the forecast of the finish is on meat that shares no code and no structure with the project's own.

    python tests/bench/meat_strangers.py [--half choose|report] [--first SEED] [--nights 20] [--generator NAME ...]
                                         [--workers 1] [--smoke] [--json] [--seat]

Three generators of probe curves (`strangers.meats`), each at three paces that were set to common practice (4-8 kg in
paper at 124-132 C: 9, 10.5 and 12.5 h in the median). Numbers of the forecast may be chosen on `choose` (even seeds);
`report` (odd seeds) is for the last word, once. Asked 8, 4, 2 and 1 h before the probe reads its target. Printed: every
cell, and two tables in Markdown, the second with what is wanted, held or not held.
`--seat` asks only what is said of the probe's place, 1, 2 and 3 h after the piece went on.
Rivals: a straight line through the last hour, and minutes per pound; their ranges are those of their own errors.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import sys
from collections.abc import Callable
from typing import TypeVar

import numpy as np
from strangers.cooks import HALVES, seeds
from strangers.meats import judged
from strangers.meats.nights import GENERATORS, PACES

COVER = (0.72, 0.90)
SEAT_WRONG = 0.05
PACE_COVER = {4.0: 0.60, 1.0: 0.70}
ERROR_MIN = {4.0: 60.0, 1.0: 15.0}
OF_LINE, OF_LINE_PACE = 0.85, 1.1
Job = tuple[str, str, int]
T = TypeVar("T")

HEAD = (
    f"{'':8} {'pace':6} {'to go':>5} {'nights':>6} {'inside':>6} {'width':>6} {'error':>6} {'bias':>6} {'line':>6} "
    f"{'min/lb':>6} {'score':>6} {'line':>6} {'min/lb':>6}"
)


def row(generator: str, pace: str, lead: float, one: dict[str, float]) -> str:
    """A line of the table."""
    return (
        f"{generator:8} {pace or 'all':6} {lead:3.0f} h {one['nights']:6.0f} {one['inside']:6.2f} {one['width']:6.0f} "
        f"{one['error']:6.0f} {one['bias']:+6.0f} {one['line']:6.0f} {one['pounds']:6.0f} {one['score']:6.0f} "
        f"{one['line_score']:6.0f} {one['pounds_score']:6.0f}"
    )


def wanted(said: list[judged.Said]) -> list[tuple[str, str, str, bool]]:
    """Every line that is wanted of the generators that were asked: (generator, what, what it is, whether it holds)."""
    found = []
    for generator in GENERATORS:
        mine = [one for one in said if one.generator == generator]
        if not mine:
            continue
        inside = float(np.mean([one.early <= one.truth <= one.late for one in mine]))
        what = f"inside over all, {COVER[0]:.2f}-{COVER[1]:.2f}"
        found.append((generator, what, f"{inside:.2f}", COVER[0] <= inside <= COVER[1]))
        for lead, most in ERROR_MIN.items():
            whole = judged.figures(mine, generator, "", lead)
            by_pace = [one for pace in PACES if (one := judged.figures(mine, generator, pace, lead)) is not None]
            if whole is None:
                continue
            error, line = whole["error"], whole["line"]
            found.append((generator, f"error at {lead:g} h, at most {most:g} min", f"{error:.0f}", error <= most))
            if lead == 4.0:
                told = f"{error / line:.2f}"
                found.append((generator, f"over the line's at 4 h, at most {OF_LINE}", told, error <= OF_LINE * line))
                worst = max(one["error"] / one["line"] for one in by_pace)
                what = f"the same, worst pace, at most {OF_LINE_PACE}"
                found.append((generator, what, f"{worst:.2f}", worst <= OF_LINE_PACE))
            least = min(one["inside"] for one in by_pace)
            what = f"inside at {lead:g} h, worst pace, at least {PACE_COVER[lead]:.2f}"
            found.append((generator, what, f"{least:.2f}", least >= PACE_COVER[lead]))
            rival = min(whole["line_score"], whole["pounds_score"])
            what = f"interval score at {lead:g} h, less than the better rival's"
            found.append((generator, what, f"{whole['score']:.0f} to {rival:.0f}", whole["score"] < rival))
    return found


def report(said: list[judged.Said]) -> list[str]:
    """Two tables in Markdown: the generators over all their paces, and what was wanted, held or not."""
    names = [name for name in GENERATORS if any(one.generator == name for one in said)]
    heads = ["inside, all", *(f"{lead:g} h: inside, error (line's), score (rivals')" for lead in judged.LEADS_H)]
    lines = ["| | " + " | ".join(heads) + " |", "|---" * (len(heads) + 1) + "|"]
    for name in names:
        cells = [f"{np.mean([one.early <= one.truth <= one.late for one in said if one.generator == name]):.2f}"]
        for lead in judged.LEADS_H:
            one = judged.figures(said, name, "", lead)
            cells.append("" if one is None else (
                f"{one['inside']:.2f}, {one['error']:.0f} ({one['line']:.0f}), "
                f"{one['score']:.0f} ({one['line_score']:.0f}, {one['pounds_score']:.0f})"
            ))  # fmt: skip
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    table: dict[str, dict[str, str]] = {}
    for name, what, told, held in wanted(said):
        table.setdefault(what, {})[name] = f"{told}, {'held' if held else '**not held**'}"
    lines += ["", "| wanted | " + " | ".join(names) + " |", "|---" * (len(names) + 1) + "|"]
    lines += [f"| {what} | " + " | ".join(by.get(name, "") for name in names) + " |" for what, by in table.items()]
    return lines


def seat(said: list[judged.Said]) -> str:
    """How often a misplaced probe was spoken of: rightly (it led or lagged the middle by 3 C or more), and wrongly."""
    asked: dict[tuple[str, str, int], list[judged.Said]] = {}
    for one in said:
        asked.setdefault((one.generator, one.pace, one.seed), []).append(one)
    off = [any(abs(one.lead_c) >= judged.MISPLACED_C for one in some) for some in asked.values()]
    told = [any(one.probe for one in some) for some in asked.values()]
    right = sum(a and b for a, b in zip(off, told, strict=True))
    wrong = sum(b and not a for a, b in zip(off, told, strict=True))
    return (
        f"Probes 3 C or more off the middle: {sum(off)} of {len(off)} nights, said of {right}; "
        f"said wrongly of {wrong} of the {len(off) - sum(off)} others."
    )


def worked(work: Callable[[Job], T], jobs: list[Job], workers: int) -> list[T]:
    """The answer to each job, in their order."""
    if workers <= 1:
        return [work(job) for job in jobs]
    with multiprocessing.get_context("spawn").Pool(workers) as pool:
        return pool.map(work, jobs, chunksize=4)


def seats(asked: list[judged.Seat]) -> list[str]:
    """A table in Markdown: of the probes that were misplaced, and of the others, so many were called each place."""
    off, sound = ([one for one in asked if one.misplaced is is_off] for is_off in (True, False))
    heads = ["probes", "something said", *judged.PLACES]
    lines = ["| in the first 3 h | " + " | ".join(heads) + " |", "|---" * (len(heads) + 1) + "|"]
    names = (f"{judged.MISPLACED_C:g} C or more off the middle", "the others")
    for name, some in zip(names, (off, sound), strict=True):
        by = [sum(place in one.places for one in some) for place in judged.PLACES]
        cells = [len(some), sum(bool(one.places) for one in some), *by]
        lines.append(f"| {name} | " + " | ".join(map(str, cells)) + " |")
    return lines


def main() -> int:
    """Print the table; 1 if something wanted is missed on 100 nights a cell or more."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--half", choices=list(HALVES), default="choose", help="even or odd seeds")
    parser.add_argument("--first", type=int, default=1, help="the first seed")
    parser.add_argument("--nights", type=int, default=20, help="of each generator and pace")
    parser.add_argument("--generator", action="append", choices=list(GENERATORS))
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--smoke", action="store_true", help="one night of each generator")
    parser.add_argument("--json", action="store_true", help="data on stdout, the tables on stderr")
    parser.add_argument("--seat", action="store_true", help="only what is said of the probe's place in the first 3 h")
    given = parser.parse_args()
    if hasattr(os, "nice"):
        os.nice(15)
    nights, paces = (1, ("usual",)) if given.smoke else (given.nights, PACES)
    jobs = [
        (generator, pace, seed)
        for generator in given.generator or GENERATORS
        for pace in paces
        for seed in seeds(given.half, nights, given.first)
    ]
    out = sys.stderr if given.json else sys.stdout
    print(f"half: {given.half}, seeds from {given.first}, {nights} nights a generator and pace", file=out)
    if given.seat:
        asked = [one for one in worked(judged.seat, jobs, given.workers) if one is not None]
        print("\n".join(seats(asked)), file=out)
        if given.json:
            print(json.dumps([vars(one) for one in asked]))
        sound = [one for one in asked if not one.misplaced]
        return 1 if nights >= 40 and sum(bool(one.places) for one in sound) > SEAT_WRONG * len(sound) else 0
    results = worked(judged.work, jobs, given.workers)
    said = [one for some in results for one in some]
    print(f"{sum(1 for some in results if not some)} of {len(jobs)} nights never reached their target.", file=out)
    print(HEAD, file=out)
    for cell in judged.cells(said):
        print(row(*cell), file=out)
    print(seat(said), file=out)
    print(f"CPU a forecast: {np.median([one.cpu for one in said]):.2f} s", file=out)
    print("\n".join(["", *report(said)]), file=out)
    short = sum(not held for _, _, _, held in wanted(said))
    if given.json:
        print(json.dumps([vars(one) for one in said]))
    return 1 if short and nights >= 100 else 0


if __name__ == "__main__":
    sys.exit(main())

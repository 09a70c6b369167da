"""How well the band is held on pits that the law has never met: five families of `strangers`, 14 h each.

    python tests/bench/hold_strangers.py [--half choose|report] [--first SEED] [--cooks 60] [--air 1.0]
                                         [--set NAME=VALUE ...] [--all] [--family NAME ...]
                                         [--search N] [--workers 0] [--smoke] [--json]

Numbers of the law may be chosen on the half `choose` (even seeds); `report` (odd seeds) is for the last word, once.
Only cooks that a fan can hold at all count; that is found by running the pit itself. Share in band as in
`tuyere.score`: from the meat going on (1 h without), or 10 min after the first arrival if that is later.
`--set gain=200 --set reset=900` tries settings of the board; `--air 2` a fan of twice the air on the same cookers;
`--all` puts on/off and simple-pid, untuned and with SIMC gains of each cooker, beside the board's law.
`--search N` runs N cooks of each family under `strangers.search`, which knows the pit, the weather and the noise, but
no lid before it goes up, and under the law with each of GAINS and no learning. What the law is judged by is the better
of the search and of that night's best gain.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from collections.abc import Sequence
from functools import partial
from typing import Any

from strangers import others, trial
from strangers.cooks import FAMILIES, HALVES, WORDS, draw, seeds
from strangers.trial import Outcome

COMPARED = ("law", "search", "gain", "better", "below", "most")
GAINS = (90, 125, 175, 250, 350, 500)  # board units; the best of them is known only after the night
WITHIN = 0.012  # so much the law may be below the better of the two
WANTED = 0.90  # the least share of a cook; what is below it is looked at beside the search


def run(job: tuple[str, str, int, float, float], change: dict[str, int]) -> tuple[str, Outcome]:
    """One cook: (why it cannot be held or "", what came of it)."""
    who, family, seed, air, hours = job
    cook = draw(family, seed, air, hours)
    why = trial.holdable(cook)
    if who == "board":
        trace = trial.board(cook, change)
    else:
        trace = others.run(cook, others.law(who, cook))
    return why, trial.judge(cook, trace)


def compare(job: tuple[str, int, float, float], change: dict[str, int]) -> tuple[str, str, float, float, float]:
    """(family, why it cannot be held or "", share in band of the law, of the search, of the best gain in hindsight)."""
    family, seed, air, hours = job
    cook = draw(family, seed, air, hours)
    law = trial.judge(cook, trial.board(cook, change)).in_band
    search = trial.judge(cook, trial.search(cook)).in_band
    best = max(trial.judge(cook, trial.board(cook, {**change, "gain": gain, "learn": 0})).in_band for gain in GAINS)
    return family, trial.holdable(cook), law, search, best


def beside_lowest(
    results: Sequence[tuple[str, Outcome]], air: float, hours: float, workers: int
) -> list[dict[str, Any]]:
    """Print each cook below WANTED beside the search, which shows how much of it no control can reach; as data, too."""
    lowest = [one for why, one in results if not why and one.in_band < WANTED]
    found = trial.each(foreseen, [(one.family, one.seed, air, hours) for one in lowest], workers) if lowest else []
    print(f"below {WANTED:.2f}: {len(lowest)}" + ", beside a search that knows the weather" * bool(lowest))
    rows = []
    for one, (search, full) in zip(lowest, found, strict=True):
        print(f"  {one.name}: {one.in_band:.3f}, the search {search:.3f}, of it too cold under its full fan {full:.3f}")
        rows.append({"cook": one.name, "law": one.in_band, "search": search, "full": full})
    return rows


def foreseen(job: tuple[str, int, float, float]) -> tuple[float, float]:
    """(share in band of the search, share that it stands below the band with nearly all of the fan)."""
    cook = draw(*job)
    trace = trial.search(cook)
    return trial.judge(cook, trace).in_band, trial.too_weak(cook, trace)


def beside_search(results: Sequence[tuple[str, str, float, float, float]]) -> list[dict[str, Any]]:
    """Print the law beside the search and the best gains, by family; the same as data."""
    rows = []
    print("\nthe law beside a search that knows all but when a lid goes up, and beside the best gain of each night")
    print(f"{'':12} {'cooks':>5} {'law':>7} {'search':>7} {'gain':>7} {'better':>7} {'below':>7} {'most':>7}")
    for name in (*FAMILIES, "all"):
        mine = [one[2:] for one in results if not one[1] and name in (one[0], "all")]
        if mine:
            below = [max(search, gain) - law for law, search, gain in mine]
            columns = [statistics.mean(column) for column in zip(*mine, strict=True)]
            better = statistics.mean(max(search, gain) for _, search, gain in mine)
            figures = [*columns, better, statistics.mean(below), max(below)]
            rows.append({"family": name, "cooks": len(mine), **dict(zip(COMPARED, figures, strict=True))})
            print(f"{name:12} {len(mine):5}" + "".join(f" {figure:7.4f}" for figure in figures))
    if rows:
        print(f"the law is {rows[-1]['below']:.4f} below the better of the two; wanted: {WITHIN}")
    return rows


def quantile(values: Sequence[float], share: float) -> float:
    """The value that `share` of them do not reach, by linear interpolation."""
    ranked = sorted(values)
    place = share * (len(ranked) - 1)
    low = int(place)
    high = min(low + 1, len(ranked) - 1)
    return ranked[low] + (ranked[high] - ranked[low]) * (place - low)


def row(found: Sequence[Outcome]) -> dict[str, Any]:
    """The figures of one line: shares in band, fires put out, doubted, first arrivals over, minutes back."""
    shares = [one.in_band for one in found]
    worst = min(found, key=lambda one: one.in_band)
    return {
        "cooks": len(found),
        "mean": statistics.mean(shares),
        "q5": quantile(shares, 0.05),
        "worst": worst.in_band,
        "worst_cook": worst.name,
        "put_out": sum(one.put_out for one in found),
        "doubted": sum(one.doubted for one in found),
        "over": sum(one.over_c > trial.NEAR_C for one in found),
        "over_most_c": max(one.over_c for one in found),
        "back_min": trial.middle([back for one in found for back in one.backs_min]),
    }


HEAD = (
    f"{'':12} {'cooks':>5} {'mean':>6} {'5 %':>6} {'worst':>6} {'put out':>7} {'doubted':>7} {'over':>4} "
    f"{'most':>7} {'back':>8}  worst cook"
)


def line(name: str, one: dict[str, Any]) -> str:
    """A line of the table."""
    back = "-" if one["back_min"] is None else f"{one['back_min']:.1f} min"
    return (
        f"{name:12} {one['cooks']:5} {one['mean']:6.3f} {one['q5']:6.3f} {one['worst']:6.3f} {one['put_out']:7} "
        f"{one['doubted']:7} {one['over']:4} {one['over_most_c']:5.1f} C {back:>8}  {one['worst_cook']}"
    )


def table(who: str, results: Sequence[tuple[str, Outcome]]) -> dict[str, Any]:
    """Print one controller's table; the same as data."""
    rows = {}
    held = [one for why, one in results if not why]
    print(f"\n{others.CONTROLLERS[who]}")
    print(HEAD)
    for family in FAMILIES:
        mine = [one for one in held if one.family == family]
        if mine:
            rows[family] = row(mine)
            print(line(family, rows[family]))
    if held:
        rows["all"] = row(held)
        print(line("all", rows["all"]))
        worst = sorted(held, key=lambda one: one.in_band)[:10]
        print("  lowest: " + ", ".join(f"{one.name} {one.in_band:.3f}" for one in worst))
    return rows


def settings(given: Sequence[str], parser: argparse.ArgumentParser) -> dict[str, int]:
    """NAME=VALUE in the board's units; what the board would refuse ends the program with the reason."""
    found = {}
    for one in given:
        name, _, value = one.partition("=")
        try:
            found[name] = int(value)
        except ValueError:
            parser.error(f"--set {one}: give NAME=VALUE with a whole number in the board's units, such as gain=350")
    try:
        trial.check(found)
    except ValueError as wrong:
        parser.error(f"--set: {wrong}")
    return found


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--half", choices=list(HALVES), default="choose", help="even or odd seeds")
    parser.add_argument("--first", type=int, default=1, help="the first seed; 5001 for seeds that nobody has seen")
    parser.add_argument("--cooks", type=int, default=60, help="of each family")
    parser.add_argument("--hours", type=float, default=14.0)
    parser.add_argument("--air", type=float, default=1.0, help="the fan's air, times what was drawn")
    parser.add_argument("--set", action="append", default=[], metavar="NAME=VALUE", help="a setting, in board units")
    parser.add_argument("--family", action="append", choices=list(FAMILIES))
    parser.add_argument("--all", action="store_true", help="on/off and simple-pid beside it")
    parser.add_argument("--search", type=int, default=0, metavar="N", help="only this, with N cooks of each family")
    parser.add_argument("--workers", type=int, default=0, help="cores; 0 all there are")
    parser.add_argument("--smoke", action="store_true", help="1 cook of each family, 3 h: only to see that it works")
    parser.add_argument("--json", action="store_true", help="data on stdout, the tables on stderr")
    given = parser.parse_args()
    change = settings(given.set, parser)
    cooks, hours = (1, 3.0) if given.smoke else (given.search or given.cooks, given.hours)
    if cooks < 1 or hours < 1.0 or given.search < 0:
        parser.error("give at least one cook and one hour")
    data, sys.stdout = sys.stdout, sys.stderr if given.json else sys.stdout
    families = given.family or list(FAMILIES)
    print(f"half: {given.half} ({'even' if given.half == 'choose' else 'odd'} seeds from {given.first}), ", end="")
    print(f"{cooks} cooks a family, ", end="")
    print(f"{hours:g} h each, fan x {given.air:g}" + "".join(f", {name} {value}" for name, value in change.items()))
    for family in families:
        print(f"  {family:8} {WORDS[family]}")
    found: dict[str, Any] = {
        "half": given.half,
        "first": given.first,
        "air": given.air,
        "settings": change,
        "hours": hours,
        "cooks": {},
    }
    if given.search:
        jobs = [
            (family, seed, given.air, hours)
            for family in families
            for seed in seeds(given.half, given.search, given.first)
        ]
        found["search"] = beside_search(trial.each(partial(compare, change=change), jobs, given.workers))
        if given.json:
            print(json.dumps(found), file=data)
        return
    for who in list(others.CONTROLLERS) if given.all or given.smoke else ["board"]:
        began = time.perf_counter()
        jobs = [
            (who, family, seed, given.air, hours)
            for family in families
            for seed in seeds(given.half, cooks, given.first)
        ]
        results = trial.each(partial(run, change=change), jobs, given.workers)
        found[who] = table(who, results)
        found["cooks"][who] = [{**vars(one), "cannot": why} for why, one in results]
        print(f"{who}: {time.perf_counter() - began:.1f} s", file=sys.stderr)
        if who == "board":
            over = [one for why, one in results if not why and one.over_c > trial.NEAR_C]
            alone = [f"{one.name} {one.over_alone_c:.1f} C" for one in over if one.over_alone_c > trial.NEAR_C]
            print(f"over before any lid: {len(alone)} of {len(over)} " + ", ".join(alone))
            found["lowest"] = beside_lowest(results, given.air, hours, given.workers)
            cannot = [f"{one.name}: {why}" for why, one in results if why]
            print(f"not counted, no fan can hold them: {len(cannot)}" + "".join(f"\n  {one}" for one in cannot))
    if given.json:
        print(json.dumps(found), file=data)


if __name__ == "__main__":
    main()

"""What learning is worth on pits that the law has never met, and whether anything misleads it.

    python tests/bench/learn_strangers.py [--half choose|report] [--first SEED] [--cookers 2] [--nights 10]
                                          [--attack NAME ...] [--carried SHARE ...] [--workers 0] [--smoke] [--json]

Every night is cooked twice, with learning on and off (setting `learn`); both climb alike. A line is an attack on
`--cookers` of each family, `--nights` each: the mean share in band with and without, the mean of the pairs'
differences, the worst pair, and the cooker that loses most in the mean of its nights. Nights that nothing can hold
count, too: both boards have the same. Wanted: no cooker is worse by more than 0.003 in the mean of its nights; those
that are, are named.
`--carried 25` begins the ordinary nights with what another cooker taught the board, 25 % of the set gain.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
from collections.abc import Sequence
from functools import partial
from typing import Any

from strangers import trial
from strangers.attacks import ATTACKS, attacked
from strangers.cooks import FAMILIES, HALVES, draw, seeds

ALLOWED = 0.003
PLAIN = "ordinary"


def pair(job: tuple[str, str, int, int], carried: int) -> tuple[str, float, float]:
    """(the cook's name, share in band with learning, and without it)."""
    name, family, seed, night = job
    cook = draw(family, seed, night=night) if name == PLAIN else attacked(name, family, seed, night)
    learning = trial.judge(cook, trial.board(cook, {"learn": 1}, learned=carried)).in_band
    return cook.name, learning, trial.judge(cook, trial.board(cook, {"learn": 0})).in_band


def row(name: str, found: Sequence[tuple[str, float, float]], nights: int) -> dict[str, Any]:
    """The figures of one line; the nights of a cooker stand together."""
    gains = [learning - without for _, learning, without in found]
    worst = min(gains)
    cookers = {found[i][0]: statistics.mean(gains[i : i + nights]) for i in range(0, len(found), nights)}
    return {
        "attack": name,
        "nights": len(found),
        "with": statistics.mean(one[1] for one in found),
        "without": statistics.mean(one[2] for one in found),
        "gain": statistics.mean(gains),
        "worst": worst,
        "worst_cook": found[gains.index(worst)][0],
        "cookers": cookers,
        "worse": {cooker: gain for cooker, gain in cookers.items() if gain < -ALLOWED},
    }


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--half", choices=list(HALVES), default="choose", help="even or odd seeds")
    parser.add_argument("--first", type=int, default=1, help="the first seed; 5001 for seeds that nobody has seen")
    parser.add_argument("--cookers", type=int, default=2, help="of each family")
    parser.add_argument("--nights", type=int, default=10, help="of each cooker, under each attack")
    parser.add_argument("--attack", action="append", choices=[PLAIN, *ATTACKS])
    parser.add_argument("--carried", type=float, action="append", default=[], help="learned before, %% of the set gain")
    parser.add_argument("--workers", type=int, default=0, help="cores; 0 all there are")
    parser.add_argument("--smoke", action="store_true", help="1 night of each: only to see that it works")
    parser.add_argument("--json", action="store_true", help="data on stdout, the table on stderr")
    given = parser.parse_args()
    cookers, nights = (1, 1) if given.smoke else (given.cookers, given.nights)
    if cookers < 1 or nights < 1:
        parser.error("give at least one cooker and one night")
    if any(not 15.0 <= share <= 150.0 for share in given.carried):
        parser.error("--carried: give 15 to 150 %")
    data, sys.stdout = sys.stdout, sys.stderr if given.json else sys.stdout
    rows = []
    print(f"half: {given.half}, from seed {given.first}, {cookers} cookers a family, {nights} nights each")
    print(f"{'':22} {'nights':>6} {'with':>6} {'without':>7} {'gain':>7} {'worst':>7} {'cooker':>7}  worst night")
    lines = [(name, 1000) for name in given.attack or (PLAIN, *ATTACKS)]
    lines += [(PLAIN, round(share * 10)) for share in given.carried]
    drawn = seeds(given.half, cookers, given.first)
    for name, carried in lines:
        jobs = [(name, family, seed, night) for family in FAMILIES for seed in drawn for night in range(nights)]
        found = trial.each(partial(pair, carried=carried), jobs, given.workers)
        one = row(name if carried == 1000 else f"{name}, from {carried / 10:g} %", found, nights)
        rows.append(one)
        print(
            f"{one['attack']:22} {one['nights']:6} {one['with']:6.3f} {one['without']:7.3f} {one['gain']:+7.4f} "
            f"{one['worst']:+7.3f} {min(one['cookers'].values()):+7.4f}  {one['worst_cook']}",
            flush=True,
        )
        for cooker, gain in one["worse"].items():
            print(f"  TOO MUCH: {cooker}: {gain:+.4f} in the mean of its nights", flush=True)
    if given.json:
        print(json.dumps(rows), file=data)


if __name__ == "__main__":
    main()

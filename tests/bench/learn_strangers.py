"""What learning is worth on pits that the law has never met, and whether anything misleads it.

    python tests/bench/learn_strangers.py [--half choose|report] [--first SEED] [--nights 10] [--carried SHARE ...]
                                          [--workers 0] [--smoke] [--json]

Every night is cooked twice, with learning on and off (setting `learn`); both climb alike. A line is an attack: the mean
share in band with and without, the mean of the pairs' differences, and the worst pair. Nights that nothing can hold
count, too: both boards have the same. Wanted: in no line the mean is worse by more than 0.003. `--carried 25` begins
the ordinary nights with what another cooker taught the board, 25 % of the set gain.
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


def pair(job: tuple[str, str, int], carried: int) -> tuple[str, float, float]:
    """(the cook's name, share in band with learning, and without it)."""
    name, family, seed = job
    cook = draw(family, seed) if name == PLAIN else attacked(name, family, seed)
    learning = trial.judge(cook, trial.board(cook, {"learn": 1}, learned=carried)).in_band
    return cook.name, learning, trial.judge(cook, trial.board(cook, {"learn": 0})).in_band


def row(name: str, found: Sequence[tuple[str, float, float]]) -> dict[str, Any]:
    """The figures of one line."""
    gains = [learning - without for _, learning, without in found]
    worst = min(gains)
    return {
        "attack": name,
        "nights": len(found),
        "with": statistics.mean(one[1] for one in found),
        "without": statistics.mean(one[2] for one in found),
        "gain": statistics.mean(gains),
        "worst": worst,
        "worst_cook": found[gains.index(worst)][0],
        "good": statistics.mean(gains) >= -ALLOWED,
    }


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--half", choices=list(HALVES), default="choose", help="even or odd seeds")
    parser.add_argument("--first", type=int, default=1, help="the first seed; 5001 for seeds that nobody has seen")
    parser.add_argument("--nights", type=int, default=10, help="of each attack and family")
    parser.add_argument("--carried", type=float, action="append", default=[], help="learned before, %% of the set gain")
    parser.add_argument("--workers", type=int, default=0, help="cores; 0 all there are")
    parser.add_argument("--smoke", action="store_true", help="1 night of each: only to see that it works")
    parser.add_argument("--json", action="store_true", help="data on stdout, the table on stderr")
    given = parser.parse_args()
    nights = 1 if given.smoke else given.nights
    if nights < 1:
        parser.error("give at least one night")
    if any(not 25.0 <= share <= 150.0 for share in given.carried):
        parser.error("--carried: give 25 to 150 %")
    data, sys.stdout = sys.stdout, sys.stderr if given.json else sys.stdout
    rows = []
    print(f"half: {given.half}, from seed {given.first}, {nights} nights a family and line")
    print(f"{'':22} {'nights':>6} {'with':>6} {'without':>7} {'gain':>7} {'worst':>7}  worst night")
    lines = [(name, 1000) for name in (PLAIN, *ATTACKS)] + [(PLAIN, round(share * 10)) for share in given.carried]
    for name, carried in lines:
        jobs = [(name, family, seed) for family in FAMILIES for seed in seeds(given.half, nights, given.first)]
        found = trial.each(partial(pair, carried=carried), jobs, given.workers)
        one = row(name if carried == 1000 else f"{name}, from {carried / 10:g} %", found)
        rows.append(one)
        print(
            f"{one['attack']:22} {one['nights']:6} {one['with']:6.3f} {one['without']:7.3f} {one['gain']:+7.4f} "
            f"{one['worst']:+7.3f}  {one['worst_cook']}{'' if one['good'] else '  TOO MUCH'}",
            flush=True,
        )
    if given.json:
        print(json.dumps(rows), file=data)


if __name__ == "__main__":
    main()

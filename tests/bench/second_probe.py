"""A second probe at the grate beside the pit's: is a good pit probe left alone, and a bad one called?

    python tests/bench/second_probe.py [--half choose|report] [--cooks 30] [--first 1] [--workers 0] [--smoke] [--json]

On the five families of `strangers`, only cooks that a fan can hold. The second probe has a sheath of 8 to 60 s and
hangs where the air rises up to 8 % more or less than at the pit's probe; every fifth good pit probe hangs in a
draught. It goes into the meat when that goes on, and nobody says so. "Called": the board says that the pit's probe
reads low. "True" is the air at the grate until the meat goes on. Even seeds may choose numbers of the law, odd ones are
reported, once; `--first 5001` draws seeds that nobody has looked at.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from typing import Any

import numpy as np
from hearth.core import fields
from hold_strangers import quantile
from strangers import ails, trial
from strangers import places as at
from strangers.cooks import FAMILIES, HALVES, draw, seeds

MINUTE = at.PERIOD_S / 60.0
SETTLED = 300  # cycles from the call until the pit is held by the second probe, 10 min


def first(mask: Any) -> float | None:
    """Minutes to the first cycle of the mask; None if there is none."""
    found = np.flatnonzero(mask)
    return float(found[0]) * MINUTE if len(found) else None


def run(job: tuple[str, str, int]) -> dict[str, Any]:
    """One cook: what the second probe said of the pit's, and how hot the pit was."""
    kind, family, seed = job
    cook = ails.bad(kind, family, seed)
    trace = trial.board(cook)
    meat = trial.begins(trace, at.T_MEAT)
    before = int(meat / at.PERIOD_S) if meat is not None else len(trace)
    says, true = trace[:, at.T_WITNESS], trace[:, at.T_TRUE]
    called = first(says == fields.WITNESS_PIT_LOW)
    since = before if called is None else int(called / MINUTE) + SETTLED
    follow = next((row[at.E_A] for row in cook.events if row[at.E_KIND] == at.SLIP), 1.0)
    outcome = trial.judge(cook, trace)
    return {
        "name": cook.name,
        "kind": kind,
        "follow": follow,
        "cannot": trial.holdable(draw(family, seed)),
        "called_min": called,
        "agrees_min": first(says == fields.WITNESS_AGREES),
        "low": bool((says == fields.WITNESS_LOW).any()),
        "true_c": float(true[:before].max()),
        "held_c": float(np.median(true[since:before])) if since < before else None,
        "ends_min": float(np.flatnonzero(says)[-1] - before) * MINUTE,
        "doubted": bool(outcome.doubted_min),
        "trips": outcome.trips,
    }


HEAD = (
    f"{'':22} {'follows':>7} {'cooks':>5} {'called':>7} {'after (median, 95 %)':>20} {'agrees':>7} {'reads low':>9} "
    f"{'true 95 %':>9} {'most':>6} {'held at':>8} {'put out':>7}"
)


def line(kind: str, follow: float, mine: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Print one line; the same as data."""
    calls = [one["called_min"] for one in mine if one["called_min"] is not None]
    held = [one["held_c"] for one in mine if one["held_c"] is not None and one["called_min"] is not None]
    highs = [one["true_c"] for one in mine]
    row = {
        "follow": follow,
        "cooks": len(mine),
        "called": len(calls),
        "called_min": trial.middle(calls),
        "called_95_min": quantile(calls, 0.95) if calls else None,
        "agrees": sum(one["agrees_min"] is not None for one in mine),
        "low": sum(one["low"] for one in mine),
        "true_95_c": quantile(highs, 0.95),
        "true_most_c": max(highs),
        "held_c": trial.middle(held),
        "put_out": sum(bool(one["trips"]) for one in mine),
        "ends_most_min": max(one["ends_min"] for one in mine),
    }
    after = f"{row['called_min']:.0f}, {row['called_95_min']:.0f} min" if calls else "-"
    at_c = f"{row['held_c']:.0f} C" if held else "-"
    print(
        f"{kind:22} {follow:7.1f} {len(mine):5} {len(calls) / len(mine):7.0%} {after:>20} {row['agrees']:7} "
        f"{row['low']:9} {row['true_95_c']:7.0f} C {row['true_most_c']:4.0f} C {at_c:>8} {row['put_out']:7}"
    )
    return row


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--half", choices=list(HALVES), default="choose", help="even or odd seeds")
    parser.add_argument("--cooks", type=int, default=30, help="of each family and kind")
    parser.add_argument("--first", type=int, default=1, help="first seed: from 5001 on nobody has looked at any")
    parser.add_argument("--workers", type=int, default=0, help="cores; 0 all there are")
    parser.add_argument("--smoke", action="store_true", help="1 cook of each: only to see that it works")
    parser.add_argument("--json", action="store_true", help="data on stdout, the table on stderr")
    given = parser.parse_args()
    if given.cooks < 1 or given.first < 1:
        parser.error("give at least one cook, and seeds from 1 on")
    data, sys.stdout = sys.stdout, sys.stderr if given.json else sys.stdout
    drawn = seeds(given.half, 1 if given.smoke else given.cooks, given.first)
    print(f"half: {given.half} ({'even' if given.half == 'choose' else 'odd'} seeds from {drawn[0]} on)")
    print(HEAD)
    report: dict[str, Any] = {"half": given.half, "first": given.first, "kinds": {}, "cooks": []}
    for kind in ails.SECOND:
        jobs = [(kind, family, seed) for family in FAMILIES for seed in drawn]
        found = [one for one in trial.each(run, jobs, given.workers) if not one["cannot"]]
        follows = sorted({one["follow"] for one in found})
        report["kinds"][kind] = [
            line(kind, follow, [one for one in found if one["follow"] == follow]) for follow in follows
        ]
        report["cooks"] += found
        wrong = [one["name"] for one in found if one["follow"] >= 1.0 and (one["called_min"] is not None or one["low"])]
        if wrong:
            print("  called though it lies right: " + ", ".join(wrong))
    if given.json:
        print(json.dumps(report), file=data)


if __name__ == "__main__":
    main()

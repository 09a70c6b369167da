"""How well the band is held: all controllers on the same cooks, then the board's law on cooks that are harder.

    python tests/bench/hold.py [--smoke] [--seeds 8] [--hours 14] [--json] [CONTROLLER ...]

The first table is one run of every controller on kinds x seeds. It only counts if on/off comes to 0.35-0.50 and the
untuned simple-pid to 0.80-0.91 on it. The second part says, for each hardship, the share in band and what the
board said meanwhile.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from hearth.core import Settings
from tuyere.sim import fleet, oracle, rivals
from tuyere.sim.cookers import KINDS
from tuyere.sim.hardships import HARDSHIPS
from tuyere.sim.kernel import PERIOD_S
from tuyere.sim.rehearse import Rehearsal
from tuyere.sim.step_response import identify
from tuyere.tune.limits import limits

BEFORE_MIN = 180.0  # `fading` that is older than this did not speak of this loss
EARLY_MIN = 15.0
ENOUGH = 20  # cooks


def told(done: int, count: int) -> None:
    """Progress where somebody looks."""
    if sys.stderr.isatty():
        print(f"\r{done} of {count} cooks", end="\n" if done == count else "", file=sys.stderr, flush=True)


def fading_lead(found: Rehearsal) -> float | None:
    """Minutes from the board saying `fading` to the band being lost; None when it did not say so before."""
    assert found.lost_min is not None
    said = [at for at, word in found.changes if word == "fading" and 0.0 <= found.lost_min - at <= BEFORE_MIN]
    return found.lost_min - said[0] if said else None


def called_after(found: Rehearsal) -> float | None:
    """Minutes from the meat going on to the board's first call: fading, or a trip."""
    on = found.meat_on_min or 0.0
    return next((at - on for at, word in found.changes if at > on and word in ("fading", "tripped")), None)


def mean_minutes(found: Sequence[Rehearsal], what: str) -> dict[str, float]:
    """Mean minutes a cook of each state or reason, longest first."""
    total: Counter[str] = Counter()
    for one in found:
        total.update(getattr(one, what))
    return {word: minutes / len(found) for word, minutes in total.most_common()}


def judged(name: str, found: Sequence[Rehearsal]) -> list[str]:
    """What is asked of one hardship beside the share in band."""
    if name == "fuel ends":
        lost = [one for one in found if one.lost_min is not None]
        leads = [fading_lead(one) for one in lost]
        early = sum(1 for lead in leads if lead is not None and lead >= EARLY_MIN)
        known = [lead for lead in leads if lead is not None]
        middle = f"{statistics.median(known):.0f} min ahead (median)" if known else "never ahead"
        when = f", at {statistics.median([one.lost_min or 0.0 for one in lost]) / 60.0:.1f} h (median)" if lost else ""
        return [
            f"band lost in {len(lost)} of {len(found)} cooks{when}",
            f"fading said {EARLY_MIN:g} min or more before that in {early} of {len(lost)}; {middle} in {len(known)}",
            f"fan in the last half hour {statistics.mean(one.fan_end for one in found):.0%} on average",
        ]
    if name == "probe slips":
        said = [called_after(one) for one in found]
        known = [minutes for minutes in said if minutes is not None]
        return [
            "(the share is that of the slipped probe's own reading)",
            f"called in {len(known)} of {len(found)} cooks, after {statistics.median(known):.0f} min (median), "
            f"{max(known):.0f} at most",
            f"true air at most {max(one.air_highest_c for one in found):.0f} C, "
            f"median of the cooks' highest {statistics.median(one.air_highest_c for one in found):.0f} C",
        ]
    if name in ("leak", "probe falls"):
        still = [one.fan_still_min - (one.meat_on_min or 0.0) - 90.0 for one in found if one.fan_still_min is not None]
        after = f", the last time {statistics.median(still):.0f} min after it began (median)" if still else ""
        by_probe = ["(the share is that of the fallen probe's own reading)"] if name == "probe falls" else []
        return [
            *by_probe,
            f"fan stopped for good in {len(still)} of {len(found)} cooks{after}",
            f"true air at most {max(one.air_highest_c for one in found):.0f} C, "
            f"median of the cooks' highest {statistics.median(one.air_highest_c for one in found):.0f} C",
        ]
    return []


def first_table(names: Sequence[str], seeds: Sequence[int], kinds: Sequence[str], hours: float) -> dict[str, Any]:
    """Every controller on the same cooks; printed, and returned for JSON."""
    summaries, groups = [], {}
    for name in names:
        began = time.perf_counter()
        groups[name] = fleet.sweep(fleet.cases(name, kinds, seeds, hours), progress=told)
        summaries.append(fleet.summary(name, groups[name]))
        print(f"{name}: {time.perf_counter() - began:.1f} s", file=sys.stderr)
    print(f"{len(kinds)} kinds x {len(seeds)} seeds, {hours:g} h each")
    print("\n".join(fleet.table(summaries)))
    for one in summaries:
        by_kind = "  ".join(f"{kind} {share:.3f}" for kind, share in (one.by_kind or {}).items())
        never = f"  never in band {one.never}" if one.never else ""
        print(f"  {one.controller:8} {by_kind}  worst {one.worst_cook}{never}")
    print(
        f"untuned: full fan {rivals.UNTUNED_C:g} C below the middle, reset {rivals.UNTUNED_S:g} s, no derivative. "
        f"upper: a choice every {oracle.STEP * PERIOD_S:g} s, {oracle.LOOK * PERIOD_S / 60:g} min ahead."
    )
    if len(kinds) * len(seeds) < ENOUGH or hours < 10.0:
        print("too small a fleet to judge by")
        return {"fleet": [one.as_dict() for one in summaries]}
    shares = {one.controller: one.in_band for one in summaries}
    for name, low, high in (("on-off", 0.35, 0.50), ("untuned", 0.80, 0.91)):
        if name in shares:
            word = "counts" if low <= shares[name] <= high else "DOES NOT COUNT"
            print(f"the fleet {word}: {name} {shares[name]:.3f}, wanted {low:.2f}-{high:.2f}")
    for name, word in (("upper", "knows the future"), ("unwarned", "knows all but when the lid goes up")):
        if {"board", name} <= shares.keys():
            print(f"board below the reference that {word}: {shares[name] - shares['board']:.4f}, wanted <= 0.0150")
    if "board" in groups:
        false = [f"{one.cooker} {one.seed}" for one in groups["board"] if one.states_min.get("fading")]
        print(
            f"fading said in {len(false)} of {len(groups['board'])} ordinary cooks"
            + f" ({', '.join(false)})" * bool(false)
        )
    return {"fleet": [one.as_dict() for one in summaries]}


def second_table(seeds: Sequence[int], kinds: Sequence[str], hours: float) -> dict[str, Any]:
    """The board's law under each hardship; printed, and returned for JSON."""
    rows = {}
    for name, hardship in HARDSHIPS.items():
        found = fleet.sweep(fleet.cases("board", kinds, seeds, hours, name), progress=told)
        total = fleet.summary("board", found)
        states, reasons = mean_minutes(found, "states_min"), mean_minutes(found, "reasons_min")
        words = judged(name, found)
        print(
            f"\n{hardship.words}: in band {total.in_band:.3f}, worst {total.worst:.3f} ({total.worst_cook}), ", end=""
        )
        print(f"first arrival {total.over_c:.1f} C over at most, {total.trips} trips in {len(found)} cooks")
        print("  states, min:  " + ", ".join(f"{word} {minutes:.0f}" for word, minutes in states.items()))
        print("  reasons, min: " + ", ".join(f"{word} {minutes:.0f}" for word, minutes in reasons.items()))
        for line in words:
            print(f"  {line}")
        rows[name] = {**total.as_dict(), "states_min": states, "reasons_min": reasons, "judged": words}
    return rows


def own_limits(seeds: Sequence[int], kinds: Sequence[str], hours: float) -> dict[str, Any]:
    """The same ordinary cooks with the trip limits of each cooker's own step test; how many tripped."""
    cases = []
    for case in fleet.cases("board", kinds, seeds, hours):
        settings = Settings()
        for name, value in limits(identify(case.cooker, case.seed)).items():
            setattr(settings, name, value)
        cases.append(replace(case, settings=settings))
    total = fleet.summary("board", fleet.sweep(cases, progress=told))
    print(f"\ntrip limits from each cooker's own step test: {total.trips} trips in {total.cooks} ordinary cooks")
    return total.as_dict()


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("controllers", nargs="*", metavar="CONTROLLER", help=f"of {', '.join(rivals.CONTROLLERS)}")
    parser.add_argument("--smoke", action="store_true", help="1 seed, 2 kinds, 3 h: only to see that it works")
    parser.add_argument("--seeds", type=int, default=8, help="seeds 1 to this")
    parser.add_argument("--hours", type=float, default=14.0)
    parser.add_argument("--no-hardships", action="store_true", help="the first table only")
    parser.add_argument("--json", action="store_true", help="data on stdout, the tables on stderr")
    given = parser.parse_args()
    unknown = set(given.controllers) - set(rivals.CONTROLLERS)
    if unknown:
        parser.error(f"no controller {', '.join(sorted(unknown))}; choose of {', '.join(rivals.CONTROLLERS)}")
    names = given.controllers or list(rivals.CONTROLLERS)
    kinds, seeds, hours = list(KINDS), range(1, given.seeds + 1), given.hours
    if given.smoke:
        kinds, seeds, hours = ["drum", "cabinet"], range(1, 2), 3.0
    data, sys.stdout = sys.stdout, sys.stderr if given.json else sys.stdout
    found = first_table(names, seeds, kinds, hours)
    if not given.no_hardships:
        found["hardships"] = second_table(seeds, kinds, hours)
        found["own limits"] = own_limits(seeds, kinds, hours)
    if given.json:
        print(json.dumps(found), file=data)


if __name__ == "__main__":
    main()

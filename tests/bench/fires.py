"""Good fires that must not be put out, and bad ones that must not be fed, on pits that the law has never met.

    python tests/bench/fires.py [--half choose|report] [--cooks 48] [--first 1] [--only GROUP ...]
                                [--family NAME ...] [--set NAME=VALUE ...] [--noted] [--workers 0] [--smoke] [--json]

Numbers of the law may be chosen on the half `choose` (even seeds); `report` (odd seeds) is for the last word, once;
`--first 5001` draws it from seeds that nobody has looked at. `--noted`: the meat is noted 3 min after it went on.
Groups: good, slips, others, or one kind of the others, such as "fan by hand".
Good fires: `--cooks` a family of `strangers`, each with none to three hardships (-15 C, wind, a lid before arrival,
25 kg of cold meat, half or twice the fan, a dead zone of 10-16 %). Only those that a fan can hold count; the pit itself
is run to find out, and the others are named. Bad fires: one fault each on an ordinary cook of the same seeds. After a
trip a sleepy person acknowledges and starts again, once, 5 min later, and leaves the probe as it is. A call is a doubt,
an open lid that stays, or a trip. "True" is the air at the grate, whatever the probe says.
"""

from __future__ import annotations

import argparse
import copy
import json
import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

import numpy as np
from hold_strangers import quantile, settings
from strangers import ails, trial
from strangers import places as at
from strangers.cooks import FAMILIES, HALVES, Cook, draw, seeds
from strangers.trial import codes

MINUTE = at.PERIOD_S / 60.0
SOON_MIN = 20.0
BACK_MIN = 10.0  # from a fan given back to the band
HOT_C = 20.0  # above the top of the band
LOW_C = 30.0  # below its bottom
FULL_FAN = 0.85  # as the setting fade_fan
FAR_C = 300.0, 350.0  # wanted of the true pit: 95 % of cooks, all
CALLS = codes("PROBE_DOUBTED", "STILL_OPEN", "TRIPPED_")
LEAKS = codes("LEAKING", "TOO_HOT", "TRIPPED_")
SAYS_LOW = codes("PROBE_DOUBTED", "STILL_OPEN", "TRIPPED_", "FIRE_FADING")
SUPPLY = codes("SUPPLY_LOW")
LOW_C_BAND, HIGH_C_BAND = trial.BAND_C
GROUPS = {
    "good": ("good",),
    "slips": tuple(ails.SLIPS),
    "others": tuple(n for n in ails.BAD if n not in ails.SLIPS and n not in ails.SECOND),
}


def first(mask: Any, since: int) -> float | None:
    """Minutes from cycle `since` to the first cycle of the mask; None if there is none."""
    found = np.flatnonzero(mask[since:])
    return float(found[0]) * MINUTE if len(found) else None


def run(job: tuple[str, str, int], change: dict[str, int], noted: bool = False) -> dict[str, Any]:
    """One cook, good or with a fault: what came of it, as numbers."""
    kind, family, seed = job
    cook = ails.good(family, seed) if kind == "good" else ails.bad(kind, family, seed)
    if noted:
        cook.k[at.NOTED] = cook.k[at.MEAT_KG]
    cannot = trial.holdable(cook if kind == "good" else draw(family, seed))
    trace = trial.board(cook, change)
    one: dict[str, Any] = {**vars(trial.judge(cook, trace)), "kind": kind, "cannot": cannot}
    one["put_out"] = bool(one["trips"]) or one["cold"]
    one["doubts"] = bool(one["doubted_min"] or one["still_open_min"])
    one["beaten"] = one["fading_min"] > 0.0 and beaten(trace, one["arrived_min"])
    if kind in ails.SLIPS:
        slipped(cook, trace, one)
    elif kind in ("leak", "flood"):
        aired(cook, trace, one)
    elif kind in ("fuel ends", "button, fuel ends"):
        burnt_out(trace, one)
    elif kind == "fan by hand":
        given_back(cook, trace, one)
    elif kind == "sag":
        one["low_share"] = float(np.isin(trace[:, at.T_REASON], list(SUPPLY)).mean())
    return one


def beaten(trace: Any, arrived_min: float) -> bool:
    """Whether each call of fading after the first hour held began below the band, under a fan of FULL_FAN or more."""
    said = np.isin(trace[:, at.T_REASON], list(trial.FADES))
    said[: int((arrived_min * 60.0 + trial.HOUR_S) / at.PERIOD_S)] = False
    begins = np.flatnonzero(said[1:] & ~said[:-1]) + 1
    return bool(np.all((trace[begins, at.T_FAN] >= FULL_FAN) & (trace[begins, at.T_TRUE] < LOW_C_BAND)))


def slipped(cook: Cook, trace: Any, one: dict[str, Any]) -> None:
    """Follow, minutes from the slip to the first call, the true pit's highest from then on."""
    row = next(row for row in cook.events if row[at.E_KIND] == at.SLIP)
    when = trial.happened(trace, row)
    one["follow"], one["slipped"] = row[at.E_A], when is not None
    if when is None:
        return
    since = int(when / at.PERIOD_S)
    one["called_min"] = first(np.isin(trace[:, at.T_REASON], list(CALLS)), since)
    one["true_after_c"] = float(trace[since:, at.T_TRUE].max())


def aired(cook: Cook, trace: Any, one: dict[str, Any]) -> None:
    """Minutes from the pit being HOT_C too hot to the call, the fan it was given meanwhile, the true pit's highest."""
    when = trial.happened(trace, next(row for row in cook.events if row[at.E_KIND] == at.AIR_IN))
    since = int((when or 0.0) / at.PERIOD_S)
    hot = trace[:, at.T_TRUE] > HIGH_C_BAND + HOT_C
    begun = first(hot, since)
    one["hot"] = when is not None and begun is not None
    if not one["hot"]:
        return
    hot[:since] = False
    one["fed"] = float(trace[hot, at.T_DUTY].mean())
    one["true_after_c"] = float(trace[since:, at.T_TRUE].max())
    called = first(np.isin(trace[:, at.T_REASON], list(LEAKS)), since)
    one["called_min"] = None if called is None else max(0.0, called - float(begun or 0.0))


def burnt_out(trace: Any, one: dict[str, Any]) -> None:
    """Minutes from the true pit being LOW_C below the band to the board saying anything of it (negative: before);
    minutes that air is blown into a pit below 60 C."""
    reached = np.flatnonzero(trace[:, at.T_TRUE] >= LOW_C_BAND)
    one["fell"] = False
    if not len(reached):
        return
    since = int(reached[0])
    lost = np.flatnonzero(trace[since:, at.T_TRUE] >= LOW_C_BAND)[-1] + since  # the last time in the band
    fell = first(trace[:, at.T_TRUE] < LOW_C_BAND - LOW_C, int(lost))
    one["fell"] = fell is not None
    if fell is not None:
        said = first(np.isin(trace[:, at.T_REASON], list(SAYS_LOW)), max(since, int(lost) - 900))
        one["called_min"] = None if said is None else said - 900 * MINUTE - fell
        cold = trace[:, at.T_TRUE] < 60.0
        cold[: int(lost)] = False
        one["blown_min"] = float((trace[:, at.T_DUTY][cold] > 0.0).sum() * MINUTE)


def given_back(cook: Cook, trace: Any, one: dict[str, Any]) -> None:
    """Minutes from the fan given back to the pit in its band; C above its top from then on, for an hour. Of a late one
    the minutes that the pit takes with no fan (after much of it), or with all of it (after none)."""
    row = next(row for row in cook.events if row[at.E_KIND] == at.BY_HAND)
    when = trial.happened(trace, row)
    one["handed"] = when is not None and when + row[at.E_B] + 3600.0 < len(trace) * at.PERIOD_S
    if not one["handed"]:
        return
    since = int(((when or 0.0) + row[at.E_B]) / at.PERIOD_S) + 1
    reads = trace[since : since + 1800, at.T_READING]
    back = np.flatnonzero((reads >= LOW_C_BAND) & (reads <= HIGH_C_BAND))
    if not len(back) or back[0] * MINUTE > BACK_MIN:
        again = copy.copy(cook)
        again.events = [*cook.events]
        again.happens(at.FROM_MEAT, row[at.E_WHEN] + row[at.E_B], at.BY_HAND, 0.0 if row[at.E_A] else 1.0, 900.0)
        reads_then = trial.board(again)[since : since + 450, at.T_READING]
        then = np.flatnonzero((reads_then >= LOW_C_BAND) & (reads_then <= HIGH_C_BAND))
        one["limit_min"] = float(then[0]) * MINUTE if len(then) else None
    one["hand"], one["back_min"] = row[at.E_A], float(back[0]) * MINUTE if len(back) else None
    one["over_after_c"] = float(max(0.0, reads[back[0] :].max() - HIGH_C_BAND)) if len(back) else 0.0


def share(found: Sequence[dict[str, Any]], what: Callable[[dict[str, Any]], bool]) -> str:
    """How many of them, and in percent."""
    count = sum(1 for one in found if what(one))
    return f"{count:4} ({count / max(1, len(found)):5.1%})"


def within(one: dict[str, Any], minutes: float = SOON_MIN) -> bool:
    """Called so soon."""
    return one.get("called_min") is not None and one["called_min"] <= minutes


def good_table(found: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Good fires by family and by hardship."""
    held = [one for one in found if not one["cannot"]]
    print(f"\nGood fires: {len(held)} of {len(found)} can be held")
    head = f"{'':16} {'cooks':>5} {'put out':>13} {'by a trip':>9} {'doubted':>13} {'fading':>13}"
    print(f"{head} {'in band':>7} {'worst':>6}")
    rows = {}
    groups = [(name, [one for one in held if one["family"] == name]) for name in FAMILIES]
    groups += [(name, [one for one in held if name in one["words"]]) for name in ("nasty", *ails.HARD)]
    groups.append(("no hardship", [one for one in held if not one["words"]]))
    groups.append(("all", held))
    for name, mine in groups:
        if not mine:
            continue
        bands = [one["in_band"] for one in mine]
        rows[name] = {
            "cooks": len(mine),
            "put_out": sum(one["put_out"] for one in mine),
            "tripped": sum(bool(one["trips"]) for one in mine),
            "doubted": sum(one["doubts"] for one in mine),
            "fading": sum(one["fading_min"] > 0.0 for one in mine),
            "beaten": sum(one["beaten"] for one in mine),
            "in_band": sum(bands) / len(bands),
            "worst": min(bands),
        }
        print(
            f"{name:16} {len(mine):5} {share(mine, lambda one: one['put_out']):>13} {rows[name]['tripped']:9} "
            f"{share(mine, lambda one: one['doubts']):>13} {share(mine, lambda one: one['fading_min'] > 0.0):>13} "
            f"{rows[name]['in_band']:7.3f} {rows[name]['worst']:6.3f}"
        )
    print("  wanted: put out 0, doubted at most 3 %, fading (after the first hour held) at most 5 %")
    print(f"  of those called fading, {rows['all']['beaten']} always stood below the band under a fan of 85 % and more")
    named("put out", [one for one in held if one["put_out"]])
    named("fading", [one for one in held if one["fading_min"] > 0.0 and not one["beaten"]])
    named("doubted", [one for one in held if one["doubts"] and not one["put_out"]])
    for one in found:
        if one["cannot"]:
            print(f"  not counted: {one['name']}: {one['cannot']}")
    return rows


def named(what: str, found: Sequence[dict[str, Any]], most: int = 12) -> None:
    """Names of cooks, so that one can look at them."""
    if found:
        more = f" and {len(found) - most} more" if len(found) > most else ""
        print(f"  {what}: " + ", ".join(one["name"] for one in found[:most]) + more)


def slip_table(found: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Slips: called within 20 min by what the reading follows, the true pit at 95 % and at most, with one restart."""
    rows = {}
    print(f"\nSlips, called within {SOON_MIN:g} min by the share of the rise that is read; one start by a sleepy hand")
    head = " ".join(f"{follow:>8.1f}" for follow in ails.FOLLOWS)
    print(f"{'':26} {'cooks':>5} {head} {'never':>6} {'true 95 %':>9} {'most':>6}")
    after = [name for name in ails.SLIPS if name != "slip in the climb"]
    groups = [(name, [one for one in found if one["kind"] == name]) for name in ails.SLIPS]
    groups += [
        (f"after arrival, {fam}", [o for o in found if o["family"] == fam and o["kind"] in after]) for fam in FAMILIES
    ]
    groups.append(("after arrival, all", [one for one in found if one["kind"] in after]))
    for name, mine in groups:
        known = [one for one in mine if not one["cannot"] and one["slipped"]]
        if not known:
            continue
        by = {f: [one for one in known if one["follow"] == f] for f in ails.FOLLOWS}
        soon = {f: sum(map(within, ones)) / len(ones) for f, ones in by.items() if ones}
        highs = [one["true_after_c"] for one in known]
        never = sum(one["called_min"] is None for one in known)
        rows[name] = {
            "cooks": len(known),
            "soon": soon,
            "never": never,
            "true_95_c": quantile(highs, 0.95),
            "true_most_c": max(highs),
        }
        cells = " ".join(f"{soon[f]:8.0%}" if f in soon else f"{'-':>8}" for f in ails.FOLLOWS)
        print(f"{name:26} {len(known):5} {cells} {never:6} {quantile(highs, 0.95):7.0f} C {max(highs):4.0f} C")
    print(
        f"  wanted after arrival: 0.4 and less 95 %, 0.5 70 %; the true pit at most {FAR_C[0]:g} C in 95 % "
        f"and {FAR_C[1]:g} C in all"
    )
    hottest = sorted(
        (one for one in found if not one["cannot"] and one["slipped"]), key=lambda one: -one["true_after_c"]
    )
    named("hottest", hottest[:8])
    return rows


def other_table(found: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """The other faults, a line each."""
    rows: dict[str, Any] = {}
    print("\nOther faults")
    for name in GROUPS["others"]:
        mine = [one for one in found if one["kind"] == name and not one["cannot"]]
        if not mine:
            continue
        trips = Counter(code for one in mine for _, code in one["trips"][:1])
        row: dict[str, Any] = {"cooks": len(mine), "put_out": sum(one["put_out"] for one in mine)}
        row["trips"] = {trip_word(code): count for code, count in trips.most_common()}
        words = f"{name:21} {len(mine):4} cooks"
        if name in ("leak", "flood"):
            hot = [one for one in mine if one["hot"]]
            row.update(hot=len(hot))
            if hot:
                row.update(
                    called=sum(within(one) for one in hot),
                    fed=max(one["fed"] for one in hot),
                    true_most_c=max(one["true_after_c"] for one in hot),
                )
                words += (
                    f"; {len(hot)} pits {HOT_C:g} C too hot by it, called within {SOON_MIN:g} min in {row['called']}; "
                )
                words += f"fan meanwhile at most {row['fed']:.1%}; true at most {row['true_most_c']:.0f} C"
        elif name in ("fuel ends", "button, fuel ends"):
            fell = [one for one in mine if one["fell"]]
            row.update(fell=len(fell))
            if fell:
                row.update(
                    called=sum(within(one, 0.0) for one in fell),
                    never=sum(one["called_min"] is None for one in fell),
                    blown_min=max(one["blown_min"] for one in fell),
                )
                words += f"; {len(fell)} fell {LOW_C:g} C below, said before that in {row['called']}, "
                words += f"never in {row['never']}; cold air for {row['blown_min']:.0f} min at most"
        elif name == "fan by hand":
            for hand in sorted({one["hand"] for one in mine if one["handed"]}):
                had = [one for one in mine if one["handed"] and one["hand"] == hand]
                backs = sorted(one["back_min"] for one in had if one["back_min"] is not None)
                row[f"{hand:.0%}"] = {
                    "cooks": len(had),
                    "back": len(backs),
                    "back_min": trial.middle(backs),
                    "back_90_min": quantile(backs, 0.9) if backs else None,
                    "over_most_c": max(one["over_after_c"] for one in had),
                    "over": sum(one["over_after_c"] > trial.NEAR_C for one in had),
                }
                told = row[f"{hand:.0%}"]
                words += f"; {hand:.0%}: {len(backs)} of {len(had)} back, after {told['back_min'] or 0.0:.1f} min "
                words += f"(median) and {told['back_90_min'] or 0.0:.1f} (90 %), then over the top by more than 3 C "
                words += f"in {told['over']}, by {told['over_most_c']:.1f} C at most"
                late = [one for one in had if one["back_min"] is None or one["back_min"] > BACK_MIN]
                could = [one for one in late if one["limit_min"] is not None and one["limit_min"] <= BACK_MIN]
                told.update(late=len(late), could=[one["name"] for one in could])
                words += f"; {len(late)} later than {BACK_MIN:g} min, "
                words += f"{len(could)} of them could be back with {'no' if hand else 'the full'} fan"
                for one in could:
                    words += f"\n    {one['name']}: {one['back_min'] or 60.0:.1f} min, {one['limit_min']:.1f} so"
        else:
            row.update(doubted=sum(one["doubts"] for one in mine), in_band=sum(o["in_band"] for o in mine) / len(mine))
            words += f"; put out {row['put_out']}, doubted {row['doubted']}, in band {row['in_band']:.3f}"
            if name == "sag":
                row["low_share"] = max(one["low_share"] for one in mine)
                words += f"; says supply low for {row['low_share']:.1%} of the time at most"
        if row["trips"]:
            words += "; trips " + ", ".join(f"{word} {count}" for word, count in row["trips"].items())
        print(words)
        if name not in ("leak", "flood", "fuel ends", "button, fuel ends"):
            named("put out", [one for one in mine if one["put_out"]], 8)
        rows[name] = row
    return rows


def trip_word(code: int) -> str:
    """A trip's name in the field table."""
    from hearth.core import fields

    return next(name for name in dir(fields) if name.startswith("TRIP_") and getattr(fields, name) == code)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--half", choices=list(HALVES), default="choose", help="even or odd seeds")
    parser.add_argument("--cooks", type=int, default=48, help="of each family")
    parser.add_argument("--first", type=int, default=1, help="first seed: from 5001 on nobody has looked at any")
    parser.add_argument("--only", action="append", choices=[*GROUPS, *GROUPS["others"]], metavar="GROUP")
    parser.add_argument("--family", action="append", choices=list(FAMILIES))
    parser.add_argument("--set", action="append", default=[], metavar="NAME=VALUE", help="a setting, in board units")
    parser.add_argument("--noted", action="store_true", help="the meat that goes on is noted")
    parser.add_argument("--workers", type=int, default=0, help="cores; 0 all there are")
    parser.add_argument(
        "--smoke", action="store_true", help="1 cook of each kind and family: only to see that it works"
    )
    parser.add_argument("--json", action="store_true", help="data on stdout, the tables on stderr")
    given = parser.parse_args()
    change = settings(given.set, parser)
    cooks = 1 if given.smoke else given.cooks
    if cooks < 1 or given.first < 1:
        parser.error("give at least one cook, and seeds from 1 on")
    data, sys.stdout = sys.stdout, sys.stderr if given.json else sys.stdout
    families, drawn = given.family or list(FAMILIES), seeds(given.half, cooks, given.first)
    print(f"half: {given.half} ({'even' if given.half == 'choose' else 'odd'} seeds from {drawn[0]} on), ", end="")
    print(f"{cooks} cooks a family", end="")
    print("".join(f", {name} {value}" for name, value in change.items()))
    tables = {"good": good_table, "slips": slip_table, "others": other_table}
    report: dict[str, Any] = {"half": given.half, "settings": change, "cooks": []}
    for group in given.only or list(GROUPS):
        began = time.perf_counter()
        jobs = [(kind, fam, seed) for kind in GROUPS.get(group, (group,)) for fam in families for seed in drawn]
        found = trial.each(partial(run, change=change, noted=given.noted), jobs, given.workers)
        report[group] = tables.get(group, other_table)(found)
        report["cooks"] += found
        print(f"{group}: {len(jobs)} cooks in {time.perf_counter() - began:.1f} s", file=sys.stderr)
    if given.json:
        print(json.dumps(report), file=data)


if __name__ == "__main__":
    main()

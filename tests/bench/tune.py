"""What tuning on one recorded night is worth on others: cookers of the fleet, and strangers.

    python tests/bench/tune.py [--half choose|report] [--first 1] [--lift] [--step 0.06] [--strangers 20] [--fleet 20]
                               [--paired 10] [--nights 2000] [--learn 0|1] [--bound 8] [--smoke] [--json FILE]

Each cooker is known from one night with the default settings (`tune.identify`) and tuned (`tune.search`), then judged
with both settings on other nights: other weather, lids, meat. Even seeds may choose a number; odd seeds are for the
last word, once. "truth" is the margin of the loop with the true pit, from its own answer to a small step of the fan.
Seconds a cooker: to know it, and to search.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import statistics
import time
from pathlib import Path
from typing import Any

from hearth.core import Settings
from strangers import cooks, trial
from tune_cookers import Own, Stranger, changed
from tuyere import tune
from tuyere.sim.cookers import KINDS
from tuyere.text import Reader, render
from tuyere.tune import in_words, marks, sensitivity, stepped, strength
from tuyere.tune.search import made

LOW = 0.95  # of the share: under it the defaults leave something to be gained
WIDE = {  # ends of a search on a true pit: all settings that move a held pit, in units of the field table
    "gain": (40.0, 2000.0), "reset": (300.0, 5400.0), "lead": (20.0, 300.0), "coast": (60.0, 900.0),
    "filter": (500.0, 12000.0), "recover": (60.0, 1800.0), "open_fan": (40.0, 200.0), 
}  # fmt: skip
ROUNDS = ((48, 4), (12, 4), (4, 6))  # settings tried, nights more for each
FRESH = 10  # nights that chose nothing


def bound(cooker: Own | Stranger, base: Settings) -> dict[str, Any]:
    """What the best settings gain on the true pit, which no tuner knows: in hindsight, on the very nights that chose
    them, and on others."""
    r = random.Random(f"bound {cooker.name}")
    listed: list[Settings] = []
    for _ in range(ROUNDS[0][0]):
        drawn = {n: math.exp(r.uniform(math.log(a), math.log(b))) for n, (a, b) in WIDE.items()}
        listed.append(made(base, **{n: v for n, v in drawn.items() if r.random() < 0.7}))
    shares: list[list[float]] = [[] for _ in listed]
    usual: list[float] = []
    for keep, nights in ROUNDS:
        order = sorted(range(len(listed)), key=lambda i: -sum(shares[i]))[:keep]
        listed, shares = [listed[i] for i in order], [shares[i] for i in order]
        numbers = range(len(usual) + 1, len(usual) + nights + 1)
        usual += [cooker.share(i, base).in_band for i in numbers]
        for one, mine in zip(listed, shares, strict=True):
            mine += [cooker.share(i, one).in_band for i in numbers]
    best = max(range(len(listed)), key=lambda i: sum(shares[i]))
    fresh = range(len(usual) + 1, len(usual) + FRESH + 1)
    before = [cooker.share(i, base).in_band for i in fresh]
    after = [cooker.share(i, listed[best]).in_band for i in fresh]
    mean = statistics.mean
    ms = sensitivity.margins(cooker.answer().at(), listed[best]).ms
    return {
        "name": cooker.name, "before": mean(usual), "hindsight": max(0.0, mean(shares[best]) - mean(usual)),
        "fresh": mean(after) - mean(before), "ms": ms, "settings": changed(listed[best]),
    }  # fmt: skip


def one(cooker: Own | Stranger, given: argparse.Namespace) -> dict[str, Any]:
    """Know, tune and judge one cooker."""
    base: Any = Settings()
    if given.learn is not None:
        base.learn = given.learn
    nights, paired, ahead = given.nights, given.paired, given.ahead
    began = time.perf_counter()
    night = cooker.recorded(base, given.step)
    known = tune.identify(night)
    late = tune.identify(night, share=2.0 / 3.0).ahead_c if ahead else None
    middle = time.perf_counter()
    found = tune.search(known, nights if known.fits else 200, 1, base)  # where it does not fit, nothing is proposed
    searched = time.perf_counter() - middle
    before = [cooker.share(i, base) for i in range(1, paired + 1)]
    proposed = found.settings
    after = [cooker.share(i, proposed) for i in range(1, paired + 1)] if found.better else before
    true = cooker.answer().at()
    return {
        "name": cooker.name, "words": in_words_and_true(cooker, known),
        "night": night.in_band(), "misfit_c": known.misfit_c, "ahead_c": late, "lead": known.lead,
        "fits": known.fits, "better": found.better, "expected": found.gain, "error": found.error,
        "model_before": found.before.in_band, "model_after": found.after.in_band, "model_ms": found.after.ms,
        "why": [render(why, Reader()) for why in found.why], "changes": {n: list(v) for n, v in found.changes.items()},
        "before": statistics.mean(x.in_band for x in before), "after": statistics.mean(x.in_band for x in after),
        "over": max(x.over_c for x in after), "trips": sum(x.trips for x in after),
        "ms_before": sensitivity.margins(true, base).ms, "ms_after": sensitivity.margins(true, proposed).ms,
        "model_ms_before": found.before.ms, "seconds": middle - began, "search_s": searched, "nights": found.nights,
    }  # fmt: skip


def in_words_and_true(cooker: Own | Stranger, known: tune.Cooker) -> dict[str, list[float]]:
    """Of lift and delay, where they are said in words: low, middle and high, and what is true."""
    true = cooker.answer()
    found = {"lift": stepped.lift(true), "delay": max(in_words.LEAST_DELAY_S, true.delay_s)}
    said = {one.name: one for one in known.spreads}
    return {
        name: [said[name].low, said[name].middle, said[name].high, value]
        for name, value in found.items()
        if name in said
    }


def beside(words: dict[str, list[float]]) -> str:
    """Lift and delay in one line."""
    return ", ".join(f"{name} {a:.3g}..{c:.3g} true {true:.3g}" for name, (a, _, c, true) in words.items())


def covered(every: list[dict[str, list[float]]]) -> list[str]:
    """How often what is said in words covers the truth."""
    lines = []
    for name in ("lift", "delay"):
        some = [one[name] for one in every if name in one]
        good = sum(low <= true <= high for low, _, high, true in some)
        lines.append(f"{name} said of {len(some)} of {len(every)}; its 80 % range covers {good}")
    return lines


def strengths(every: list[Own | Stranger], step: float) -> list[str]:
    """How near the marks of a night come to the true lift and delay, without anything else; a line a cooker, then the
    figures. step: of an experiment in it, share of the fan; 0: none."""
    lines, taught = [], None
    found: dict[str, list[tuple[float, float, bool]]] = {}
    for cooker in every:
        night = cooker.recorded(step=step)
        taught = taught or strength.taught(night)  # the same for all: the settings are the defaults
        seen = marks.of(night)
        if seen is None:
            lines.append(f"{cooker.name:12} its night shows nothing")
            continue
        told, answer = taught.tell(seen), cooker.answer()
        if stepped.lift(answer) < stepped.LEAST_LIFT_C:
            continue
        words = f"{cooker.name:12} tried {night.tried_s / 60.0:2.0f} min"
        for name, said, true in (
            ("lift", told.lift_c, stepped.lift(answer)),
            ("delay", told.delay_s, max(in_words.LEAST_DELAY_S, answer.delay_s)),
        ):
            if said is not None:
                low, middle, high = said
                one = (math.log(middle / true), math.log(high / low), low <= true <= high)
                found.setdefault(f"{type(cooker).__name__}, {name}", []).append(one)
                words += f", {name} {middle:5.1f} ({low:.1f} to {high:.1f}), true {true:.1f}"
        lines.append(words)
    for name, part in found.items():
        off, wide = [one[0] for one in part], [one[1] for one in part]
        lines.append(
            f"{name}: {len(part)} cookers, 80 % range covers {sum(one[2] for one in part)} and is wide by a factor of "
            f"{math.exp(statistics.mean(wide)):.2f}, off by a factor of {math.exp(statistics.pstdev(off, 0.0)):.2f} "
            f"(RMS), {math.exp(statistics.mean(off)):.2f} in the mean"
        )
    return lines


def summary(rows: list[dict[str, Any]]) -> list[str]:
    """The figures that are wanted."""
    gains = [row["after"] - row["before"] for row in rows]
    low = [gain for gain, row in zip(gains, rows, strict=True) if row["before"] < LOW]
    tuned = [row for row in rows if row["better"]]
    before, after = (statistics.mean(row[name] for row in rows) for name in ("before", "after"))
    lines = [f"{len(rows)} cookers, {len(tuned)} tuned", f"  in band before {before:.4f}, after {after:.4f}"]
    if low:
        lines.append(f"  where before < 0.95: {len(low)} cookers, mean gain {statistics.mean(low):+.4f}")
    lines.append(f"  worse by more than 0.003: {sum(gain < -0.003 for gain in gains)}, at most {min(gains):+.4f}")
    if tuned:
        margins = [row["ms_after"] for row in tuned]
        held = sum(one <= 1.6 for one in margins)
        lines.append(f"  Ms of the true loop <= 1.6 in {held} of {len(tuned)} tuned, at most {max(margins):.2f}")
    aheads = [row["ahead_c"] for row in rows if row["ahead_c"] is not None]
    if aheads:
        lines.append(f"  last third run freely: {statistics.median(aheads):.1f} C RMS (median), {max(aheads):.1f} most")
    lines += ["  " + one for one in covered([row["words"] for row in rows])]
    return lines


def line(row: dict[str, Any]) -> str:
    """One cooker."""
    changes = " ".join(f"{name}={new}" for name, (_, new) in row["changes"].items())
    return (
        f"{row['name']:12} night {row['night'] or 0.0:.3f} misfit {row['misfit_c']:4.1f} lead {row['lead']:.2f} "
        f"ahead {row['ahead_c'] or 0.0:4.1f} | model {row['model_before']:.3f} -> {row['model_after']:.3f} "
        f"({row['expected']:+.3f}) | true {row['before']:.3f} -> {row['after']:.3f} | Ms model "
        f"{row['model_ms_before']:.2f} -> {row['model_ms']:.2f}, true {row['ms_before']:.2f} -> {row['ms_after']:.2f} "
        f"| {row['seconds']:.0f} + {row['search_s']:.0f} s | {changes if row['better'] else '; '.join(row['why'])}"
    )


def main() -> None:
    """Print a line a cooker and the figures."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--half", choices=list(cooks.HALVES), default="choose")
    parser.add_argument("--strangers", type=int, default=20)
    parser.add_argument("--fleet", type=int, default=20)
    parser.add_argument("--paired", type=int, default=10)
    parser.add_argument("--nights", type=int, default=2000)
    parser.add_argument("--learn", type=int, choices=(0, 1))
    parser.add_argument("--first", type=int, default=1, help="the least seed")
    parser.add_argument("--lift", action="store_true", help="only how strongly the fan drives each; a second a cooker")
    parser.add_argument("--bound", type=int, default=0, metavar="N", help="only what the best settings gain on the "
                        "true pits of the first N cookers that the defaults hold under 0.95")  # fmt: skip
    parser.add_argument("--step", type=float, default=0.0, help="of an experiment in the night, share of the fan")
    parser.add_argument("--ahead", action="store_true", help="also fit two thirds and run the last one freely")
    parser.add_argument("--names", help="only these, such as 'bed 58,drum 4'")
    parser.add_argument("--smoke", action="store_true", help="one of each, few nights: only to see that it works")
    parser.add_argument("--json", type=Path, metavar="FILE")
    given = parser.parse_args()
    if given.smoke:
        given.strangers = given.fleet = 1
        given.paired, given.nights = 1, 200
    families, kinds = list(cooks.FAMILIES), list(KINDS)
    seeds = cooks.seeds(given.half, 400, given.first)
    every: list[Own | Stranger] = []
    for i in range(given.strangers):  # those that a fan can hold
        family = families[i % len(families)]
        mine = sum(isinstance(x, Stranger) and x.family == family for x in every)
        good = [seed for seed in seeds[: 3 * (mine + 2)] if not trial.holdable(cooks.draw(family, seed))]
        every.append(Stranger(family, good[mine]))
    every += [Own(kinds[i % len(kinds)], seeds[i // len(kinds)]) for i in range(given.fleet)]
    if given.names:
        every = []
        for name in given.names.split(","):
            kind, _, number = name.strip().partition(" ")
            every.append(Stranger(kind, int(number)) if kind in families else Own(kind, int(number)))
    if given.lift:
        print("\n".join(strengths(every, given.step)))
        return
    rows = []
    if given.bound:
        base: Any = Settings()
        base.learn = given.learn if given.learn is not None else base.learn
        for cooker in every:
            usual = statistics.mean(cooker.share(i, base).in_band for i in range(1, 7))
            if usual >= LOW or len(rows) == given.bound:
                continue
            rows.append(bound(cooker, base))
            row = rows[-1]
            print(
                f"{row['name']:12} {row['before']:.3f}, the best in hindsight {row['hindsight']:+.4f}, on other nights "
                f"{row['fresh']:+.4f}, its Ms {row['ms']:.2f}: {row['settings']}", flush=True,
            )  # fmt: skip
        for name in ("hindsight", "fresh"):
            print(f"mean {name} {statistics.mean(row[name] for row in rows):+.4f}")
        return
    for cooker in every:
        row = one(cooker, given)
        rows.append(row)
        print(line(row), flush=True)
    for name, kind in (("strangers", Stranger), ("own fleet", Own)):
        part = [row for row, cooker in zip(rows, every, strict=True) if isinstance(cooker, kind)]
        if part:
            print(f"{name}, {given.half}: " + "\n".join(summary(part)))
    if given.json:
        given.json.write_text(json.dumps(rows, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()

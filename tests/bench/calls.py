"""Whom an ordinary night wakes: the strangers' cooks, 14 h each, through the alarms and the calls of the engine.

    python tests/bench/calls.py [--half choose|report] [--first 1] [--cooks 30] [--family NAME ...] [--hard]
                                [--workers 0] [--smoke] [--json]

Numbers may be chosen on the half `choose` (even seeds); `report` (odd seeds) is for the last word, once; `--first 5001`
draws it from seeds that nobody has looked at. Nothing is wrong in these nights: each urgent call is one too many.
`--hard` gives each up to three hardships (`strangers/ails.py`: cold, wind, a lid on the way, 25 kg, half or twice the
fan, a dead zone). Only cooks that a fan can hold count. One route takes everything; a person acknowledges each urgent
alarm 5 min after it was raised. Messages of one cause: urgent ones at their first call, warnings, and what is over.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Sequence
from functools import partial
from typing import Any

from strangers import ails, trial
from strangers import places as at
from strangers.cooks import FAMILIES, HALVES, draw, seeds
from tuyere import codes
from tuyere.cook.faults import URGENT
from tuyere.cook.snapshot import Alarm, Cycle
from tuyere.engine.calls.call import Given
from tuyere.engine.calls.life import Calls
from tuyere.engine.calls.message import CALL, OVER, WARNING, Now
from tuyere.engine.calls.routes import ALL, Route, Routes
from tuyere.engine.night.alarms import Alarms
from tuyere.engine.night.conditions import Facts

BEGAN = 1_900_000_000_000  # UTC ms
EACH = 15  # cycles between looks while nothing changes, 30 s
SEEN_MS = 300_000  # from an urgent alarm until a person acknowledges it
LOW_C, HIGH_C = trial.BAND_C


class Book:
    """A logbook in memory: the alarms that stand."""

    def __init__(self) -> None:
        self.alarms: dict[int, Alarm] = {}
        self.count = 0

    def add(
        self, cook: int | None, raised: int, level: str, code: str, what: Any, why: Any = "", checks: Any = ()
    ) -> int:
        """A new alarm; its id."""
        self.count += 1
        self.alarms[self.count] = Alarm(
            id=self.count, raised=raised, level=level, code=code, what=what, why=why, checks=list(checks)
        )
        return self.count

    def change(self, id: int, **fields: Any) -> None:
        """Set acknowledged, shelved or cleared."""
        for name, value in fields.items():
            setattr(self.alarms[id], name, value)
        if self.alarms[id].cleared:
            del self.alarms[id]


def night(trace: Any) -> tuple[Counter[tuple[str, str]], int]:
    """((kind of message, cause) -> how often, urgent repeats) of one night."""
    book, sent = Book(), Counter[tuple[str, str]]()
    alarms, calls = Alarms(book), Calls(lambda steps: None)
    routes = Routes(routes=[Route(name="phone", address="-", kind="command", wants=ALL)])
    repeats, meat, arrived, opened_at, last = 0, 0, False, 0, None
    for i in range(len(trace)):
        now = BEGAN + i * 2000
        state, reason, trip = (int(trace[i, column]) for column in (at.T_STATE, at.T_REASON, at.T_TRIP))
        pit, fan = float(trace[i, at.T_READING]), float(trace[i, at.T_FAN])
        arrived = arrived or LOW_C <= pit <= HIGH_C
        meat = meat or (now if trace[i, at.T_MEAT] else 0)
        opened_at = (opened_at or now) if codes.STATES[state] == "opened" else 0
        key = (state, reason, trip, pit < LOW_C - 10.0, pit > HIGH_C + 5.0, fan == 0.0)
        if key == last and i % EACH:
            continue
        last = key
        cycle = Cycle(
            at=now, pit=pit, fan=fan, state=codes.STATES[state], reason=codes.REASONS[reason], trip=codes.TRIPS[trip],
            low=LOW_C, high=HIGH_C,
        )  # fmt: skip
        facts = Facts(
            now=now, cooking=True, cycle=cycle, arrived=arrived, silent=1.0, beat=1.0, meat_on=meat,
            opened_for=now - opened_at if opened_at else 0,
        )  # fmt: skip
        alarms.update(facts)
        for alarm in list(book.alarms.values()):
            if alarm.level == URGENT and not alarm.acknowledged and now - alarm.raised >= SEEN_MS:
                alarms.acknowledge(alarm.id, now)
        standing = alarms.fresh(list(book.alarms.values()))
        given = Given(
            now=now, minute=180, clock=now, cook=1, standing=standing, present=alarms.present, routes=routes,
            seen=Now(now, pit),
        )  # fmt: skip
        for job in calls.step(given):
            kind = OVER if job.title.startswith("Over") else CALL if job.urgent else WARNING
            if job.title.startswith("Still"):
                repeats += 1
            else:
                sent[kind, job.code] += 1
            calls.outcome(job.attempt, True, "", now)
    return sent, repeats


def run(job: tuple[str, int], hard: bool) -> dict[str, Any]:
    """One cook: whether it counts, and what was sent."""
    family, seed = job
    cook = ails.good(family, seed) if hard else draw(family, seed)
    cannot = trial.holdable(cook)
    sent, repeats = night(trial.board(cook)) if not cannot else (Counter[tuple[str, str]](), 0)
    return {
        "name": cook.name, "family": family, "words": cook.words, "cannot": cannot, "repeats": repeats,
        "sent": [[kind, code, count] for (kind, code), count in sent.items()],
    }  # fmt: skip


def table(found: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """A line a family, and who was woken by what."""
    rows = {}
    heads = ((10, ""), (6, "nights"), (12, "urgent calls"), (15, "nights with one"), (7, "repeats"), (8, "warnings"))
    print(" ".join(f"{head:>{width}}" for width, head in (*heads, (5, "over"))))
    held = [one for one in found if not one["cannot"]]
    for name in (*FAMILIES, "all"):
        mine = [one for one in held if name in (one["family"], "all")]
        if not mine:
            continue
        totals = Counter[str]()
        for one in mine:
            for kind, _, count in one["sent"]:
                totals[kind] += count
        woken = sum(any(k == CALL for k, _, _ in one["sent"]) for one in mine)
        rows[name] = {
            "nights": len(mine), "urgent": totals[CALL], "woken": woken, "warnings": totals[WARNING],
            "over": totals[OVER], "repeats": sum(one["repeats"] for one in mine),
        }  # fmt: skip
        print(
            f"{name:10} {len(mine):6} {totals[CALL]:12} {woken:15} {rows[name]['repeats']:7} {totals[WARNING]:8} "
            f"{totals[OVER]:5}"
        )
    causes = Counter[tuple[str, str]]()
    for one in held:
        for kind, code, count in one["sent"]:
            causes[kind, code] += count
    for (kind, code), count in causes.most_common():
        print(f"  {kind:8} {code:18} {count}")
    for one in held:
        urgent = [code for kind, code, _ in one["sent"] if kind == CALL]
        if urgent:
            print(f"  woken: {one['name']} ({', '.join(one['words']) or 'no hardship'}): {', '.join(urgent)}")
    for one in found:
        if one["cannot"]:
            print(f"  not counted: {one['name']}: {one['cannot']}")
    return {"rows": rows, "causes": [[*key, count] for key, count in causes.items()]}


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--half", choices=list(HALVES), default="choose", help="even or odd seeds")
    parser.add_argument("--first", type=int, default=1, help="the first seed to draw from")
    parser.add_argument("--cooks", type=int, default=30, help="of each family")
    parser.add_argument("--family", action="append", choices=list(FAMILIES))
    parser.add_argument("--hard", action="store_true", help="with up to three hardships each")
    parser.add_argument("--workers", type=int, default=0, help="cores; 0 all there are")
    parser.add_argument("--smoke", action="store_true", help="1 cook of each family: only to see that it works")
    parser.add_argument("--json", action="store_true", help="data on stdout, the table on stderr")
    given = parser.parse_args()
    cooks = 1 if given.smoke else given.cooks
    if cooks < 1:
        parser.error("give at least one cook")
    data, sys.stdout = sys.stdout, sys.stderr if given.json else sys.stdout
    families = given.family or list(FAMILIES)
    print(
        f"half: {given.half}, from seed {given.first}, {cooks} cooks a family, {'hard' if given.hard else 'ordinary'}"
    )
    jobs = [(family, seed) for family in families for seed in seeds(given.half, cooks, given.first)]
    began = time.perf_counter()
    found = trial.each(partial(run, hard=given.hard), jobs, given.workers)
    report = table(found)
    print(f"{len(jobs)} cooks in {time.perf_counter() - began:.1f} s", file=sys.stderr)
    if given.json:
        print(json.dumps({"half": given.half, "first": given.first, "hard": given.hard, **report}), file=data)


if __name__ == "__main__":
    main()

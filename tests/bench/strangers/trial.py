"""Run one cook, say what came of it, and say whether a fan can hold it at all."""

from __future__ import annotations

import copy
import multiprocessing
import os
import statistics
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from hearth.core import Memory, Now, Out, Settings, fields, resume

from strangers import build
from strangers import places as at
from strangers.cooks import Cook

SETTLE_S = 600.0  # after the first arrival the count begins
HOUR_S = 3600.0
ARRIVAL_S = 2700.0  # the first arrival is looked at for so long
NEAR_C = 3.0  # over the top of the band
UNBROKEN = 60  # cycles inside, 120 s: then the pit is back
CHECKPOINT = 300  # cycles between two stored memories, as in hearth.loop
OUTAGE_S = 10.0
COLD_C, COLD_S = 20.0, 3600.0  # so far below the band, for so long at the end: the fire is lost
CUT_S = 300.0
FULL_FAN = 0.97
BAND_C = (Settings().band_low / 100.0, Settings().band_high / 100.0)
MIDDLE_C = sum(BAND_C) / 2.0
FEED_S, STARVE_S, CLIMB_S = 5400, 7200, 4 * 3600
LOOKS_H = (1.5, 5.0, 9.0)  # after the meat went on


def codes(*starts: str) -> frozenset[int]:
    """The reasons whose name in `hearth.core.fields` begins so."""
    found = (getattr(fields, name) for name in dir(fields) if name.startswith(starts))
    return frozenset(value for value in found if isinstance(value, int))


DOUBTED, FADES, STILL_OPEN = codes("PROBE_DOUBTED"), codes("FIRE_FADING"), codes("STILL_OPEN")


@dataclass
class Outcome:
    """What came of a cook. Shares 0..1, C, minutes; a share of 0 for a pit that never arrived."""

    name: str
    family: str
    seed: int
    words: list[str] = field(default_factory=list)
    in_band: float = 0.0  # by the reading, as `tuyere.score` counts
    arrived_min: float | None = None
    over_c: float = 0.0  # above the top of the band in the 45 min after the first arrival
    over_alone_c: float = 0.0  # the same until the first lid: what came of the arrival alone
    backs_min: list[float] = field(default_factory=list)  # from each lid shut to 120 s unbroken inside
    trips: list[tuple[float, int]] = field(default_factory=list)  # minute, code
    cold: bool = False  # the last hour stands 20 C below the band
    doubted_min: float = 0.0
    still_open_min: float = 0.0
    fading_min: float = 0.0  # after the first hour held
    true_max_c: float = 0.0
    true_low_c: float = 0.0  # since the arrival
    meat_min: float | None = None

    @property
    def put_out(self) -> bool:
        """A trip, or a fire that was lost."""
        return bool(self.trips) or self.cold

    @property
    def doubted(self) -> bool:
        """Cut in doubt, or an open lid seen where there is none, for more than 5 min; or a trip."""
        return (self.doubted_min + self.still_open_min) * 60.0 > CUT_S or bool(self.trips)


def parts(cook: Cook) -> list[Any]:
    """x, c, y, k, events and weather of a cook as fresh arrays."""
    rows = np.array(cook.events, float).ravel()
    return [np.array(one, float) for one in (cook.x, cook.c, cook.y, cook.k)] + [rows, np.array(cook.weather, float)]


def board(cook: Cook, change: dict[str, int] | None = None, plain: bool = False, learned: int = 1000) -> Any:
    """Run the board's law on a cook; the trace, a row a cycle. change: settings besides the defaults.

    plain: uncompiled. learned: what an earlier cook taught the board, 0.1 % of the set gain. ValueError for a setting
    that does not exist or is out of its range.
    """
    day = build.day(plain)
    compiled = day is not build.day(True)
    settings, now, memory, out = (build.record(kind, compiled) for kind in (Settings, Now, Memory, Out))
    given = {**cook.settings, **(change or {})}
    check(given)
    for name, value in given.items():
        setattr(settings, name, value)
    memory.low, memory.high = settings.band_low, settings.band_high
    memory.learned = learned
    world = parts(cook)
    if not compiled:
        world = [one.tolist() for one in world]
    noise = cook.noise()
    trace = np.zeros((cook.cycles, at.TRACE))
    now.order = fields.ORDER_START
    first = 0
    for bite in sorted(int(one / at.PERIOD_S) for one in cook.restarts):
        kept = first + (bite - first) // CHECKPOINT * CHECKPOINT
        day.cook(settings, now, memory, out, cook.code, *world, noise, first, kept, trace)
        stored = _copy(memory)
        day.cook(settings, now, memory, out, cook.code, *world, noise, kept, bite, trace)
        if _worth(stored) == _worth(memory):
            _put(memory, stored)
        resume.wake(memory)
        world[2][at.DUTY] = 0.0
        gap = int(OUTAGE_S / at.PERIOD_S)
        day.run(cook.code, *world, int(OUTAGE_S))
        trace[bite : bite + gap] = trace[bite - 1]
        now.board |= fields.BOARD_WATCHDOG | getattr(fields, "BOARD_SHORT", 0)
        first = bite + gap
    day.cook(settings, now, memory, out, cook.code, *world, noise, first, cook.cycles, trace)
    return trace


def search(cook: Cook, plain: bool = False) -> Any:
    """Run `strangers.search` on a cook, which knows all but when a lid goes up; the trace, as of `board`."""
    made = build.search(plain)
    compiled = made is not build.search(True)
    settings, memory = build.record(Settings, compiled), build.record(Memory, compiled)
    world = parts(cook) if compiled else [one.tolist() for one in parts(cook)]
    x, c, y, k, e, w = world
    spare = x.copy(), y.copy(), k.copy(), e.copy()
    trace = np.zeros((cook.cycles, at.TRACE))
    plan = np.array([0, 5, 2])
    made.cook(settings, memory, cook.code, x, c, y, k, e, w, cook.noise(), spare, cook.cycles, trace, *BAND_C, plan)
    return trace


def check(change: dict[str, int]) -> None:
    """ValueError for settings that the board would refuse."""
    plain: Any = Settings()
    for name, value in change.items():
        if (name, 0) not in plain.NAMES:
            raise ValueError(f"There is no setting {name!r}; the board has {', '.join(n for n, _ in plain.NAMES)}.")
        setattr(plain, name, value)
    wrong = plain.wrong()
    if wrong:
        raise ValueError(f"Setting {wrong[0]} is {wrong[1]}; it must be within {wrong[2]}..{wrong[3]}.")


def _copy(memory: Any) -> Any:
    return memory.copy() if isinstance(memory, np.record) else copy.deepcopy(memory)


def _put(memory: Any, stored: Any) -> None:
    for name, count in Memory.NAMES:
        value = getattr(stored, name)
        if count:
            getattr(memory, name)[:] = value
        else:
            setattr(memory, name, value)


def _worth(memory: Any) -> tuple[int, ...]:
    """What hearth.loop stores at once."""
    return tuple(int(getattr(memory, name)) for name in ("mode", "phase", "low", "high", "trip", "arrived", "resume"))


def judge(cook: Cook, trace: Any, band: tuple[float, float] = BAND_C) -> Outcome:
    """What came of a cook, from its trace."""
    low, high = band
    found = Outcome(cook.name, cook.family, cook.seed, list(cook.words))
    reads, lid = trace[:, at.T_READING], trace[:, at.T_LID] > 0.0
    ends = (np.arange(len(trace)) + 1) * at.PERIOD_S
    inside = (reads >= low) & (reads <= high)
    found.true_max_c = float(trace[:, at.T_TRUE].max())
    trip = trace[:, at.T_TRIP]
    for i in np.flatnonzero((trip[1:] != 0) & (trip[:-1] == 0)) + 1:
        found.trips.append((float(ends[i]) / 60.0, int(trip[i])))
    last = trace[-int(COLD_S / at.PERIOD_S) :, at.T_TRUE]
    found.cold = bool(last.mean() < low - COLD_C)
    reason = trace[:, at.T_REASON]
    minute = at.PERIOD_S / 60.0
    found.doubted_min = float(np.isin(reason, list(DOUBTED)).sum() * minute)
    found.still_open_min = float((np.isin(reason, list(STILL_OPEN)) & ~lid).sum() * minute)
    reached = np.flatnonzero((reads[:-2] >= low) & (reads[1:-1] >= low) & (reads[2:] >= low))  # no spike of one reading
    if not len(reached):
        return found
    first = int(reached[0])
    found.arrived_min = float(ends[first]) / 60.0
    until = first + int(ARRIVAL_S / at.PERIOD_S)
    found.over_c = float(max(0.0, reads[first:until].max() - high))
    opened = np.flatnonzero(lid[first:until])
    alone = first + int(opened[0]) if len(opened) else until
    found.over_alone_c = float(max(0.0, reads[first:alone].max(initial=high) - high))
    found.true_low_c = float(trace[first:, at.T_TRUE].min())
    found.fading_min = float((np.isin(reason, list(FADES)) & (ends > ends[first] + HOUR_S)).sum() * minute)
    on = begins(trace, at.T_MEAT)
    found.meat_min = on / 60.0 if on is not None else None
    since = max(on if on is not None else HOUR_S, float(ends[first]) + SETTLE_S)
    counted = inside[ends > since]
    found.in_band = float(counted.mean()) if len(counted) else 0.0
    found.backs_min = backs(lid, inside)
    return found


def too_weak(cook: Cook, trace: Any) -> float:
    """The share of what counts in which the pit reads below the band under nearly all of the fan, 0..1."""
    found = judge(cook, trace)
    if found.arrived_min is None:
        return 1.0
    since = int(max(found.meat_min or HOUR_S / 60.0, found.arrived_min + SETTLE_S / 60.0) * 60.0 / at.PERIOD_S)
    rows = trace[since:]
    weak = (rows[:, at.T_READING] < BAND_C[0]) & (rows[:, at.T_FAN] > FULL_FAN)
    return float(weak.mean()) if len(rows) else 0.0


def begins(trace: Any, column: int) -> float | None:
    """Second at which a flag of the trace was first up; None if it never was."""
    rows = np.flatnonzero(trace[:, column])
    return float(rows[0]) * at.PERIOD_S if len(rows) else None


def happened(trace: Any, row: list[float]) -> float | None:
    """Second at which an event was due in this trace; None if it was not."""
    clock, when = row[at.E_CLOCK], row[at.E_WHEN]
    begun: float | None = 0.0
    if clock == at.FROM_MEAT:
        begun = begins(trace, at.T_MEAT)
    elif clock == at.FROM_ARRIVAL:
        begun = begins(trace, at.T_ARRIVED)
    elif clock == at.RISEN:
        begun, when = begins(trace[:, at.T_TRUE : at.T_TRUE + 1] >= when, 0), 0.0
    due = None if begun is None else begun + when
    return due if due is not None and due < len(trace) * at.PERIOD_S else None


def backs(lid: Any, inside: Any) -> list[float]:
    """Minutes from each lid shut to the first cycle of 120 s unbroken inside; to the next lid where there is none."""
    found = []
    run = np.zeros(len(inside), bool)  # this and the next UNBROKEN cycles are inside, lid shut
    fine = inside & ~lid
    total = np.concatenate([[0], np.cumsum(fine)])
    run[: len(fine) - UNBROKEN] = total[UNBROKEN:-1] - total[: len(fine) - UNBROKEN] == UNBROKEN
    shuts = np.flatnonzero(lid[:-1] & ~lid[1:]) + 1
    opens = np.flatnonzero(~lid[:-1] & lid[1:]) + 1
    for shut in shuts:
        later = opens[opens > shut]
        until = int(later[0]) if len(later) else len(lid)
        good = np.flatnonzero(run[shut:until])
        if len(good) or len(later):
            found.append((int(good[0]) if len(good) else until - shut) * at.PERIOD_S / 60.0)
    return found


def holdable(cook: Cook) -> str:
    """ "" if a fan can hold this pit, else why not, found by running it: from the cold a full fan brings it into the
    band within 4 h; 1.5, 5 and 9 h after the meat a full fan brings it above the middle of the band within 1.5 h, and
    without a fan the last half hour of two stands below the top. Between, eyes on the true air hold it."""
    day = build.day()
    calm = copy.copy(cook)
    calm.events = [row for row in cook.events if row[at.E_KIND] in (at.LID, at.MEAT)]
    family, world = calm.code, parts(calm)
    x, y = world[0], world[2]
    y[at.DUTY] = 1.0
    while x[at.X_AIR] < BAND_C[0] and y[at.TIME] < CLIMB_S:
        day.run(family, *world, 30)
    if x[at.X_AIR] < BAND_C[0]:
        return "a full fan does not bring it into the band"
    world = parts(calm)
    x, c, y, k, _, w = world
    trace, noise, done = np.zeros((calm.cycles, at.TRACE)), calm.noise(), 0
    for hours in LOOKS_H:
        while done < calm.cycles and (y[at.MEAT_AT] < 0.0 or y[at.TIME] < y[at.MEAT_AT] + hours * HOUR_S):
            more = min(done + 150, calm.cycles)
            day.keep(family, *world, noise, done, more, trace, MIDDLE_C)
            done = more
        if done >= calm.cycles - int(STARVE_S / at.PERIOD_S):
            break
        high, _ = day.still(family, x.copy(), c, y.copy(), k, w, 1.0, FEED_S)
        if high < MIDDLE_C:
            return f"a full fan does not reach the middle of the band {hours:g} h after the meat"
        _, mean = day.still(family, x.copy(), c, y.copy(), k, w, 0.0, STARVE_S)
        if mean > BAND_C[1]:
            return f"without a fan it stays above the band {hours:g} h after the meat"
    return ""


def each(work: Callable[[Any], Any], jobs: Sequence[Any], workers: int = 0) -> list[Any]:
    """work of every job, in their order, on `workers` cores (0: all there are)."""
    count = min(workers or len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1, len(jobs))
    build.day()
    if count <= 1:
        return [work(job) for job in jobs]
    with ProcessPoolExecutor(count, mp_context=multiprocessing.get_context("fork")) as pool:
        return list(pool.map(work, jobs, chunksize=4))


def middle(values: Sequence[float]) -> float | None:
    """Median, None of nothing."""
    return statistics.median(values) if values else None

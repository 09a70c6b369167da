"""A whole cook at full speed: the board's law in front of a simulated pit, and the results."""

from __future__ import annotations

import statistics
import time
from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, field
from types import ModuleType
from typing import Any

from hearth.core import Memory, Now, Out, Settings, fields

from tuyere.codes import REASONS, STATES
from tuyere.meat import hold, safety
from tuyere.meat import piece_slots as piece
from tuyere.meat.outcome import outcome
from tuyere.score import Score
from tuyere.sim import compiled, kernel
from tuyere.sim.outside import Outside
from tuyere.sim.pit_slots import PROBES

ARRIVAL_S = 2700.0  # how long the first arrival is looked at
CHUNK = 900  # cycles between two reports of progress
LOST_S = 900.0  # a pit below the band for this long has lost it, unless it is
AFTER_S = 2400.0  # this soon after an opening: then the cold meat is the cause
BAND_C = (Settings().band_low / 100.0, Settings().band_high / 100.0)
HOLD_H = 12.0
HOLDS = {  # name: place and s in the room before it
    "cool box": ("box", 0.0),
    "cool box, vented 15 min": ("box", 900.0),
    "cool box with towels": ("box with towels", 0.0),
    "cool box with towels, vented 15 min": ("box with towels", 900.0),
}
END_S = 1800.0  # the last part of the cook, for `fan_end`


@dataclass
class Rehearsal:
    """The results of one rehearsed cook. Temperatures C, times as named, shares 0..1."""

    cooker: str
    seed: int
    hours: float
    cycles: int = 0
    in_band: float | None = None  # share of time, counted as in `tuyere.score`
    over_c: float = 0.0  # how far the first arrival passed the top of the band
    arrival_min: float | None = None  # from lighting to the band
    meat_on_min: float | None = None
    back_min: float | None = None  # median from the lid shut to the band again
    openings: int = 0
    backs_min: list[float] = field(default_factory=list)  # of each opening
    lowest_c: float | None = None  # since the count began
    highest_c: float | None = None
    air_highest_c: float = 0.0  # true air at the grate, over all of the cook
    fan_mean: float = 0.0
    fan_end: float = 0.0  # mean of the last half hour
    fan_still_min: float | None = None  # from then on to the end the fan stood still
    lost_min: float | None = None  # when the pit fell below its band for 15 min or more, not because of an opening
    fuel_left_kg: float = 0.0
    meat_c: list[float | None] = field(default_factory=list)
    pieces: list[dict[str, Any]] = field(default_factory=list)  # name, kg, `tuyere.meat.outcome.Outcome`, `holds_of`
    states_min: dict[str, float] = field(default_factory=dict)
    reasons_min: dict[str, float] = field(default_factory=dict)
    changes: list[tuple[float, str]] = field(default_factory=list)  # minute, state from then on
    trips: int = 0
    seconds: float = 0.0  # that the rehearsal took

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return asdict(self)


def run(
    outside: Outside,
    hours: float,
    settings: Settings | None = None,
    kern: ModuleType = kernel,
    progress: Callable[[float], None] = lambda share: None,
    end: list[Any] | None = None,
) -> Any:
    """Run the law in front of a pit from a cold start; the trace, rows of `kernel.TRACE` numbers laid flat.

    kern: `tuyere.sim.kernel`, or its compiled copy from `compiled.kernel()`. `outside` is left as it was;
    `end`, if given, is filled with its flat sequences as they are at the end.
    """
    cycles = int(hours * 3600.0 / kernel.PERIOD_S)
    given = (outside.state, outside.constants, outside.pieces, outside.piece_constants, outside.events, outside.weather)
    now: Any
    if kern is kernel:
        setting, now, memory, out = settings or Settings(), Now(), Memory(), Out()
        course: list[Any] = [list(part) for part in given]
        trace: Any = []
    else:
        import numpy as np

        setting, now, memory, out = (compiled.record(kind) for kind in (Settings, Now, Memory, Out))
        for name, _ in Settings.NAMES if settings else ():
            setattr(setting, name, getattr(settings, name))
        course = [np.array(part, dtype=np.float64) for part in given]
        trace = np.empty(0)
    now.order = fields.ORDER_START
    memory.low, memory.high = setting.band_low, setting.band_high
    parts = []
    for first in range(0, cycles, CHUNK):
        count = min(CHUNK, cycles - first)
        part: Any = [0.0] * (count * kernel.TRACE) if kern is kernel else np.zeros(count * kernel.TRACE)
        kern.cook(setting, now, memory, out, *course, count, part, piece.PROBE, piece.SIZE, piece.ON)
        parts.append(part)
        progress((first + count) / cycles)
    if end is not None:
        end += course
    if kern is kernel:
        for part in parts:
            trace.extend(part)
        return trace
    return np.concatenate(parts)


def rehearse(
    cooker: str = "upright",
    hours: float = 14.0,
    seed: int = 1,
    progress: Callable[[float], None] = lambda share: None,
    settings: Settings | None = None,
    kern: ModuleType = kernel,
) -> Rehearsal:
    """Rehearse one cook from a cold start; `progress(share)` is called now and then with the share done.

    Raises ValueError for a cooker that does not exist.
    """
    return rehearse_with_trace(cooker, hours, seed, progress, settings, kern)[0]


def rehearse_with_trace(
    cooker: str,
    hours: float,
    seed: int,
    progress: Callable[[float], None] = lambda share: None,
    settings: Settings | None = None,
    kern: ModuleType = kernel,
) -> tuple[Rehearsal, Any]:
    """As `rehearse`, and the trace beside it."""
    began = time.perf_counter()
    found = Rehearsal(cooker, seed, hours)
    world, end = Outside(cooker, seed, hours=hours), list[Any]()
    trace = run(world, hours, settings, kern, progress, end)
    summarise(found, trace, settings)
    for i, one in enumerate(world.script.pieces):
        came, holds = outcome(end[2], end[3], i).as_dict(), holds_of(end[2], end[3], i)
        found.pieces.append({"name": one.name, "kg": one.mass_kg, **came, "holds_h": holds})
    found.seconds = time.perf_counter() - began
    return found, trace


def holds_of(m: Sequence[float], q: Sequence[float], i: int) -> dict[str, float]:
    """Hours that the coldest spot of piece i, as it is now, stays above the home limit in each of HOLDS (at most
    HOLD_H); none for a piece that is below it already."""
    own = [float(x) for x in m[i * piece.SIZE : (i + 1) * piece.SIZE]]
    made = [float(x) for x in q[i * piece.QSIZE : (i + 1) * piece.QSIZE]]
    limit = safety.HOME.c or 60.0
    if outcome(own, made).surface_c < limit:
        return {}
    found = {}
    for name, (where, vent_s) in HOLDS.items():
        run = hold.hold(own, made, hold.place(where), HOLD_H, limit_c=limit, vent_s=vent_s, step_s=120.0)
        found[name] = HOLD_H if run.below_h is None else run.below_h
    return found


def summarise(found: Rehearsal, trace: Any, settings: Settings | None = None) -> None:
    """Fill in the results of a cook from its trace. A state below 0 means a controller without states."""
    size = kernel.TRACE
    if not isinstance(trace, list):
        trace = trace.tolist()  # Python's own floats are read faster one by one
    pits: list[float] = trace[kernel.T_PIT :: size]
    opened: list[float] = trace[kernel.T_OPEN :: size]
    fans: list[float] = trace[kernel.T_FAN :: size]
    meats: list[list[float]] = [trace[kernel.T_MEAT + i :: size] for i in range(PROBES)]
    cycles = found.cycles = len(pits)
    at = [int((i + 1) * kernel.PERIOD_S * 1000) for i in range(cycles)]
    band: Any = settings or Settings()
    low, high = band.band_low / 100.0, band.band_high / 100.0
    score, back = Score(0), Openings()
    on = next((i for i, reads in enumerate(zip(*meats, strict=True)) if max(reads) > -100.0), None)
    if on is not None:
        score.meat_on(at[on])
        found.meat_on_min = at[on] / 60000.0
    score.add(at, pits, [low] * cycles, [high] * cycles)
    for i, lid in enumerate(opened):
        back.watch(at[i] / 60000.0, bool(lid), low <= pits[i] <= high)
    found.in_band = score.share
    found.openings, found.backs_min = back.count, back.minutes
    found.back_min = statistics.median(back.minutes) if back.minutes else None
    if score.arrived:
        first = int(score.arrived / 1000 / kernel.PERIOD_S) - 1
        found.arrival_min = score.arrived / 60000.0
        found.over_c = float(max(0.0, max(pits[first : first + int(ARRIVAL_S / kernel.PERIOD_S)]) - high))
    if score.since and at[-1] >= score.since:
        first = bisect_left(at, score.since)
        counted = pits[first:]
        found.lowest_c, found.highest_c = float(min(counted)), float(max(counted))
        found.lost_min = lost(counted, opened[first:], low, at[first] / 60000.0)
    found.fan_mean = float(sum(fans) / cycles)
    last = fans[-int(END_S / kernel.PERIOD_S) :]
    found.fan_end = float(sum(last) / len(last))
    still = next((i for i in range(cycles, 0, -1) if fans[i - 1] > 0.0), 0)
    found.fan_still_min = still * kernel.PERIOD_S / 60.0 if still < cycles else None
    found.air_highest_c = float(max(trace[kernel.T_AIR :: size]))
    found.fuel_left_kg = float(trace[-size + kernel.T_FUEL])
    found.meat_c = [None if meat < -99.0 else float(meat) for meat in trace[-size + kernel.T_MEAT :][:PROBES]]
    said(found, trace[kernel.T_STATE :: size], trace[kernel.T_REASON :: size])


def said(found: Rehearsal, states: list[float], reasons: list[float]) -> None:
    """Minutes in each state and for each reason, and when the state changed."""
    if states[0] < 0.0:
        return
    minute = kernel.PERIOD_S / 60.0
    found.states_min = {STATES[int(code)]: count * minute for code, count in sorted(Counter(states).items())}
    found.reasons_min = {REASONS[int(code)]: count * minute for code, count in sorted(Counter(reasons).items())}
    before = -1.0
    for i, code in enumerate(states):
        if code != before:
            found.changes.append((i * minute, STATES[int(code)]))
            before = code
    found.trips = sum(1 for _, word in found.changes if word == "tripped")


def lost(pits: Sequence[float], opened: Sequence[float], low: float, start: float) -> float | None:
    """The minute from which the pit is below `low` for LOST_S, AFTER_S or more after an opening.

    start: the minute of the first cycle; the meat going on counts as an opening.
    """
    below, shut = 0, 0.0
    for i, pit in enumerate(pits):
        shut = 0.0 if opened[i] else shut + kernel.PERIOD_S
        below = below + 1 if pit < low and shut >= AFTER_S else 0
        if below * kernel.PERIOD_S >= LOST_S:
            return start + (i + 1 - below) * kernel.PERIOD_S / 60.0
    return None


class Openings:
    """Minutes from each lid shut to the pit back in its band; one that never comes back counts until the next."""

    def __init__(self) -> None:
        self.minutes: list[float] = []
        self.count = 0
        self._open = False
        self._shut: float | None = None

    def watch(self, minute: float, opened: bool, inside: bool) -> None:
        """One cycle."""
        if opened:
            if not self._open:
                self.count += 1
                if self._shut is not None:
                    self.minutes.append(minute - self._shut)
                self._shut = None
        elif self._open:
            self._shut = minute
        if not opened and self._shut is not None and inside:
            self.minutes.append(minute - self._shut)
            self._shut = None
        self._open = opened

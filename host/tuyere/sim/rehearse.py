"""A whole cook as fast as it goes: the board's law in front of a simulated pit, and what came of it."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from types import ModuleType
from typing import Any

from hearth.core import Memory, Now, Out, Settings, fields

from tuyere.meat import slab
from tuyere.score import Score
from tuyere.sim import compiled, kernel
from tuyere.sim.board_in_pit import STATES
from tuyere.sim.outside import Outside

ARRIVAL_S = 2700.0  # the first arrival is looked at for so long
CHUNK = 900  # cycles between two words of progress


@dataclass
class Rehearsal:
    """What came of one rehearsed cook. Temperatures C, times as named, shares 0..1."""

    cooker: str
    seed: int
    hours: float
    cycles: int = 0
    in_band: float | None = None  # share of time, counted as in `tuyere.score`
    over_c: float = 0.0  # how far the first arrival passed the top of the band
    arrival_min: float | None = None  # from lighting to the band
    back_min: float | None = None  # median from the lid shut to the band again
    openings: int = 0
    lowest_c: float | None = None  # since the count began
    highest_c: float | None = None
    fan_mean: float = 0.0
    fuel_left_kg: float = 0.0
    meat_c: list[float | None] = field(default_factory=list)
    states_min: dict[str, float] = field(default_factory=dict)
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
) -> Any:
    """Run the law in front of a pit from a cold start; the trace, rows of `kernel.TRACE` numbers laid flat.

    kern: `tuyere.sim.kernel`, or its compiled copy from `compiled.kernel()`. `outside` is left as it was.
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
    parts = []
    for first in range(0, cycles, CHUNK):
        count = min(CHUNK, cycles - first)
        part: Any = [0.0] * (count * kernel.TRACE)
        if kern is not kernel:
            part = np.array(part)
        kern.cook(setting, now, memory, out, *course, count, part, slab.PROBE, slab.SIZE, slab.ON)
        parts.append(part)
        progress((first + count) / cycles)
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
    """Rehearse one cook from a cold start; `progress` is told the share done, now and then.

    Raises ValueError for a cooker that does not exist.
    """
    began = time.perf_counter()
    world = Outside(cooker, seed, hours=hours)
    found = Rehearsal(cooker, seed, hours, cycles=int(hours * 3600.0 / kernel.PERIOD_S))
    trace = run(world, hours, settings, kern, progress)
    size = kernel.TRACE
    pits = [float(pit) for pit in trace[kernel.T_PIT :: size]]
    fans = [float(fan) for fan in trace[kernel.T_FAN :: size]]
    at = [int((i + 1) * kernel.PERIOD_S * 1000) for i in range(found.cycles)]
    meats = trace[kernel.T_MEAT :: size]
    settings = settings or Settings()
    low, high = settings.band_low / 100.0, settings.band_high / 100.0
    score, back = Score(0), Openings()
    on = next((i for i in range(found.cycles) if meats[i] > -100.0), None)
    if on is not None:
        score.meat_on(at[on])
    score.add(at, pits, [low] * len(at), [high] * len(at))
    for i, opened in enumerate(trace[kernel.T_OPEN :: size]):
        back.watch(at[i] / 60000.0, bool(opened), low <= pits[i] <= high)
    for code, word in enumerate(STATES):
        minutes = sum(1 for state in trace[kernel.T_STATE :: size] if state == code) * kernel.PERIOD_S / 60.0
        if minutes:
            found.states_min[word] = minutes
    found.in_band = score.share
    found.openings = back.count
    found.back_min = statistics.median(back.minutes) if back.minutes else None
    if score.arrived:
        first = int(score.arrived / 1000 / kernel.PERIOD_S) - 1
        found.arrival_min = score.arrived / 60000.0
        found.over_c = max(0.0, max(pits[first : first + int(ARRIVAL_S / kernel.PERIOD_S)]) - high)
    since = [pit for when, pit in zip(at, pits, strict=True) if score.since and when >= score.since]
    if since:
        found.lowest_c, found.highest_c = min(since), max(since)
    found.fan_mean = sum(fans) / len(fans)
    found.fuel_left_kg = float(trace[-size + kernel.T_FUEL])
    found.meat_c = [None if meat < -99.0 else float(meat) for meat in trace[-size + kernel.T_MEAT :][:3]]
    found.seconds = time.perf_counter() - began
    return found


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

"""Many cooks on all cores, and their results together."""

from __future__ import annotations

import multiprocessing
import os
import signal
import statistics
import sys
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import asdict, dataclass
from typing import Any

from hearth.core import Settings

from tuyere.sim import compiled, rivals
from tuyere.sim.cookers import KINDS
from tuyere.sim.hardships import HARDSHIPS
from tuyere.sim.outside import Outside
from tuyere.sim.rehearse import Rehearsal, run, summarise

NEAR_C = 3.0  # a first arrival at most this much above the band counts as good
Progress = Callable[[int, int], None]  # cooks done, cooks in all


@dataclass(frozen=True)
class Case:
    """One cook of a fleet: a cooker and its script from the seed, who holds the band, and what ails it ("" nothing).

    settings: the board's, None for the defaults; name: what they are called beside others, "" for the controller's.
    """

    cooker: str
    seed: int
    hours: float = 14.0
    controller: str = "board"
    hardship: str = ""
    settings: Settings | None = None
    name: str = ""

    @property
    def called(self) -> str:
        """The name of the settings, else the controller."""
        return self.name or self.controller


@dataclass
class Summary:
    """The results of a fleet. Shares 0..1; a pit that never reached its band counts as a share of 0."""

    controller: str
    cooks: int = 0
    in_band: float = 0.0  # mean
    worst: float = 0.0
    worst_cook: str = ""
    by_kind: dict[str, float] | None = None
    near: float = 0.0  # share of first arrivals at most NEAR_C above the band
    over_c: float = 0.0  # the highest first arrival above the band
    back_min: float | None = None  # median of all openings
    trips: int = 0
    never: int = 0  # cooks that never reached the band

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return asdict(self)


def cases(
    controller: str = "board",
    kinds: Iterable[str] = tuple(KINDS),
    seeds: Iterable[int] = range(1, 9),
    hours: float = 14.0,
    hardship: str = "",
    settings: Settings | None = None,
) -> list[Case]:
    """Kinds times seeds."""
    given = list(seeds)
    return [Case(kind, seed, hours, controller, hardship, settings) for kind in kinds for seed in given]


def cook(case: Case) -> Rehearsal:
    """Rehearse one cook. ValueError for a kind, controller or hardship that does not exist."""
    began = time.perf_counter()
    found = Rehearsal(case.cooker, case.seed, case.hours)
    summarise(found, traced(case), case.settings)
    found.seconds = time.perf_counter() - began
    return found


def traced(case: Case) -> Any:
    """The trace of one cook, rows of `kernel.TRACE` numbers laid flat; errors as `cook`."""
    if case.controller not in rivals.CONTROLLERS:
        raise ValueError(f"Unknown controller {case.controller!r}; choose one of {', '.join(rivals.CONTROLLERS)}.")
    world = Outside(case.cooker, case.seed, hours=case.hours)
    if case.hardship:
        if case.hardship not in HARDSHIPS:
            raise ValueError(f"Unknown hardship {case.hardship!r}; choose one of {', '.join(HARDSHIPS)}.")
        HARDSHIPS[case.hardship].change(world)
    if case.controller == "board":
        return run(world, case.hours, case.settings, compiled.kernel())
    if case.controller in ("upper", "unwarned"):
        return rivals.look_ahead(world, case.hours, case.settings, foresees=case.controller == "upper")
    return rivals.run(world, case.hours, rivals.law(case.controller, case.cooker, case.seed, case.settings))


def sweep(
    listed: Sequence[Case], workers: int | None = None, progress: Progress = lambda done, all_: None
) -> list[Rehearsal]:
    """Rehearse every case, on `workers` cores (default: all); results in the order of the cases.

    Where processes start afresh (not Linux, or threads are running) the calling script needs the usual
    `if __name__ == "__main__":`. RuntimeError when one of the processes is killed.
    """
    count = min(workers or cores(), len(listed))
    progress(0, len(listed))
    if count <= 1:
        one_by_one = []
        for case in listed:
            one_by_one.append(cook(case))
            progress(len(one_by_one), len(listed))
        return one_by_one
    _warm(listed)
    found: dict[int, Rehearsal] = {}
    with ProcessPoolExecutor(count, mp_context=_context(), initializer=_child) as pool:
        waiting = {pool.submit(cook, case): i for i, case in enumerate(listed)}
        try:
            for done in as_completed(waiting):
                found[waiting[done]] = done.result()
                progress(len(found), len(listed))
        except BrokenProcessPool as broken:
            raise RuntimeError(
                f"One of the {count} processes was stopped from outside after {len(found)} of {len(listed)} cooks, "
                "perhaps for lack of memory; try again with fewer cooks."
            ) from broken
        finally:
            for future in waiting:
                future.cancel()
    return [found[i] for i in range(len(listed))]


def cores() -> int:
    """Processor cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _warm(listed: Sequence[Case]) -> None:
    """A short cook of each controller before there are children. It compiles once: forked children inherit that, others
    find it in the cache. And a missing package shows at once."""
    for controller in dict.fromkeys(case.controller for case in listed):
        cook(Case("drum", 1, 0.1, controller))


def _context() -> Any:
    """Fork where that is safe: on Linux, while no other thread runs here that could hold a lock at that moment."""
    forks = sys.platform == "linux" and threading.active_count() == 1
    return multiprocessing.get_context("fork" if forks else "spawn")


def _child() -> None:
    """Leave Ctrl-C to the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def summary(controller: str, found: Sequence[Rehearsal]) -> Summary:
    """The results of a fleet."""
    total = Summary(controller, len(found))
    if not found:
        return total
    shares = [(one.in_band or 0.0, f"{one.cooker} {one.seed}") for one in found]
    total.in_band = statistics.mean(share for share, _ in shares)
    total.worst, total.worst_cook = min(shares)
    kinds = dict.fromkeys(one.cooker for one in found)
    total.by_kind = {kind: statistics.mean(one.in_band or 0.0 for one in found if one.cooker == kind) for kind in kinds}
    over = [one.over_c for one in found if one.arrival_min is not None]
    total.never = len(found) - len(over)
    total.near = sum(1 for one in over if one <= NEAR_C) / len(over) if over else 0.0
    total.over_c = max(over, default=0.0)
    backs = [minutes for one in found for minutes in one.backs_min]
    total.back_min = statistics.median(backs) if backs else None
    total.trips = sum(one.trips for one in found)
    return total


def table(summaries: Sequence[Summary], fahrenheit: bool = False) -> list[str]:
    """The comparison in lines of text, in C or F."""
    unit, times = ("F", 1.8) if fahrenheit else ("C", 1.0)
    near = f"<= {NEAR_C * times:.3g} {unit}"
    head = f"{'':40} {'in band':>7} {'worst':>6} {near:>8} {'most over':>9} {'back':>8} {'trips':>5}"
    lines = [head]
    for one in summaries:
        back = "-" if one.back_min is None else f"{one.back_min:.1f} min"
        words = rivals.CONTROLLERS.get(one.controller, f"the board's law, {one.controller}")
        lines.append(
            f"{words:40} {one.in_band:7.3f} {one.worst:6.3f} {one.near:8.0%} "
            f"{one.over_c * times:7.1f} {unit} {back:>8} {one.trips:5}"
        )
    return lines


def legend(fahrenheit: bool = False) -> list[str]:
    """What the columns of `table` are."""
    near = f"{NEAR_C * 1.8:.3g} F" if fahrenheit else f"{NEAR_C:g} C"
    return [
        "in band: share of the time from the meat going on; worst: of the poorest cook",
        f"<= {near}: share of first arrivals that pass the top of the band by no more; most over: the highest of them",
        "back: median from a lid shut to the band again; trips: the fan latched off until a person comes",
    ]

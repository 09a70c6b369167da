"""Nights in front of members: the flat sequences that the kernel takes, and the compiled kernel itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from types import ModuleType
from typing import Any

import numpy as np

from tuyere.meat.piece import PieceOfMeat
from tuyere.meat.water import PRESSURE, boiling
from tuyere.sim import compiled, cookers, fleet
from tuyere.sim import pit_slots as at
from tuyere.sim.script import flat_pieces
from tuyere.tune import candidates
from tuyere.tune.night import PERIOD_S, Night

Array = Any  # a numpy array of float64
NEVER = 1e9
MEAT_LID_S = 300.0  # an opening that ends this long before the meat went on, or begins this long after, is another
LEAST_KG, MOST_KG = 2.6, 9.8  # of one piece in the model
HUMIDITY = 0.008


def kernel() -> ModuleType:
    """`tuyere.tune.led`, compiled where numba is there."""
    return compiled.load((*compiled.CORE, *compiled.PIT, "tuyere.tune.led"))


def world(night: Night, s: list[float], p: list[float], row: Array, number: int = 0) -> list[Array]:
    """A night's cook in front of a member: fresh arrays s, p, m, q, e, w. number: which of its nights."""
    s, p = candidates.apply(s, p, row)
    off, breeze, kg, soak = candidates.light(s, row, number)
    outside = night.outside_cycles()
    step = int(at.WEATHER_S / PERIOD_S)
    count = night.cycles // step + 2
    w = np.zeros((count, at.WEATHER))
    if outside is None:
        w[:, at.W_AMBIENT] = candidates.OUTSIDE_C + off / candidates.REST_SD[0] * candidates.OUTSIDE_SD
    else:
        w[:, at.W_AMBIENT] = outside[np.minimum(np.arange(count) * step, len(outside) - 1)]
    w[:, at.W_WIND] = breeze if night.wind_ms is None else night.wind_ms
    p[at.AMBIENT_W], p[at.AIR_PA], p[at.BOILS] = HUMIDITY, PRESSURE, boiling(PRESSURE)
    begun = float(night.seconds[0])
    p[at.ARRIVAL_C], p[at.MEAT_WAIT] = -NEVER, 0.0
    p[at.MEAT_AFTER] = NEVER if night.meat_on_s is None else max(0.0, night.meat_on_s - begun)
    events: list[float] = []
    p[at.MEAT_OPEN] = p[at.OUT_OPEN] = 0.0  # all lids are among the openings
    for start, length, _ in night.openings:
        if start + length >= begun:
            events += [0.0, max(0.0, start - begun), float(at.OPENING), length, 0.0, 0.0]
    ambient = float(w[0, at.W_AMBIENT])
    cookers.settle(s, ambient, HUMIDITY)
    first = night.pit_cycles()
    first = first[np.isfinite(first)][:5]
    if len(first) and float(np.median(first)) > ambient + 5.0:  # the record begins with a warm pit
        warm = float(np.median(first))
        s[at.GAS] = s[at.PROBE] = warm
        for i, share in ((at.METAL, 1.0), (at.WALL_1, 0.9), (at.WALL_2, 0.8), (at.WALL_3, 0.6), (at.PAN, 0.8)):
            s[i] = ambient + (warm - ambient) * (1.0 - (1.0 - soak) * share)
    if night.meat_kg is not None:
        kg = night.meat_kg
    pieces = max(1, min(at.PIECES, int(-(-kg // 6.0))))
    each = min(MOST_KG, max(LEAST_KG, kg / pieces))
    listed = [PieceOfMeat(mass_kg=each)] * pieces if night.meat_on_s is not None else []
    m, q = flat_pieces(listed)
    parts = (s, p, m, q, events, w.ravel())
    return [np.array(part, dtype=np.float64) for part in parts]


def each(
    work: Callable[[Any], Any], jobs: Sequence[Any], progress: Callable[[int], None] = lambda done: None
) -> list[Any]:
    """work of every job in their order, on all cores: compiled code lets other threads run."""
    done, found = 0, []
    with ThreadPoolExecutor(fleet.cores()) as pool:
        waiting = [pool.submit(work, job) for job in jobs]
        try:
            for one in waiting:
                found.append(one.result())
                done += 1
                progress(done)
        finally:  # also on Ctrl-C: what has not begun does not begin
            for one in waiting:
                one.cancel()
    return found


def cook() -> Callable[..., None]:
    """`sim.kernel.cook`, compiled: the law in front of a pit."""
    made: Callable[..., None] = compiled.kernel().cook
    return made

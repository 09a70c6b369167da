"""A whole cook as fast as it goes: the board's law in front of a simulated pit, and what came of it."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, field

from tuyere.score import Score
from tuyere.sim.board_in_pit import PERIOD_S, BoardInPit
from tuyere.sim.outside import Outside

ARRIVAL_S = 2700.0  # the first arrival is looked at for so long


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


def rehearse(
    cooker: str = "upright",
    hours: float = 14.0,
    seed: int = 1,
    progress: Callable[[float], None] = lambda share: None,
    board: BoardInPit | None = None,
    outside: Outside | None = None,
) -> Rehearsal:
    """Rehearse one cook from a cold start; `progress` is told the share done, now and then.

    Raises ValueError for a cooker that does not exist.
    """
    began = time.perf_counter()
    board = board or BoardInPit()
    world = outside or Outside(cooker, seed, hours=hours)
    found = Rehearsal(cooker, seed, hours, cycles=int(hours * 3600.0 / PERIOD_S))
    score, back = Score(0), Openings()
    at: list[int] = []
    pits: list[float] = []
    low, high = board.memory.low / 100.0, board.memory.high / 100.0
    readings = world.step(PERIOD_S, 0.0)
    counted = False
    fan_sum = 0.0
    for i in range(found.cycles):
        fan = board.step(PERIOD_S, readings.pit_c, readings.meat_c, readings.told)
        readings = world.step(PERIOD_S, fan)
        fan_sum += fan
        found.states_min[board.state] = found.states_min.get(board.state, 0.0) + PERIOD_S / 60.0
        at.append(int((i + 1) * PERIOD_S * 1000))
        pits.append(readings.pit_c)
        back.watch(at[-1] / 60000.0, readings.opened, low <= readings.pit_c <= high)
        if not counted and world.meat_on_s is not None:
            score.meat_on(int(world.meat_on_s * 1000))
            counted = True
        if i % 500 == 0:
            progress(i / found.cycles)
    progress(1.0)
    score.add(at, pits, [low] * len(at), [high] * len(at))
    found.in_band = score.share
    found.openings = back.count
    found.back_min = statistics.median(back.minutes) if back.minutes else None
    if score.arrived:
        first = int(score.arrived / 1000 / PERIOD_S) - 1
        found.arrival_min = score.arrived / 60000.0
        found.over_c = max(0.0, max(pits[first : first + int(ARRIVAL_S / PERIOD_S)]) - high)
    since = [pit for when, pit in zip(at, pits, strict=True) if score.since and when >= score.since]
    if since:
        found.lowest_c, found.highest_c = min(since), max(since)
    found.fan_mean = fan_sum / found.cycles
    found.fuel_left_kg = readings.fuel_kg
    found.meat_c = list(readings.meat_c)
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

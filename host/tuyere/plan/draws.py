"""Draws of when the pieces will be done, by the hour of the wrap."""

from __future__ import annotations

import importlib
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from types import ModuleType
from typing import Any

from tuyere.forecast import exchange
from tuyere.meat import cooking
from tuyere.meat import piece_slots as at
from tuyere.meat.piece import PieceOfMeat, lay
from tuyere.meat.water import pressure_at
from tuyere.plan.batches import Batch, batches, quantile
from tuyere.plan.capacity import Slot
from tuyere.plan.practice import LEAD_MIN, PRACTICE
from tuyere.plan.request import Asked, Own
from tuyere.plan.times import BadPlan
from tuyere.sim import compiled

MEMBERS, PLAIN_MEMBERS = 200, 24  # of an ensemble; fewer where nothing is compiled
SHARED = 0.6  # of the variance between pieces: air, walls and moisture of the one pit they lie in; judged, no source
PIT_SD_C = 2.0  # of a night's mean by its own probe: the board holds its band
AIM = 0.75  # how far up its band the board holds a pit: `hearth.core.law.goal`
LONGEST_H = 30.0  # a piece that is not done by then never is: `tuyere.forecast.ensemble`
STEP_S = 60.0
SEEN_BELOW, HUMIDITY = 8.0, 0.05  # K that walls stand below the air; kg/kg: a usual pit, see `tuyere.meat.parameters`
USUAL_PIT_C, WET_C = 131.5, 75.0  # a pit held at 250-275 F, and a surface in the plateau: common practice, no source
WRAP_C = (50.0, 94.0)  # a wrap by temperature lies within
NEVER_S = 1e12

Before = Callable[..., list[float]]


def forecaster() -> ModuleType:
    """`tuyere.forecast.finish`; BadPlan if a package that it needs is not installed."""
    return _needed("tuyere.forecast.finish")


def holder() -> ModuleType:
    """`tuyere.forecast.cooling`, the same."""
    return _needed("tuyere.forecast.cooling")


def _needed(name: str) -> ModuleType:
    try:
        return importlib.import_module(name)
    except ModuleNotFoundError as missing:
        raise BadPlan(f"Forecasts need a package that is not installed ({missing.name}): pip install numpy.") from None


@dataclass
class Drawing:
    """before: as `tuyere.forecast.finish.before`. pace: hours of the user's own cooks over those forecast. bark: hours
    that the user's own bark takes over the usual ones. slots: where each piece lies."""

    own: Sequence[Own]
    targets: Sequence[float]
    asked: Asked
    pace: float
    before: Before
    bark: float = 1.0
    slots: Sequence[Slot] = ()
    _kept: dict[tuple[int, float], list[float]] = field(default_factory=dict)
    _drawn: dict[Any, list[float]] = field(default_factory=dict)
    _ends: dict[tuple[Batch, float], tuple[list[float], list[float]]] = field(default_factory=dict)
    _batches: tuple[Batch, ...] = ()

    @property
    def pit_c(self) -> float:
        """The temperature at which the pit is held, C."""
        return self.asked.low + AIM * (self.asked.high - self.asked.low)

    @property
    def batches(self) -> tuple[Batch, ...]:
        """The pieces that go on together, the slowest first."""
        if not self._batches:
            likely = [quantile(sorted(self.hours(i, self.usual_h(one.cut))), 0.5) for i, one in enumerate(self.own)]
            self._batches = batches(self.own, self.slots or [Slot()] * len(self.own), likely)
        return self._batches

    def shade_h(self, cut: str) -> float:
        """Hours to the wanted shade in this pit: what dries and browns goes with how far it is above a wet surface."""
        return self.bark * PRACTICE[cut].shade_h * (USUAL_PIT_C - WET_C) / (self.pit_c - WET_C)

    def usual_h(self, cut: str) -> float:
        """Hours to the middle of the window in which a cut is wrapped."""
        return self.shade_h(cut) - sum(LEAD_MIN) / 120.0

    def hours(self, i: int, wrap_h: float) -> list[float]:
        """Hours from its going on until piece i is done, by member; inf where it never is. wrap_h: when it is wrapped,
        to the nearest half hour. Pieces that are alike share one draw, laid out for each: SHARED of what they
        differ by is the pit's."""
        wrap_h = round(2.0 * wrap_h) / 2.0 if self.asked.wrap else 0.0
        if (i, wrap_h) not in self._kept:
            slot = self.slots[i] if self.slots else Slot()
            pit = f"{self.asked.seed}" + f" pit {slot.pit} {slot.load}" * (slot != Slot())
            self._kept[i, wrap_h] = _laid_out(self._draw(i, wrap_h), pit, f"{self.asked.seed} {i}")
        return self._kept[i, wrap_h]

    def ends(self, batch: Batch, wrap_h: float) -> tuple[list[float], list[float]]:
        """Hours from its going on until the first and until the last piece of a batch is done, each sorted."""
        key = (batch, round(2.0 * wrap_h) / 2.0)
        if key not in self._ends:
            cooks = list(zip(*(self.hours(i, wrap_h) for i in batch.pieces), strict=True))
            self._ends[key] = sorted(min(cook) for cook in cooks), sorted(max(cook) for cook in cooks)
        return self._ends[key]

    def _draw(self, i: int, wrap_h: float) -> list[float]:
        """The hours of piece i, sorted."""
        asked, one, target = self.asked, self.own[i], self.targets[i]
        key = (one.cut, one.mass, one.flat, one.point, one.start, target, wrap_h)
        if key not in self._drawn:
            piece = exchange.KnownPiece(
                id=i + 1,
                name=one.name,
                cut=one.cut,
                mass=one.mass,
                flat=one.flat,
                point=one.point,
                start=one.start,
                intact=one.intact,
                target=target,
                wrap_with=asked.wrap,
            )
            found = self.before(
                piece, self.pit_c, pit_sd=PIT_SD_C, altitude=asked.altitude,
                wrap_at_c=usual_c(one, self.pit_c, asked.altitude, wrap_h / self.pace),
                members=MEMBERS if compiled.available() else PLAIN_MEMBERS, seed=asked.seed,
            )  # fmt: skip
            self._drawn[key] = sorted(value * self.pace for value in found)
        return self._drawn[key]


def _laid_out(hours: Sequence[float], pit: str, own: str) -> list[float]:
    """Sorted hours in the order of a sum of two normal numbers, one of the pit and one of the piece."""
    a, b = random.Random(pit), random.Random(own)
    marks = [SHARED**0.5 * a.gauss(0.0, 1.0) + (1.0 - SHARED) ** 0.5 * b.gauss(0.0, 1.0) for _ in hours]
    found = list(hours)
    for place, i in enumerate(sorted(range(len(hours)), key=marks.__getitem__)):
        found[i] = hours[place]
    return found


@lru_cache(maxsize=256)  # a plan that is moved, or made for another time, asks the same again
def usual_c(one: Own, pit_c: float, altitude: float, hours: float) -> float:
    """The probe's reading of a usual, bare piece after some hours. The forecast wraps by temperature."""
    if hours <= 0.0:
        return WRAP_C[0]
    m, q = lay([PieceOfMeat(one.name, one.cut, one.mass, one.flat, one.point, one.start, one.intact)])
    rows = max(1, round(hours * 3600.0 / STEP_S))
    plan = [0.0, NEVER_S, at.PAPER, NEVER_S, 0.0]
    pit = [pit_c, pit_c - SEEN_BELOW, HUMIDITY] * rows
    cooking.cook(m, q, 1, pit, rows, STEP_S, plan, pressure_at(altitude), rows, [0.0])
    return min(max(m[at.PROBE], WRAP_C[0]), WRAP_C[1])

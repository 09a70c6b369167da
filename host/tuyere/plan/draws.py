"""Draws of when the pieces will be done, by the hour of the wrap."""

from __future__ import annotations

import importlib
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from types import ModuleType
from typing import Any

from tuyere.forecast import exchange
from tuyere.meat import cooking
from tuyere.meat import piece_slots as at
from tuyere.meat.piece import PieceOfMeat, lay
from tuyere.meat.water import pressure_at
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


@dataclass(frozen=True)
class Finish:
    """Hours from meat on to done, sorted: of the first and of the last piece of each member; inf where it never is."""

    first: list[float]
    last: list[float]


@dataclass
class Drawing:
    """before: as `tuyere.forecast.finish.before`. pace: hours of the user's own cooks over those forecast."""

    own: Sequence[Own]
    targets: Sequence[float]
    asked: Asked
    pace: float
    before: Before
    _kept: dict[tuple[float, ...], Finish] = field(default_factory=dict)
    _drawn: dict[Any, list[float]] = field(default_factory=dict)

    @property
    def cuts(self) -> tuple[str, ...]:
        """The cuts there are, each once, in the order of the pieces."""
        return tuple(dict.fromkeys(piece.cut for piece in self.own))

    @property
    def pit_c(self) -> float:
        """The temperature at which the pit is held, C."""
        return self.asked.low + AIM * (self.asked.high - self.asked.low)

    def wrapped(self, hours: Sequence[float], only: str = "") -> Finish:
        """The finish if each of `cuts` is wrapped so many hours after the meat went on, to the nearest half hour; of
        only the pieces of the cut `only`, if given."""
        hours = [round(2.0 * one) / 2.0 if self.asked.wrap else 0.0 for one in hours]
        key = (float(self.cuts.index(only)) if only else -1.0, *hours)
        if key not in self._kept:
            at = dict(zip(self.cuts, hours, strict=True))
            pieces = [self._draw(i, at[one.cut]) for i, one in enumerate(self.own) if not only or one.cut == only]
            cooks = list(zip(*pieces, strict=False))
            self._kept[key] = Finish(sorted(min(one) for one in cooks), sorted(max(one) for one in cooks))
        return self._kept[key]

    def _draw(self, i: int, wrap_h: float) -> list[float]:
        """Piece i by member. Pieces that are alike share one draw, laid out for each anew: SHARED of what they differ
        by is the pit's."""
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
        return _laid_out(self._drawn[key], f"{asked.seed}", f"{asked.seed} {i}")


def _laid_out(hours: Sequence[float], pit: str, own: str) -> list[float]:
    """Sorted hours in the order of a sum of two normal numbers, one of the pit and one of the piece."""
    a, b = random.Random(pit), random.Random(own)
    marks = [SHARED**0.5 * a.gauss(0.0, 1.0) + (1.0 - SHARED) ** 0.5 * b.gauss(0.0, 1.0) for _ in hours]
    found = list(hours)
    for place, i in enumerate(sorted(range(len(hours)), key=marks.__getitem__)):
        found[i] = hours[place]
    return found


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


def quantile(ordered: Sequence[float], share: float) -> float:
    """The value below which `share` of a sorted sample lies, straight between its points."""
    place = share * (len(ordered) - 1)
    i = min(int(place), len(ordered) - 2) if len(ordered) > 1 else 0
    if len(ordered) == 1 or ordered[i] == ordered[i + 1] or place == i:
        return ordered[i]
    return ordered[i] + (ordered[i + 1] - ordered[i]) * (place - i)

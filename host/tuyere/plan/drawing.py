"""Draws of when the pieces will be done, by the hour of the wrap."""

from __future__ import annotations

import importlib
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from types import ModuleType
from typing import Any

from tuyere.forecast import model
from tuyere.meat import cooking
from tuyere.meat import slots as at
from tuyere.meat.piece import Piece, lay
from tuyere.meat.water import pressure_at
from tuyere.sim import compiled

from .asked import Asked, Own
from .times import BadPlan

MEMBERS, PLAIN_MEMBERS = 200, 24  # of an ensemble; fewer where nothing is compiled
SHARED = 0.6  # of the variance between pieces: air, walls and moisture of the one pit they lie in; judged, no source
PIT_SD_C = 2.0  # of a night's mean by its own probe: the board holds its band
STEP_S = 60.0
SEEN_BELOW, HUMIDITY = 8.0, 0.05  # K that walls stand below the air; kg/kg: a usual pit, see `tuyere.meat.parameters`
WRAP_C = (50.0, 94.0)  # a wrap by temperature lies within
NEVER_S = 1e12

Before = Callable[..., list[float]]


def forecaster() -> ModuleType:
    """`tuyere.forecast.finish`; BadPlan where what it stands on is not installed."""
    try:
        return importlib.import_module("tuyere.forecast.finish")
    except ModuleNotFoundError as missing:
        raise BadPlan(f"Forecasts need a package that is not installed ({missing.name}): pip install numpy.") from None


@dataclass(frozen=True)
class Finish:
    """Hours from meat on to done, sorted: of the first and of the last piece of each member."""

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
    _kept: dict[float, Finish] = field(default_factory=dict)

    def wrapped(self, hours: float) -> Finish:
        """The finish if all are wrapped so many hours after the meat went on, to the nearest half hour."""
        hours = round(2.0 * hours) / 2.0 if self.asked.wrap else 0.0
        if hours not in self._kept:
            self._kept[hours] = self._draw(hours)
        return self._kept[hours]

    def _draw(self, wrap_h: float) -> Finish:
        """Pieces that are alike share one draw, laid out for each anew: SHARED of what they differ by is the pit's."""
        asked, middle = self.asked, (self.asked.low + self.asked.high) / 2.0
        members = MEMBERS if compiled.available() else PLAIN_MEMBERS
        drawn: dict[Any, list[float]] = {}
        pieces = []
        for i, (one, target) in enumerate(zip(self.own, self.targets, strict=True)):
            key = (one.cut, one.mass, one.flat, one.point, one.start, target)
            if key not in drawn:
                piece = model.Piece(
                    i + 1, one.name, one.cut, one.mass, one.flat, one.point, one.start, one.intact, target,
                    wrap_with=asked.wrap,
                )  # fmt: skip
                wrap_c = usual_c(one, middle, asked.altitude, wrap_h / self.pace)
                drawn[key] = self.before(
                    piece,
                    middle,
                    pit_sd=PIT_SD_C,
                    altitude=asked.altitude,
                    wrap_at_c=wrap_c,
                    members=members,
                    seed=asked.seed,
                )
            hours = sorted(value * self.pace for value in drawn[key])
            pieces.append(_laid_out(hours, f"{asked.seed}", f"{asked.seed} {i}"))
        cooks = list(zip(*pieces, strict=False))
        return Finish(sorted(min(one) for one in cooks), sorted(max(one) for one in cooks))


def _laid_out(hours: Sequence[float], pit: str, own: str) -> list[float]:
    """Sorted hours in the order of a sum of two normal numbers, one of the pit and one of the piece."""
    a, b = random.Random(pit), random.Random(own)
    marks = [SHARED**0.5 * a.gauss(0.0, 1.0) + (1.0 - SHARED) ** 0.5 * b.gauss(0.0, 1.0) for _ in hours]
    found = list(hours)
    for place, i in enumerate(sorted(range(len(hours)), key=marks.__getitem__)):
        found[i] = hours[place]
    return found


def usual_c(one: Own, pit_c: float, altitude: float, hours: float) -> float:
    """What the probe of a usual, bare piece reads after so many hours: the forecast wraps by temperature."""
    if hours <= 0.0:
        return WRAP_C[0]
    m, q = lay([Piece(one.name, one.cut, one.mass, one.flat, one.point, one.start, one.intact)])
    rows = max(1, round(hours * 3600.0 / STEP_S))
    plan = [0.0, NEVER_S, at.PAPER, NEVER_S, 0.0]
    pit = [pit_c, pit_c - SEEN_BELOW, HUMIDITY] * rows
    cooking.cook(m, q, 1, pit, rows, STEP_S, plan, pressure_at(altitude), rows, [0.0])
    return min(max(m[at.PROBE], WRAP_C[0]), WRAP_C[1])


def quantile(ordered: Sequence[float], share: float) -> float:
    """The value below which `share` of a sorted sample lies, straight between its points."""
    place = share * (len(ordered) - 1)
    i = min(int(place), len(ordered) - 2) if len(ordered) > 1 else 0
    if len(ordered) == 1 or ordered[i] == ordered[i + 1]:
        return ordered[i]
    return ordered[i] + (ordered[i + 1] - ordered[i]) * (place - i)

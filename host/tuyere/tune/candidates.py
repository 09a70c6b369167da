"""What a cooker may be before its night says more: draws of all kinds, spread wider, as rows of plain numbers.

A member is a draw of `sim.cookers` with jitter: its row holds, on a scale without ends (a logarithm, or the logit
between two ends), every number that a night can move. The jitter and the ends are judged, no source: the kinds are only
five and a user's cooker is none of them, so the fan, the leak and the walls get a factor of two either way.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Any

import numpy as np

from tuyere.sim import cookers
from tuyere.sim import pit_slots as at

Array = Any  # a numpy array of float64


@dataclass(frozen=True)
class Coordinate:
    """One number of a row: its name, where it stands, its jitter, and the ends of a logit (None: a logarithm)."""

    name: str
    places: tuple[int, ...]
    jitter: float
    ends: tuple[float, float] | None = None

    def row(self, value: float) -> float:
        """Value -> number of the row."""
        if self.ends is None:
            return math.log(max(value, 1e-9))
        low, high = self.ends
        share = min(0.999, max(0.001, (value - low) / (high - low)))
        return math.log(share / (1.0 - share))

    def value(self, row: float) -> float:
        """Number of the row -> value."""
        if self.ends is None:
            return math.exp(min(30.0, max(-30.0, row)))
        low, high = self.ends
        return low + (high - low) / (1.0 + math.exp(-min(30.0, max(-30.0, row))))


# of the cooker: the same every night. Where a coordinate has several places, they move together.
COOKER = (
    Coordinate("fan", (at.FAN_FULL,), 0.5),
    Coordinate("dead", (at.FAN_DEAD,), 0.5, (0.0, 0.25)),
    Coordinate("bend", (at.FAN_BEND,), 0.4, (0.6, 1.8)),
    Coordinate("leak", (at.LOW_M2,), 0.6),
    Coordinate("exhaust", (at.HIGH_M2,), 0.4),
    Coordinate("bed share", (at.BED_SHARE,), 0.4, (0.3, 1.0)),
    Coordinate("wall", (at.WALL_AREA,), 0.25),
    Coordinate("layers", (at.LAYER_1, at.LAYER_2, at.LAYER_3), 0.35),
    Coordinate("between", (at.BETWEEN_12, at.BETWEEN_23), 0.4),
    Coordinate("inside", (at.INSIDE_H,), 0.25),
    Coordinate("outside", (at.OUTSIDE_H,), 0.25),
    Coordinate("wind", (at.WIND_H,), 0.4),
    Coordinate("draught of wind", (at.WIND_FACE,), 0.6, (0.0, 0.4)),
    Coordinate("metal", (at.METAL_J,), 0.4),
    Coordinate("metal to gas", (at.METAL_G,), 0.3),
    Coordinate("to metal", (at.SHARE_METAL,), 0.5, (0.1, 0.85)),
    Coordinate("stream", (at.STREAM_METAL,), 0.5, (0.2, 0.9)),
    Coordinate("preheat", (at.PREHEAT,), 0.5, (0.05, 0.8)),
    Coordinate("reactive", (at.REACTIVE,), 0.25),
    Coordinate("used", (at.USE_MOST,), 0.6, (0.5, 1.0)),
    Coordinate("cover", (at.COVER_HALF,), 0.4),
    Coordinate("air half", (at.AIR_HALF,), 0.3),
    Coordinate("glow", (at.GLOW_S,), 0.5),
    Coordinate("spread", (at.SPREAD,), 0.12),
    Coordinate("dies", (at.DIE_S,), 0.4),
    Coordinate("bed", (at.BED_J,), 0.4),
    Coordinate("bed area", (at.BED_AREA,), 0.3),
    Coordinate("lid air", (at.OPEN_FLOW,), 0.5),
    Coordinate("lid draught", (at.OPEN_BED,), 0.7),
    Coordinate("lid walls", (at.OPEN_WALL,), 0.5),
    Coordinate("probe", (at.PROBE_S,), 0.6),
    Coordinate("ash half", (at.ASH_HALF,), 0.4),
    Coordinate("ash", (at.ASH_SHARE,), 0.4),
)
# of the night
NIGHT = (
    Coordinate("lit", (at.LIT,), 0.6),
    Coordinate("unlit", (at.UNLIT,), 0.3),
    Coordinate("pan", (at.PAN_KG,), 0.3),
)
REST = ("outside", "breeze", "meat", "soak")  # K, log m/s, log kg, logit: not of a cooker's sequences
REST_SD = (3.0, 0.8, 0.5, 1.0)
BREEZE, MEAT_KG = math.log(1.0), math.log(9.0)
OUTSIDE_C, OUTSIDE_SD = 15.0, 10.0  # where a night does not say it
COOKERS, NIGHTS = len(COOKER), len(NIGHT) + len(REST)
FAR = 6.0  # jitters (and kinds' spreads) that a number of a row moves from the draw at most


@dataclass
class Drawn:
    """Draws: their own sequences s and p, and rows (the cooker, then each night), one row a member."""

    s: list[list[float]]
    p: list[list[float]]
    rows: Array
    kinds: list[str]

    def pick(self, chosen: Any) -> Drawn:
        """Some of them, in that order."""
        which = [int(i) for i in chosen]
        return Drawn(
            [self.s[i] for i in which],
            [self.p[i] for i in which],
            self.rows[which].copy(),
            [self.kinds[i] for i in which],
        )


def draw(count: int, nights: int, seed: int, kind: str = "") -> Drawn:
    """`count` members, of one kind or of all in turn, for `nights` nights. Same arguments, same numbers."""
    kinds = [kind] if kind else list(cookers.KINDS)
    r = random.Random(f"tune {seed}")
    found = Drawn([], [], np.zeros((count, COOKERS + nights * NIGHTS)), [])
    for i in range(count):
        name = kinds[i % len(kinds)]
        s, p = cookers.draw(name, r.randrange(1 << 30))
        found.s.append(s)
        found.p.append(p)
        found.kinds.append(name)
        row = [one.row(p[one.places[0]]) + r.gauss(0.0, one.jitter) for one in COOKER]
        for _ in range(nights):
            row += [one.row(s[one.places[0]]) + r.gauss(0.0, one.jitter) for one in NIGHT]
            row += [r.gauss(0.0, sd) for sd in REST_SD]
        found.rows[i] = row
    return found


def apply(s: list[float], p: list[float], row: Any) -> tuple[list[float], list[float]]:
    """A member's own sequences with its row's cooker in them: fresh copies (s, p)."""
    s, p = list(s), list(p)
    for number, one in zip(row, COOKER, strict=False):
        _scale(p, one, one.value(float(number)))
    return s, p


def light(s: list[float], row: Any, night: int = 0) -> tuple[float, float, float, float]:
    """Set fuel and pan of a night in s; returns (K added to the air outside, wind m/s, meat kg, soak 0..1)."""
    first = COOKERS + night * NIGHTS
    lit = s[at.LIT]
    for number, one in zip(row[first:], NIGHT, strict=False):
        if s[one.places[0]] > 0.0:
            s[one.places[0]] = one.value(float(number))
    s[at.GLOW] *= s[at.LIT] / lit if lit > 0.0 else 1.0
    outside, breeze, meat, soak = (float(x) for x in row[first + len(NIGHT) : first + NIGHTS])
    return outside, math.exp(BREEZE + breeze), math.exp(MEAT_KG + meat), 1.0 / (1.0 + math.exp(-soak))


def _scale(p: list[float], one: Coordinate, value: float) -> None:
    before = p[one.places[0]]
    for place in one.places:
        p[place] = p[place] * value / before if before > 0.0 else value

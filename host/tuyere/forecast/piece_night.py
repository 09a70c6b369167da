"""The course of one piece's night: what its pit read, how it was wrapped and moved, and what may come of both."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

import numpy as np

from tuyere.forecast import ensemble, exchange
from tuyere.forecast.ensemble import NEVER_S, STEP_S, Wrap
from tuyere.forecast.prior import Array, Members, seat
from tuyere.forecast.update import Seats
from tuyere.meat import piece_slots as at

MINUTE, HOUR = 60_000, 3_600_000
KINDS = {"paper": at.PAPER, "foil": at.FOIL, "": at.BARE}
PIT_C = (35.0, 200.0)  # a pit that reads otherwise is no pit to go on from
WRAP_H = (6.3, 1.2)  # hours from its going on to a wrap of which no shade tells: 5-8 h, common practice, no source
OVERDUE_S = 2400.0  # a wrap that is overdue comes in this long, in the mean
AIM = 0.75  # how far up its band a pit is held: `hearth.core.law.goal`
SAME_C = 0.3
OVEN_C = (121.0, 6.0)  # an oven nobody measures: mean and sd
OVEN_SEEN, OVEN_HUMIDITY = 0.0, 0.012


def kind(wrap: str) -> float:
    """A wrap by its word, as the meat's kernel has it; an unknown one counts as paper."""
    return KINDS.get(wrap, at.PAPER)


def _banded(known: exchange.Known) -> int:
    """The last time at which the board held another band than the present one, UTC ms; 0: never, or not known."""
    rows = zip(known.columns.at, known.columns.low, known.columns.high, strict=False)
    other = [t for t, low, high in rows if abs(low - known.low) > SAME_C or abs(high - known.high) > SAME_C]
    return max(other, default=0)


@dataclass
class Course:
    """pit: what the pit's probe read each STEP_S since the piece went on, C; wraps: (s from then, wrap), as noted;
    oven_s: when it went to the oven; level: what the pit will be held at, as its probe reads; last: what it reads."""

    TOLD: ClassVar = frozenset(("wrapped", "probe_seated", "in_oven", "hand_reading"))  # notes that change the past
    HEAD: ClassVar = 3.0  # K below the top of its band, a pit is as hot as it can be held

    height: float
    planned: str
    now: int
    now_s: float
    pit: Array
    wraps: list[tuple[float, float]]
    oven_s: float
    seat: Seats
    seat_s: float
    level: float
    last: float | None

    @classmethod
    def of(cls, known: exchange.Known, one: exchange.KnownPiece, sat: Seats) -> Course:
        """What is known of one piece's night."""

        def after(when: int) -> float:
            return max(0.0, (when - one.on_at) / 1000.0)

        have = [(t, c) for t, c in zip(known.columns.at, known.columns.pit, strict=False) if c is not None]
        usual = known.low + AIM * (known.high - known.low)
        rows = int((known.now - one.on_at) / 1000.0 / STEP_S)
        times = one.on_at + (np.arange(rows) + 0.5) * STEP_S * 1000.0
        pit = np.interp(times, [t for t, _ in have], [c for _, c in have]) if have else np.full(rows, usual)
        late = [c for t, c in have if known.now - t <= 8 * MINUTE]
        last = float(np.median(late)) if late else 0.0
        since = max(known.now - 2 * HOUR, one.on_at + 40 * MINUTE, _banded(known))
        near = [c for t, c in have if t > since and known.low - 4.0 <= c <= known.high + 4.0]
        mean = float(np.median(near)) if len(near) >= 30 else usual
        wraps = [
            (after(note.at), kind(note.text)) for note in one.notes if note.kind == "wrapped" and note.at <= known.now
        ]
        moved = [after(note.at) for note in one.notes if note.kind == "in_oven" and note.at <= known.now]
        oven_s = (moved[-1] if moved else after(known.now)) if one.place == "oven" else NEVER_S
        return cls(
            known.altitude, one.wrap_with, known.now, rows * STEP_S, pit, wraps, oven_s, sat,
            after(sat.now) if sat.before else 0.0, mean, last if PIT_C[0] < last < PIT_C[1] else None,
        )  # fmt: skip

    @property
    def wrapped(self) -> bool:
        """Is it wrapped now?"""
        return bool(self.wraps) and self.wraps[-1][1] != at.BARE

    def past(self, made: Members) -> Array:
        """Cook members from the raw piece to now; their probes, [members, steps]."""
        rows = len(self.pit)
        cuts = sorted({0, rows, *(min(rows, int(s / STEP_S)) for s, _ in self.wraps), *self._cut(self.seat_s, rows),
                       *self._cut(self.oven_s, rows)})  # fmt: skip
        count = len(made.m)
        parts = [np.empty((count, 0))]
        for first, last in pairwise(cuts):
            seat(made, made.tip if first * STEP_S >= self.seat_s - STEP_S else made.tip_before)
            wrap = next((w for s, w in reversed(self.wraps) if int(s / STEP_S) <= first), at.BARE)
            pit = np.broadcast_to(self.pit[first:last], (count, last - first))
            air, seen = pit + made.air[:, None], pit + made.seen[:, None]
            if first * STEP_S >= self.oven_s - STEP_S:
                air = np.broadcast_to(self._oven(made)[:, None], air.shape)
                seen = air + OVEN_SEEN
                made.humid = made.humid_late = np.full(count, OVEN_HUMIDITY)
                made.falls = np.zeros(count)
            when = np.full(count, 0.0 if wrap != at.BARE else NEVER_S)
            parts.append(ensemble.go(made, air, seen, np.full(count, wrap), when, wrap == at.BARE, False, self.height))
        if self.wraps and self.wraps[-1][0] >= rows * STEP_S:  # noted just now: the kernel has not seen it yet
            made.m[:, at.WRAP], made.m[:, at.WRAPPED_S] = self.wraps[-1][1], 0.0
        if self.oven_s < NEVER_S:  # from now on the oven is the pit, which reads its own air
            made.air, made.seen = self._oven(made) - OVEN_C[0], self._oven(made) - OVEN_C[0] + OVEN_SEEN
            made.humid = made.humid_late = np.full(count, OVEN_HUMIDITY)
            made.falls = np.zeros(count)
        seat(made, made.tip)
        made.m[:, at.DONE_S] = -1.0
        return np.concatenate(parts, axis=1)

    def pit_ahead(self, count: int, seed: int) -> Array:
        """What the pit's probe may read from now on, [count, steps]."""
        steps = round(ensemble.LONGEST_H * 3600.0 / STEP_S)
        if self.oven_s < NEVER_S:
            return np.full((count, steps), OVEN_C[0])
        openings = ensemble.OPENINGS_H * (0.3 if self.wrapped else 1.0)
        return ensemble.pit_ahead(count, steps, self.level, self.last, seed, openings)

    def wrap(self, count: int, window: exchange.Range | None, seed: int) -> Wrap:
        """When each member is wrapped: within the window of its bark, else by its probe; what is overdue: soon."""
        r = np.random.default_rng(seed)
        never = np.full(count, NEVER_S)
        if not self.planned or self.wraps:
            return Wrap(kind(self.planned), never)
        if window is not None:
            early, likely, late = (
                self.now_s + (t - self.now) / 1000.0 for t in (window.early, window.likely, window.late)
            )
            when = r.triangular(early, min(max(likely, early + 1.0), late + 1.0), late + 2.0, count)
        else:
            when = 3600.0 * (WRAP_H[0] + WRAP_H[1] * r.standard_normal(count))
        soon = self.now_s + r.exponential(OVERDUE_S, count)
        return Wrap(kind(self.planned), np.where(when > self.now_s, when, soon))

    @staticmethod
    def _cut(seconds: float, rows: int) -> list[int]:
        return [int(seconds / STEP_S)] if 0.0 < seconds < rows * STEP_S else []

    @staticmethod
    def _oven(made: Members) -> Array:
        return OVEN_C[0] + OVEN_C[1] * (made.air - made.air.mean()) / max(float(made.air.std()), 1e-6)

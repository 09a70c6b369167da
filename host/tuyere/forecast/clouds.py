"""Clouds of a piece's members, one for each belief about meat, drawn to the night's readings and weighed by them.

One cloud that held both quick and slow meat would be drawn to their middle. Apart, each explains the night in its own
way, and the better one counts. How well is told by the readings beforehand: the logarithm of their density under the
members before any evidence, taken as normal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tuyere.forecast import ensemble, exchange, prior, update
from tuyere.forecast.piece_night import Course
from tuyere.forecast.prior import Array, Belief, Members
from tuyere.sim import compiled

# The models err in ways that no member does, so a nat of the readings' density counts as COUNTS. Slow meat seldom
# passes for quick meat, which often passes for slow: EVEN nats are added for quick over the first EVEN_H of readings.
# Chosen on even seeds of strangers and of our own meat together.
COUNTS, EVEN, EVEN_H = 0.9, 5.7, 3.0
# What pieces of one night share: the correlation of each number between two of them, and the share of a piece's odds
# that speaks for the next one's, at most this many nats. Air, metal and vapour are one pit's; judged, no source.
SHARED = {"air": 0.6, "seen": 0.6, "humid": 0.9, "humid_late": 0.9, "humid_h": 0.9, "intake": 0.5}
ODDS_SHARED, ODDS_MOST = 0.5, 3.0
SURE = 30.0  # nats; no belief is ruled out by more


@dataclass(frozen=True)
class Believed:
    """A belief, and the logarithm of its odds before the night."""

    belief: Belief
    odds: float


USUAL = (Believed(prior.SLOW, float(np.log(0.85))), Believed(prior.QUICK, float(np.log(0.15))))


@dataclass
class Cloud:
    """Members of a belief, [members, prior.NAMES], and the logarithm of its weight before it is scaled."""

    belief: Belief
    rows: Array
    counts: float


def drawn(
    known: exchange.Known, one: exchange.KnownPiece, night: Course, read: update.Read, members: int,
    believed: Sequence[Believed] = USUAL, beside: Sequence[Cloud] = (),
) -> list[Cloud]:  # fmt: skip
    """The clouds as the readings have drawn them in, in the order of `believed`: slow meat, then quick. beside: those
    of another piece of the same night, drawn in before; what they tell of the pit is where this one begins."""
    found = []
    steps = update.STEPS if compiled.available() else update.PLAIN_STEPS
    count = max(2, ensemble.size(members) // len(believed))
    hours = float(read.minute[-1] - read.minute[0]) / 60.0 if len(read.c) else 0.0
    for i, each in enumerate(believed):
        rows, odds = prior.cloud(count, known.seed * 1000 + one.id), each.odds
        if beside:
            rows = _shared(rows, beside[i].rows)
            odds += max(ODDS_SHARED * (beside[i].counts - max(its.counts for its in beside)), -ODDS_MOST)

        def would_read(some: Array, belief: Belief = each.belief) -> Array:
            return picked(through(one, some, night, known.cooker, belief)[1], read.minute)

        rows, said = update.drawn_in(rows, read, would_read, known.seed + one.id, steps)
        even = EVEN * min(hours / EVEN_H, 1.0) if i else 0.0
        found.append(Cloud(each.belief, rows, odds + COUNTS * said + even))
    return found


def _shared(rows: Array, others: Array) -> Array:
    """Members with no evidence of their own, moved by those of another piece in the same pit."""
    rows = rows.copy()
    for name, alike in SHARED.items():
        i = prior.COLUMN[name]
        rows[:, i] = alike * others[: len(rows), i] + (1.0 - alike * alike) ** 0.5 * rows[:, i]
    return rows


def weights(some: Sequence[Cloud]) -> Array:
    """The share of each cloud; they sum to 1."""
    counts = np.array([one.counts for one in some])
    found = np.exp(np.maximum(counts - counts.max(), -SURE))
    shares: Array = found / found.sum()
    return shares


def through(one: exchange.KnownPiece, rows: Array, night: Course, cooker: str, belief: Belief) -> tuple[Members, Array]:
    """Members of these rows cooked through the night up to now, and their probes, [members, minutes]."""
    made = prior.members(one, rows, night.level, cooker, belief)
    return made, night.past(made)


def picked(probes: Array, minute: Array) -> Array:
    """What the probes of `through` read `minute` minutes after the piece went on, [members, len(minute)]."""
    if not probes.shape[1]:
        return np.empty((len(probes), 0))
    minute = np.clip(minute - 1.0, 0.0, probes.shape[1] - 1.0)
    low = minute.astype(int)
    high = np.minimum(low + 1, probes.shape[1] - 1)
    share = minute - low
    found: Array = probes[:, low] * (1.0 - share) + probes[:, high] * share
    return found

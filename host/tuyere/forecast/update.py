"""What the night's own probes say of a cloud of members: readings, seats of the probe, the cloud drawn towards them.

The update is the ensemble smoother with several gentle steps (ES-MDA: A. Emerick and A. Reynolds, Computers &
Geosciences 55, 2013): each step moves every member by the cloud's own covariance between its numbers and the readings
it gives, with the error's covariance made larger by a, the reciprocals of all a summing to 1. The error is what the
model itself may be off by (first-order noise, so that near readings do not count as many), and the probe's own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from tuyere.forecast import exchange
from tuyere.forecast.prior import FAR, Array

MINUTE = 60_000
STEPS = (8.0, 4.0, 8.0 / 3.0, 4.0)  # a of each step
PLAIN_STEPS = (2.0, 2.0)
DOUBT_C, DOUBT_S = 1.2, 5400.0  # what the model is thought to be off by, and how long in one direction
PROBE_C = 0.5  # a probe that reads wrong throughout
READ_C = 0.3  # a single reading
MOST = 28  # readings compared
APART = 10  # min between two of them, at least
SETTLED = 6  # min until a probe just seated reads the meat
JUMP_C, JUMP_MIN = 5.0, 3  # the meat itself does not change so fast: the tip was moved
HAND_C = 2.0  # a reading by hand, wherever it was taken


@dataclass
class Seats:
    """Since when the probe has been where it is (UTC ms), and since when it was where it was before (0: nothing is
    known of an earlier seat in this piece)."""

    now: int
    before: int = 0


@dataclass
class Read:
    """Readings to compare: minutes after the piece went on, C, and the sd of each one's own error, C."""

    minute: Array
    c: Array
    sd: Array

    def until(self, minute: float) -> Read:
        """Those up to then."""
        kept = self.minute <= minute
        return Read(self.minute[kept], self.c[kept], self.sd[kept])


def readings(known: exchange.Known, one: exchange.KnownPiece) -> tuple[list[int], list[float]]:
    """When (UTC ms) and what (C) the piece's probe read while it was on, oldest first."""
    if not 1 <= one.probe <= len(known.columns.meats):
        return [], []
    pairs = [
        (when, c)
        for when, c in zip(known.columns.at, known.columns.meats[one.probe - 1], strict=False)
        if c is not None and one.on_at <= when <= known.now
    ]
    return [when for when, _ in pairs], [c for _, c in pairs]


def seats(known: exchange.Known, one: exchange.KnownPiece) -> Seats:
    """Where in time the probe was seated, as noted or as its readings jump. A noted seat may be in another piece than
    the one before, so that what was read before it is another's, or nobody's; a jump alone is a tip pushed about."""
    ats, values = readings(known, one)
    noted = max((note.at for note in one.notes if note.kind == "probe_seated" and note.at <= known.now), default=0)
    since = max(one.on_at, noted)
    found = Seats(since)
    last: tuple[int, float] | None = None
    for when, c in zip(ats, values, strict=True):
        beside = last is not None and when - last[0] <= JUMP_MIN * MINUTE
        if beside and last and abs(c - last[1]) >= JUMP_C and when - found.now >= SETTLED * MINUTE:
            found = Seats(when, found.now)
        last = (when, c)
    return found


def compared(known: exchange.Known, one: exchange.KnownPiece, seat: Seats) -> Read:
    """At most MOST readings, evenly over the time the probe was in, and what was read by hand."""
    ats, values = readings(known, one)
    chosen: list[tuple[float, float, float]] = []
    from_ = (seat.before or seat.now) + SETTLED * MINUTE
    good = [
        (when, c)
        for when, c in zip(ats, values, strict=True)
        if when >= from_ and not (seat.before and abs(when - seat.now) < SETTLED * MINUTE)
    ]
    wanted = known.now
    gap = max(APART, (good[-1][0] - good[0][0]) / MINUTE / MOST) if good else APART
    for when, c in reversed(good):
        if when <= wanted:
            chosen.append(((when - one.on_at) / MINUTE, c, READ_C))
            wanted = when - round(gap * MINUTE)
    for note in one.notes:
        if note.kind == "hand_reading" and note.value is not None and one.on_at <= note.at <= known.now:
            chosen.append(((note.at - one.on_at) / MINUTE, note.value, HAND_C))
    chosen.sort()
    table = np.array(chosen).reshape(-1, 3)
    return Read(table[:, 0], table[:, 1], table[:, 2])


def covariance(read: Read) -> Array:
    """Of the errors of these readings, C^2."""
    apart = np.abs(read.minute[:, None] - read.minute[None, :]) * 60.0
    return DOUBT_C**2 * np.exp(-apart / DOUBT_S) + PROBE_C**2 + np.diag(read.sd**2)


def drawn_in(
    rows: Array, read: Read, would_read: Callable[[Array], Array], seed: int, steps: Sequence[float] = STEPS
) -> tuple[Array, float]:
    """The cloud after these readings, and how well it foretold them (`density`). rows: members of `prior.NAMES`;
    would_read: what members read at `read.minute`, C, [members, readings]."""
    if not len(read.c):
        return rows, 0.0
    said = None
    r = np.random.default_rng(seed)
    error = covariance(read)
    root = np.linalg.cholesky(error)
    for a in steps:
        given = would_read(rows)
        if said is None:
            said = density(read, given)
        off = rows - rows.mean(axis=0)
        spread = given - given.mean(axis=0)
        both = off.T @ spread / (len(rows) - 1)
        own = spread.T @ spread / (len(rows) - 1)
        spoilt = read.c + np.sqrt(a) * (r.standard_normal(given.shape) @ root.T)
        rows = rows + (spoilt - given) @ np.linalg.solve(own + a * error, both.T)
        rows = np.clip(rows, -FAR, FAR)
    return rows, said or 0.0


def density(read: Read, given: Array) -> float:
    """Logarithm of the density of the readings under members that read `given`, taken as normal; constants left out."""
    spread = given - given.mean(axis=0)
    root = np.linalg.cholesky(spread.T @ spread / (len(given) - 1) + covariance(read))
    z = np.linalg.solve(root, read.c - given.mean(axis=0))
    return float(-0.5 * z @ z - np.log(np.diag(root)).sum())


def residual(read: Read, given: Array) -> Array:
    """What each member is off by at the last reading, C, as far as it is the model's doubt and not a stray reading."""
    error = covariance(read)
    doubt = DOUBT_C**2 * np.exp(-np.abs(read.minute[-1] - read.minute) * 60.0 / DOUBT_S) + PROBE_C**2
    return (read.c - given) @ np.linalg.solve(error, doubt)

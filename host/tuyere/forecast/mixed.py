"""The meat's own members, the carried rise and a straight line as one forecast: weights by what each explained tonight.

The rise goes on from the probe as it reads. The meat's members have been drawn to the readings; what they are still off
by says how far tonight's piece is such meat. So their share falls with that misfit, between MOST and LEAST: the night
so far proves no model right for the rest of it. The hours that a member still has are spread by a factor, so that
doubt grows with what is to come.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tuyere.forecast import rise
from tuyere.forecast.ensemble import Run
from tuyere.forecast.prior import Array, Belief
from tuyere.forecast.rise import Carried
from tuyere.forecast.steady import Line
from tuyere.forecast.update import Read

LEAST = 0.02  # share of the meat's members when they do not fit; `Belief.trusted` when they do
FITS_C, LATELY_H = 1.9, 4.0  # misfit at which that share has fallen to half, and over how long it is taken
# The hours that a member still has are spread by a factor: sd of the logarithm. The rise's are lengthened, too, for it
# comes early by that on even seeds of strangers. NEAR_H before the end the rise is surer by NEARER, but for what it has
# missed tonight (`foretold`), which counts MISSED times and fades with MISSED_H of hours to go; and where it has missed
# little (MISSES), it takes up to INSTEAD of what the meat's members have.
PACE, PACE_RISE, LATER = 0.05, 0.27, 1.13
NEAR_H, NEARER = 2.0, 0.4
MISSED, MISSED_H = 0.75, 5.0
INSTEAD, MISSES = 0.75, 0.2
FARTHEST_H = 12.0  # as far off counts what is farther
UNKNOWN, MOST = 0.25, 1.0  # what is taken as missed where the night is too young to tell, and the most
SELDOM = 0.2  # weight of a member that never reads the target: in practice nearly every piece does
NEARLY_H, SURE = 0.5, 0.99  # of what is farther off than this, no odds are above SURE or below 1 - SURE
SHARES = (0.1, 0.5, 0.9)


@dataclass
class Part:
    """A cloud of the meat's members: how many, its share of them all, its belief, what its members, drawn to the
    readings, are still off by (`misfit`), C, and how far a wrap is at work (`rise.soaked`)."""

    members: int
    share: float
    belief: Belief
    misfit: float
    soaked: float = 0.0


@dataclass
class Mixed:
    """Members of all structures: hours until done (inf: not by the end), weights that sum to 1, their ways ahead."""

    hours: Array
    weights: Array
    run: Run
    carried: Carried | None

    def probes(self, minute: Array) -> Array:
        """The probe of every member `minute` whole minutes ahead, [members, len(minute)]."""
        parts = [self.run.probes[:, np.clip(minute - 1, 0, self.run.probes.shape[1] - 1)]]
        if self.carried is not None:
            place = np.clip(minute / rise.STEP_MIN - 1.0, 0.0, self.carried.probes.shape[1] - 1.0)
            low = place.astype(int)
            high = np.minimum(low + 1, self.carried.probes.shape[1] - 1)
            parts.append(
                self.carried.probes[:, low] * (1.0 - place + low) + self.carried.probes[:, high] * (place - low)
            )
        return np.concatenate(parts)


def mix(
    run: Run, carried: Carried | None, parts: Sequence[Part], seed: int, missed: float = UNKNOWN,
    line: Line | None = None,
) -> Mixed:  # fmt: skip
    """One forecast of both. parts: the clouds whose members stand in `run`, one after the other. missed: what the rise
    has missed tonight (`foretold.miss`). line: the straight one, where there is one (`steady`)."""
    sizes = [part.members for part in parts]
    ends = np.split(run.hours, np.cumsum(sizes)[:-1])
    hours = np.concatenate([_ahead(part, some, seed) for part, some in zip(parts, ends, strict=True)])
    shares = np.array([part.share for part in parts])
    if carried is None:
        return Mixed(hours, _ending(hours, np.repeat(shares / sizes, sizes)), run, None)
    middle = min(float(quantiles(carried.hours[:, None], carried.weights)[1, 0]), FARTHEST_H)
    near = np.exp(-middle / NEAR_H)
    instead = INSTEAD * near * np.exp(-((missed / MISSES) ** 2))
    shares = shares * [max(LEAST, (1.0 - instead) * _trusted(part)) for part in parts]
    weights = np.concatenate([np.repeat(shares / sizes, sizes), (1.0 - shares.sum()) * carried.weights])
    pace = np.hypot(PACE_RISE * (1.0 - NEARER * near), MISSED * missed * np.exp(-middle / (2.0 * MISSED_H)))
    hours = np.concatenate([hours, LATER * _spread(carried.hours, float(pace), seed + 1)])
    weights = _ending(hours, weights)
    if line is not None:
        steps = carried.probes.shape[1]
        straight = line.members(len(carried.hours), steps, rise.STEP_MIN / 60.0, seed + 1)
        hours = np.concatenate([hours, straight.hours])
        weights = np.concatenate([(1.0 - line.share) * weights, line.share * straight.weights])
        carried = replace(carried, probes=np.concatenate([carried.probes, straight.probes]))
    return Mixed(hours, weights, run, carried)


def _trusted(part: Part) -> float:
    """A cloud's part of its share beside the rise."""
    bare, wrapped = part.belief.trusted
    return (bare + part.soaked * (wrapped - bare)) / (1.0 + (part.misfit / FITS_C) ** 4)


def _ahead(part: Part, hours: Array, seed: int) -> Array:
    """The hours of a cloud's members as its belief takes them: drawn to their middle, later and less sure in a wrap."""
    middle = float(np.median(hours))
    if 0.0 < middle < np.inf:
        hours = middle * (hours / middle) ** part.belief.drawn
    later, spread = part.belief.wrapped
    found: Array = (1.0 + part.soaked * (later - 1.0)) * _spread(
        hours, float(np.hypot(PACE, part.soaked * spread)), seed
    )
    return found


def _ending(hours: Array, weights: Array) -> Array:
    """The weights with those of members that never end made smaller."""
    found: Array = weights * np.where(np.isinf(hours), SELDOM, 1.0)
    return found / found.sum()


def misfit(read: Read, given: Array) -> float:
    """Root mean square of what the middle member is off by over the last LATELY_H of readings, C; 0 for none."""
    if not len(read.c):
        return 0.0
    lately = read.minute >= read.minute[-1] - 60.0 * LATELY_H
    off = read.c[lately] - np.median(given[:, lately], axis=0)
    return float(np.sqrt(np.mean(off**2)))


def _spread(hours: Array, size: float, seed: int) -> Array:
    """Each member's hours times a factor of its own; the factors are mirrored, so that their median is 1."""
    g = np.random.default_rng(seed).standard_normal((len(hours) + 1) // 2)
    found: Array = hours * np.exp(size * np.concatenate([g, -g])[: len(hours)])
    return found


def quantiles(values: Array, weights: Array, shares: Sequence[float] = SHARES) -> Array:
    """The values that `shares` of the weight do not pass, [len(shares), columns]; values: [members, columns]."""
    order = np.argsort(values, axis=0)
    passed = np.cumsum(weights[order], axis=0)
    found = np.empty((len(shares), values.shape[1]))
    for i, share in enumerate(shares):
        first = np.minimum(np.argmax(passed >= share * passed[-1] - 1e-12, axis=0), len(values) - 1)
        found[i] = np.take_along_axis(np.take_along_axis(values, order, axis=0), first[None, :], axis=0)[0]
    return found


def odds(both: Mixed, hours: float) -> float:
    """The chance that it is done within `hours`. Of a thing that is still far off no model is all but sure."""
    found = float(both.weights @ (both.hours <= hours))
    far = float(quantiles(both.hours[:, None], both.weights)[1, 0]) > NEARLY_H
    return min(max(found, 1.0 - SURE), SURE) if far else found

"""Members moved on by the meat's kernel: through what the pit's probe read, and on in a pit that may come.

Steps of STEP_S. Ahead the kernel is called for CHUNK steps at a time, between which each member is wrapped when its
time or its probe has come, and its target moved by what the model is thought to be off by (`Doubt`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tuyere.forecast import prior
from tuyere.forecast.prior import Array, Members
from tuyere.meat import cooking
from tuyere.meat import piece_slots as at
from tuyere.meat.water import pressure_at
from tuyere.sim import compiled

MEMBERS, PLAIN_MEMBERS = 160, 40  # where numba is there, and where not
STEP_S = 60.0
CHUNK = 10
LONGEST_H = 30.0  # a piece that is not done by then gets no finish
NEVER_S = 1e12
LEVEL_C = 2.0  # sd of the difference between the pit's recent mean and its mean ahead
WANDER_C, WANDER_S = 2.0, 1800.0  # and of its slower wandering about that
OPENED_C, OPENED_S = 45.0, 420.0  # what an opening takes off the air, and how fast that comes back
OPENINGS_H = 0.4  # openings an hour while the piece is bare (looks, spritz, the other pieces)
DRY = 0.008  # kg/kg of the air outside
PATIENCE_S = 3.0 * 3600.0  # a bark that is dark for this long is wrapped, whatever the probe reads
SETTLE_S = 1500.0  # how long a pit outside its band takes to come back


@dataclass
class Doubt:
    """What the model is off by: e, its last residual of each member (C), and g, a normal number each. Ahead the error
    is e fading with time constant `fades` s, and a new one of sd `size` C growing in its place."""

    e: Array
    g: Array
    size: float
    fades: float

    def at(self, seconds: float) -> Array:
        """What is to be added to each member's probe this long ahead, C."""
        left = np.exp(-seconds / self.fades)
        return self.e * left + self.size * np.sqrt(1.0 - left * left) * self.g


@dataclass
class Wrap:
    """When a member that is bare is wrapped: `seconds` after it went on, and not before its probe reads
    `probe` C, for which the cook waits PATIENCE_S at most: the bark takes its time, whatever the middle does."""

    kind: float
    seconds: Array
    probe: Array | None = None


@dataclass
class Run:
    """What came of a run ahead: hours until done (inf: not by the end), the probes [members, steps] as they would be
    read, and whether each was wrapped on the way."""

    hours: Array
    probes: Array
    wrapped: Array


def size(asked: int = 0) -> int:
    """How many members: as asked, or what this machine can do in time."""
    return asked if asked else MEMBERS if compiled.available() else PLAIN_MEMBERS


def go(
    made: Members, air: Array, seen: Array, wrap: Array, wrap_s: Array, bare: bool, stop: bool, height: float
) -> Array:
    """Move m on through `air` and `seen` ([members, steps], C); the probes, [members, steps]. height: altitude, m."""
    count, rows = air.shape
    pits: Array = np.empty((count, rows, cooking.SERIES))
    passed: Array = made.m[:, at.COOKED_S]
    shut = (wrap != at.BARE) & (wrap_s <= passed) | (made.m[:, at.WRAP] != at.BARE) & (not bare)
    hours = (passed[:, None] + np.arange(rows) * STEP_S) / 3600.0
    fall = made.falls[:, None] * prior.fall(hours, shut[:, None])
    pits[:, :, cooking.S_AIR], pits[:, :, cooking.S_SEEN] = air - fall / 4.0, seen + 3.0 * fall / 4.0
    rise = 1.0 - np.exp(-hours / made.humid_h[:, None])
    level: Array = np.where(shut, made.humid_late, made.humid)
    pits[:, :, cooking.S_HUMIDITY] = DRY + level[:, None] * rise
    plan = np.empty((count, cooking.PLAN))
    plan[:, cooking.P_PIT] = np.arange(count)
    plan[:, cooking.P_WRAP_S], plan[:, cooking.P_WRAP] = wrap_s, wrap
    plan[:, cooking.P_BARE_S], plan[:, cooking.P_STOP] = 0.0 if bare else NEVER_S, 1.0 if stop else 0.0
    trace = np.zeros(count * rows)
    given: list[Any] = [made.m.reshape(-1), made.q.reshape(-1), pits.reshape(-1), plan.reshape(-1)]
    if compiled.available():
        m, q, pit, plans = given
        compiled.meat_kernel().cook(m, q, count, pit, rows, STEP_S, plans, pressure_at(height), 1, trace)
        return trace.reshape(count, rows)
    m, q, pit, plans = (one.tolist() for one in given)  # plain Python reads its own floats several times as fast
    out: list[float] = trace.tolist()
    cooking.cook(m, q, count, pit, rows, STEP_S, plans, pressure_at(height), 1, out)
    made.m[:] = np.array(m).reshape(made.m.shape)
    return np.array(out).reshape(count, rows)


def pit_ahead(count: int, steps: int, level: float, last: float | None, seed: int, openings: float) -> Array:
    """What a pit's probe may read ahead, C, [count, steps]: held near `level`, from `last` on, opened now and then."""
    r = np.random.default_rng(seed)
    t = np.arange(steps) * STEP_S
    wander = np.empty((count, steps))
    keep = float(np.exp(-STEP_S * CHUNK / WANDER_S))
    now = WANDER_C * r.standard_normal(count)
    for i in range(0, steps, CHUNK):
        wander[:, i : i + CHUNK] = now[:, None]
        now = keep * now + WANDER_C * np.sqrt(1.0 - keep * keep) * r.standard_normal(count)
    pit = level + LEVEL_C * r.standard_normal(count)[:, None] + wander
    if last is not None:
        pit += (last - level) * np.exp(-t / SETTLE_S)
    opened = r.random((count, steps)) < openings * STEP_S / 3600.0
    fall = np.exp(-t[: int(4 * OPENED_S / STEP_S)] / OPENED_S) * OPENED_C
    for i, k in zip(*np.nonzero(opened), strict=True):
        part = fall[: steps - k]
        pit[i, k : k + len(part)] -= part
    return pit


def ahead(made: Members, pit: Array, wrap: Wrap, doubt: Doubt, target: float, height: float) -> Run:
    """Run members on from where they are until all are done or `pit` ends; `made.m` is moved on with them."""
    count, steps = pit.shape
    m, q = made.m, made.q
    m[:, at.DONE_S] = -1.0
    began = m[:, at.COOKED_S].copy()
    seconds = wrap.seconds.copy()
    probes = np.empty((count, steps))
    was = m[:, at.WRAP].copy()
    made_of = np.where(was != at.BARE, was, wrap.kind)
    seconds[was != at.BARE] = NEVER_S
    for i in range(0, steps, CHUNK):
        off = doubt.at((i + CHUNK / 2.0) * STEP_S)
        q[:, at.DONE_C] = target - off
        part = slice(i, min(i + CHUNK, steps))
        due = seconds
        if wrap.probe is not None:
            due = np.where(m[:, at.PROBE] + off >= wrap.probe, seconds, seconds + PATIENCE_S)
        air = pit[:, part] + made.air[:, None]
        seen = pit[:, part] + made.seen[:, None]
        probes[:, part] = go(made, air, seen, made_of, due, False, True, height) + off[:, None]
        if (m[:, at.DONE_S] >= 0.0).all():
            probes[:, part.stop :] = probes[:, part.stop - 1 : part.stop]
            break
    done = m[:, at.DONE_S]
    hours = np.where(done >= 0.0, (done - began) / 3600.0, np.inf)
    return Run(hours, probes, m[:, at.WRAP] != at.BARE)

"""A second structure beside the meat's own: the probe's rise carried on, as of one lump that takes heat and dries.

    dT/dt = k (P - T) - e

T is the probe, P the pit as its probe reads, k the rate at which a dry piece would warm, e what drying takes off, as a
rate of the same probe. Tonight's own rise gives e now. Ahead e goes with e^(b (T - T now)), for warmer meat dries
faster, fades with a time constant as the surface dries, falls to a share of itself under a wrap, and wanders. So the
plateau and its end come out of a balance here too, but of another one, with no layers and no water in it.

Each member draws its numbers from NUMBERS. It is weighed by how it explains the earlier rises of the night. The
equation is our own; the numbers were chosen on strangers of meat, even seeds (`tests/bench/meat_strangers.py`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tuyere.forecast import ensemble, exchange, update
from tuyere.forecast.ensemble import NEVER_S, Wrap
from tuyere.forecast.piece_night import OVEN_C, Course
from tuyere.forecast.prior import Array
from tuyere.meat import piece_slots as at

MINUTE, HOUR_S = 60_000, 3600.0
STEP_MIN = 10  # of the way ahead
WINDOW_MIN, APART_MIN, WINDOWS = 30.0, 20.0, 24  # a rise is taken over this long; how far apart they are, and how many
FROM_C = 55.0  # colder meat is still on its way to the plateau, of which its rise tells nothing
EARLY_MIN = 40.0  # a probe is not yet carried by the middle's own rise
SOAK_H = 0.67  # a wrap does all that it does after this long
KEEPS_H = (0.25, 0.75)  # a rise measured this long after a wrap is still that of bare meat, and what is left of it goes
# Median and sd of the logarithm. bare, wrapped: how e grows with temperature, 1/K, and how long it lasts, h. paper,
# foil: what is left of e under them.
NUMBERS = {
    "k": (0.193, 0.285), "bare": (0.076, 0.36), "bare_h": (2.938, 0.663), "paper": (0.465, 0.573),
    "foil": (0.142, 0.617), "wrapped": (0.037, 0.608), "wrapped_h": (2.427, 0.587),
}  # fmt: skip
PIT_C = 1.88  # sd of the pit's mean ahead
RISE_C_H, RISE_SHARE = 0.206, 0.06  # sd of the rise measured now: a fixed part and a share of it
READ_C = 0.5  # sd of the temperature measured now
WANDER = 0.17  # sd of the logarithm of e in the first hour; it grows with the root of time
# sd of an earlier rise, C/h: a fixed part, a share of the rise, and more for each hour since
EARLIER_C_H, EARLIER_SHARE, EARLIER_AN_HOUR = 5.319, 0.204, 0.086
COUNTS = 0.113  # weight of one window: neighbouring windows err alike
FARTHEST = 8.0  # one window lowers the log likelihood of a member by this at most
LEAST = 0.026  # e is at least this share of the heat
RAISED = 0.2  # sd of the logarithm by which k may have to be raised for that


@dataclass
class Window:
    """A rise that was measured: its end (min after going on), the probe there (C), the rise (C/h), the pit (C), and
    whether the piece was wrapped."""

    end: float
    c: float
    rise: float
    pit: float
    wrapped: bool


@dataclass
class Carried:
    """What came of it: hours until done (inf: not by the end), the probe each STEP_MIN [members, steps], each member's
    weight (they sum to 1), and what each window told of each member (log; [members, windows])."""

    hours: Array
    probes: Array
    weights: Array
    told: Array


def windows(known: exchange.Known, one: exchange.KnownPiece, night: Course) -> list[Window]:
    """The rises of the night, latest first; those across a wrap are left out. Empty with no probe."""
    ats, values = update.readings(known, one)
    seated = (night.seat.now - one.on_at) / MINUTE
    minute = (np.array(ats, dtype=float) - one.on_at) / MINUTE
    c = np.array(values)
    minute, c = minute[minute >= seated + update.SETTLED], c[minute >= seated + update.SETTLED]
    now = night.now_s / 60.0
    if len(c) < 5 or now - minute[-1] > 10.0:
        return []
    from_ = max(seated + EARLY_MIN, night.oven_s / 60.0 if night.oven_s < NEVER_S else 0.0)
    wraps = [s / 60.0 for s, _ in night.wraps]
    found: list[Window] = []
    end = float(minute[-1])
    while len(found) < WINDOWS and (not found or end - WINDOW_MIN >= from_):
        inside = (minute > end - WINDOW_MIN) & (minute <= end)
        middle = end - WINDOW_MIN / 2.0
        across = any(abs(middle - w) < 45.0 for w in wraps)
        if inside.sum() >= (5 if not found else 0.4 * WINDOW_MIN) and (not found or not across):
            rise, here = np.polyfit((minute[inside] - end) / 60.0, c[inside], 1)
            rows = night.pit[max(0, int(end - 90.0)) : max(1, int(end))]
            kinds = [kind for s, kind in night.wraps if s / 60.0 <= middle]
            wrapped = bool(kinds) and kinds[-1] != at.BARE
            pit = float(np.mean(rows)) if len(rows) else night.level
            found.append(Window(end, float(here), float(rise), pit, wrapped))
        elif not found:
            return []
        end -= APART_MIN
    return found


def soaked(night: Course) -> float:
    """How far a wrap is at work by now, 0 (bare, or just wrapped) to 1."""
    if not night.wrapped:
        return 0.0
    since = (night.now_s - night.wraps[-1][0]) / HOUR_S
    return float(np.clip((since - KEEPS_H[0]) / KEEPS_H[1], 0.0, 1.0))


def ahead(
    known: exchange.Known, one: exchange.KnownPiece, night: Course, wrap: Wrap, seed: int,
    most_h: float = ensemble.LONGEST_H,
) -> Carried | None:  # fmt: skip
    """Carry tonight's rise on; None where nothing was measured, or below FROM_C. wrap: as the ensemble's. most_h: for
    that many hours at most."""
    seen = windows(known, one, night)
    if not seen or seen[0].c < FROM_C:
        return None
    count = len(wrap.seconds)
    half = np.random.default_rng(seed + 11).standard_normal(((count + 1) // 2, len(NUMBERS) + 3))
    z = np.concatenate([half, -half])[:count]
    by = {name: median * np.exp(sd * z[:, i]) for i, (name, (median, sd)) in enumerate(NUMBERS.items())}
    level = night.level if night.oven_s >= NEVER_S else OVEN_C[0]
    sd = PIT_C if night.oven_s >= NEVER_S else OVEN_C[1]
    pit = level + sd * z[:, -1]
    now = seen[0]
    rise = now.rise + (RISE_C_H + RISE_SHARE * abs(now.rise)) * z[:, -2]
    apart = np.maximum(pit - now.c, 1.0)
    drawn = by["k"]
    by["k"] = np.maximum(drawn, rise / (apart * (1.0 - LEAST)))  # no member warms slower than the probe does
    raised = np.log(by["k"] / drawn)
    heat = by["k"] * apart
    measured = np.maximum(heat - rise, LEAST * heat)
    wrapped = night.wrapped
    share = by["foil" if (night.wraps[-1][1] if wrapped else wrap.kind) == at.FOIL else "paper"]
    under = soaked(night)
    fresh = wrapped and under < 1.0
    takes = measured * (share * (1.0 - under) + under) if fresh else measured
    told = _explained(by, night, seen, pit - level, measured, takes, share, fresh)
    weight = COUNTS * told.sum(axis=1) - 0.5 * (raised / RAISED) ** 2
    weights = np.exp(weight - weight.max())
    weights /= weights.sum()
    due = np.full(count, np.inf) if wrapped else (wrap.seconds - night.now_s) / HOUR_S
    target = one.target - READ_C * z[:, -3]
    hours, probes = _carry(by, now.c, pit, takes, share, wrapped, due, target, seed, most_h)
    return Carried(hours, probes, weights, told)


def _explained(
    by: dict[str, Array], night: Course, seen: list[Window], off: Array, measured: Array, takes: Array, share: Array,
    fresh: bool,
) -> Array:  # fmt: skip
    """What each earlier window tells of each member (log). off: a member's pit over the level."""
    now, told = seen[0], np.zeros((len(off), max(len(seen) - 1, 0)))
    wrapped_min = night.wraps[-1][0] / 60.0 if night.wrapped else 0.0
    before = [one for one in seen if not one.wrapped]
    for i, one in enumerate(seen[1:]):
        back = (now.end - one.end) / 60.0
        if one.wrapped == (night.wrapped and not fresh):
            grows, lasts = (by["wrapped"], by["wrapped_h"]) if one.wrapped else (by["bare"], by["bare_h"])
            then = (measured if fresh else takes) * np.exp(grows * (one.c - now.c) + np.minimum(back / lasts, 3.0))
        elif night.wrapped and not one.wrapped:
            gone = max(0.0, (now.end - wrapped_min) / 60.0)
            at_wrap = before[0].c
            first = takes * np.exp(by["wrapped"] * (at_wrap - now.c) + np.minimum(gone / by["wrapped_h"], 3.0)) / share
            if fresh:
                first = measured
            then = first * np.exp(by["bare"] * (one.c - at_wrap) + np.minimum((back - gone) / by["bare_h"], 3.0))
        else:
            continue
        said = by["k"] * (one.pit + off - one.c) - then
        told[:, i] = likeness(said, one, back)
    return told


def likeness(said: Array, one: Window, back: float) -> Array:
    """Logarithm of how well rises that were `said` (C/h) explain the one of a window `back` hours ago."""
    sd = EARLIER_C_H + EARLIER_SHARE * abs(one.rise) + EARLIER_AN_HOUR * back
    return np.maximum(-0.5 * ((said - one.rise) / sd) ** 2, -FARTHEST)


def _carry(
    by: dict[str, Array], here: float, pit: Array, takes: Array, share: Array, wrapped: bool, due: Array, target: Array,
    seed: int, most_h: float,
) -> tuple[Array, Array]:  # fmt: skip
    """(hours until the target, the probe each STEP_MIN). due: hours until each is wrapped."""
    r = np.random.default_rng(seed + 13)
    step = STEP_MIN / 60.0
    steps = round(most_h / step)
    count = len(pit)
    t, hours = np.full(count, here), np.full(count, np.inf)
    probes = np.empty((count, steps))
    wander, under, e = np.zeros(count), np.zeros(count), takes.copy()
    shut = np.full(count, wrapped)
    for i in range(steps):
        passed = (i + 1) * step
        shut = shut | (due <= passed)
        if not wrapped:
            under = np.where(shut, np.minimum(under + step / SOAK_H, 1.0), 0.0)
        wander += WANDER * np.sqrt(step) * r.standard_normal(count)
        lasts: Array = np.where(shut, by["wrapped_h"], by["bare_h"])
        e = e * np.exp(-step / lasts)
        heat = by["k"] * (pit - t)
        pull = e * (1.0 - (1.0 - share) * under)
        pull = pull * np.exp(np.minimum(np.where(shut, by["wrapped"], by["bare"]) * (t - here) + wander, 5.0))
        rise = (heat - np.minimum(pull, 1.3 * np.abs(heat))) * step
        there = np.isinf(hours) & (t + rise >= target)
        part = np.clip((target - t) / np.maximum(rise, 1e-6), 0.0, 1.0)
        hours = np.where(there, passed - step * (1.0 - part), hours)
        t = t + rise
        probes[:, i] = np.where(np.isfinite(hours), target, t)
        if np.isfinite(hours).all():
            probes[:, i + 1 :] = target[:, None]
            break
    return hours, probes

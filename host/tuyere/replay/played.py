"""A recorded night played back through the pit of its cooker: what other settings would have made of it.

For each member of the ensemble that `tune.identify` has found, what its model leaves unexplained of the night becomes
the disturbance of that night: first how hard the fire burnt for its air (the lead of `tune.led`), then heat, given by
the minute and smoothed over three. The probe's noise is kept apart and bounded. With the recorded fan the pit then
reads what was recorded. The law decides again in front of each, with what was asked: orders, band, lids. It is played
twice, with the settings asked for and with those of the night; the difference of the two is added to the record, so
what the model misses in both falls out. How far the night's own settings come back to the record is shown beside it.
What people did is done again at the same times. README.md beside this file has the figures.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

import numpy as np
from hearth.core import Memory, Now, Out, Settings

from tuyere.replay import in_pit
from tuyere.replay.asked import Asked, of_night
from tuyere.replay.in_pit import PERIOD_S
from tuyere.score import Score
from tuyere.sim import compiled
from tuyere.text import Said, Share, Span, text
from tuyere.tune import candidates, smoother, worlds
from tuyere.tune.cooker import Cooker, Member
from tuyere.tune.known import identify
from tuyere.tune.night import Night

Array = Any  # a numpy array of float64
MODULES = (*compiled.CORE, *compiled.PIT, "tuyere.replay.in_pit")
EVERY = smoother.EVERY
SMOOTH = 0.35  # of a difference that is given as heat each minute: smoothed over three
LASTING = 0.1  # and that adds up
MOST_K = 10.0  # a minute
NOISE_C = 2.0  # a probe's noise is no larger
OFF = 0.03  # of the share: where the night's own settings miss it by more, nothing is concluded
LEAST_SPREAD = 0.015  # of the share: no range is narrower to either side. Chosen on even seeds
MORE, LESS = 0.5, 0.9  # of the change itself: it may be this much more or less. Chosen on even seeds
ALIKE = 0.03  # of the share: a change whose whole range is smaller is as good as none
BETTER, WORSE, SAME = "better", "worse", "about the same"


@dataclass(frozen=True)
class Run:
    """One night in front of one member. Readings C and fan 0..1 by period; kg of fuel burnt."""

    pit: Array
    fan: Array
    fuel_kg: float


@dataclass
class Would:
    """What would have been. Columns by period of 2 s; ranges are 10, 50 and 90 % over the ensemble.

    pit_c, fan: the middle of the ensemble; pit_low, pit_high: its range. recorded: the night's own share in band, same:
    that of its own settings played, in_band: that of the settings asked for; change: in_band less recorded, with a
    wider range. back_min: for each lid minutes until back in band (recorded, would be), None where it never came.
    read_again_c: root mean square of what the pit with the recorded fan reads beside the record, but near lids. heat_k:
    the same of the heat that the model lacks, a minute. answer: what the change comes to. cannot_tell: why nothing
    should be concluded; "" where there is an answer.
    """

    seconds: Array
    pit_c: Array
    fan: Array
    pit_low: Array
    pit_high: Array
    low: Array
    high: Array
    recorded: float | None
    same: tuple[float, float, float]
    in_band: tuple[float, float, float]
    change: tuple[float, float, float]
    back_min: list[tuple[float | None, float | None]]
    fuel_kg: tuple[float, float, float]
    fuel_same_kg: float
    read_again_c: float
    heat_k: float
    lead: float
    members: int
    answer: str = ""  # BETTER, WORSE or SAME
    cannot_tell: Said = ""
    settings: dict[str, int] = field(default_factory=dict)


@cache
def kernel() -> Any:
    """`replay.in_pit`, compiled where numba is there."""
    return compiled.load(MODULES)


@dataclass(frozen=True)
class Disturbed:
    """A member with the night's disturbance: lead and heat by minute, noise by period."""

    member: Member
    lead: Array
    parts: Array
    noise: Array
    read_again_c: float


def through_pit(
    night: Night,
    settings: Settings,
    *,
    cooker: Cooker | None = None,
    asked: Asked | None = None,
    band_c: tuple[float, float] | None = None,
    before: Settings | None = None,
    number: int = 0,
    progress: Callable[[float, str], None] = lambda share, what: None,
) -> Would:
    """Play a night through the pit with other settings.

    cooker: of `tune.identify`; None finds it from this night. number: which of the cooker's nights this one is. asked:
    what was ordered; None: held in its band from the beginning. band_c: instead of the bands of the night. before: the
    settings of the night; None: `night.settings`, or the defaults. BadValue for a night that cannot be used.
    """
    known = cooker or identify(night, progress=lambda share, what: progress(0.8 * share, what))
    part = 0.8 if cooker is None else 0.0
    was = asked or of_night(night)
    new = was.in_band(*band_c) if band_c else was
    own = before or night.settings or Settings()
    progress(part, "playing the night")
    members = [replace(one, row=_of_night(one.row, number)) for one in known.members]
    found = [disturbed(night, one, lead) for one, lead in zip(members, leads(night, members), strict=True)]
    jobs = [(one, own, was) for one in found] + [(one, settings, new) for one in found]
    runs = worlds.each(
        lambda job: played(night, *job),
        jobs,
        lambda done: progress(part + (1.0 - part) * done / len(jobs), "playing the night"),
    )
    return _summed(night, known, found, runs[: len(found)], runs[len(found) :], was, new, settings)


def _of_night(row: Array, number: int) -> Array:
    """A row whose only night is that of this number."""
    first = candidates.COOKERS + number * candidates.NIGHTS
    return np.concatenate([row[: candidates.COOKERS], row[first : first + candidates.NIGHTS]])


def leads(night: Night, members: Sequence[Member]) -> Array:
    """For each member how hard its fire burnt for its air, by minute."""
    rows = np.array([one.row for one in members])
    kinds = [one.kind for one in members]
    drawn = candidates.Drawn([one.s for one in members], [one.p for one in members], rows, kinds)
    [paths] = smoother.run(drawn, [night], [smoother.data(night)])
    return paths.lead


def disturbed(night: Night, member: Member, lead: Array) -> Disturbed:
    """What a member lacks to read what was read: heat by minute, and the noise of the probe."""
    count = len(lead)
    readings = night.pit_cycles()
    means = np.nan_to_num(smoother.data(night).pit, nan=-999.0)
    fan = np.ascontiguousarray(night.fan_cycles())
    parts, model = np.zeros(count), np.zeros(count)
    made = worlds.world(night, member.s, member.p, member.row)
    kernel().track(*made, fan, means, lead, SMOOTH, LASTING, MOST_K, EVERY, parts, model)
    noise = _noise(readings)
    found = np.zeros(len(readings))
    made = worlds.world(night, member.s, member.p, member.row)
    kernel().again(*made, fan, lead, parts, noise, EVERY, found)
    rest = (readings - found)[np.isfinite(readings) & ~near_lids(night)]
    return Disturbed(member, lead, parts, noise, float(np.sqrt(np.mean(rest**2))) if len(rest) else 0.0)


def near_lids(night: Night) -> Array:
    """The periods in which a lid is up, or was a little before: whether the model's lid is the true one is another
    matter."""
    near = np.zeros(night.cycles, dtype=bool)
    for start, length, _ in night.openings:
        first = int((start - float(night.seconds[0])) / PERIOD_S)
        near[max(0, first) : max(0, first + int((length + smoother.AFTER_S) / PERIOD_S))] = True
    return near


def _noise(readings: Array) -> Array:
    """Each reading less the mean of two minutes around it, bounded; 0 where there is none."""
    there = np.isfinite(readings)
    values, width = np.where(there, readings, 0.0), 2 * EVERY + 1
    ones = np.ones(width)
    mean = np.convolve(values, ones, "same") / np.maximum(np.convolve(there.astype(float), ones, "same"), 1.0)
    return np.where(there, np.clip(readings - mean, -NOISE_C, NOISE_C), 0.0)


def played(night: Night, one: Disturbed, settings: Settings, asked: Asked) -> Run:
    """The law in front of one member in this night."""
    setting, now, memory, out = (compiled.record(kind) for kind in (Settings, Now, Memory, Out))
    for name, _ in Settings.NAMES:
        setattr(setting, name, getattr(settings, name))
    memory.low, memory.high = setting.band_low, setting.band_high
    made = worlds.world(night, one.member.s, one.member.p, one.member.row)
    fuel = float(made[0][candidates.at.LIT] + made[0][candidates.at.UNLIT])
    trace = np.zeros(night.cycles * in_pit.TRACE)
    readings = night.pit_cycles()
    first = readings[np.isfinite(readings)]
    kernel().play(
        setting, now, memory, out, *made, asked.flat, one.lead, one.parts, one.noise,
        float(first[0]) if len(first) else 20.0, EVERY, trace,
    )  # fmt: skip
    table = trace.reshape(-1, in_pit.TRACE)
    pit = table[:, in_pit.T_PIT].copy()
    left = float(table[-1, in_pit.T_FUEL])
    return Run(pit, table[:, in_pit.T_DUTY].copy(), max(0.0, fuel - left))


def kept(night: Night, pit: Array, asked: Asked) -> tuple[float | None, list[float | None]]:
    """(share in band as in `tuyere.score`, for each lid the minutes from its shutting until back in band)."""
    pit = np.round(pit, 6)  # a reading right at an edge stays inside when it is computed again
    at = ((np.arange(len(pit)) + 1) * PERIOD_S * 1000.0).astype(int).tolist()
    score = Score(0)
    if night.meat_on_s is not None:
        score.meat_on(int((night.meat_on_s - night.seconds[0]) * 1000.0))
    readings = [float(value) if np.isfinite(value) else None for value in pit]
    score.add(at, readings, asked.low.tolist(), asked.high.tolist())
    inside = np.isfinite(pit) & (pit >= asked.low) & (pit <= asked.high)
    back: list[float | None] = []
    for i, (start, length, _) in enumerate(night.openings):
        shut = int((start + length - night.seconds[0]) / PERIOD_S)
        later = [one[0] for one in night.openings[i + 1 :]]
        until = int((min(later) - night.seconds[0]) / PERIOD_S) if later else len(pit)
        there = np.flatnonzero(inside[max(0, shut) : until])
        back.append(float(there[0]) * PERIOD_S / 60.0 if len(there) else None)
    return score.share, back


def _summed(
    night: Night, known: Cooker, found: list[Disturbed], same: list[Run], would: list[Run], was: Asked, new: Asked,
    settings: Settings,
) -> Would:  # fmt: skip
    weights = np.array([one.weight for one in known.members])
    weights = weights / weights.sum()
    record = night.pit_cycles()
    recorded, back = kept(night, record, was)
    before = np.array([kept(night, run.pit, was)[0] or 0.0 for run in same])
    moved = [record + one.pit - other.pit for one, other in zip(would, same, strict=True)]
    after = np.array([kept(night, pit, new)[0] or 0.0 for pit in moved])
    pits = np.array([np.where(np.isfinite(pit), pit, run.pit) for pit, run in zip(moved, would, strict=True)])
    low, middle, high = (_quantiles(pits, weights, share) for share in (0.1, 0.5, 0.9))
    off = float(abs(weights @ before - recorded)) if recorded is not None else 1.0
    change = _widened(_range(after - (recorded or 0.0), weights))
    best = int(np.argmax(weights))
    heat = float(np.sqrt(np.mean([np.mean(one.parts**2) for one in found])))
    why_not = _cannot_tell(known, recorded, off, change)
    return Would(
        seconds=night.times(), pit_c=middle, fan=weights @ np.array([run.fan for run in would]),
        pit_low=low, pit_high=high, low=new.low, high=new.high,
        recorded=recorded, same=_range(before, weights), in_band=_range(after, weights), change=change,
        back_min=list(zip(back, kept(night, moved[best], new)[1], strict=True)),
        fuel_kg=_range(np.array([run.fuel_kg for run in would]), weights),
        fuel_same_kg=float(weights @ np.array([run.fuel_kg for run in same])),
        read_again_c=float(weights @ np.array([one.read_again_c for one in found])),
        heat_k=heat, lead=known.lead, members=len(found),
        answer="" if why_not else _answer(change), cannot_tell=why_not,
        settings={name: getattr(settings, name) for name, _ in Settings.NAMES},
    )  # fmt: skip


def _widened(change: tuple[float, float, float]) -> tuple[float, float, float]:
    """The ensemble's own range, made as wide as the true one was found to be: on even seeds the members answered a
    lively law more than the true pits did, so the change may be nearly none, and a weak law less."""
    low, middle, high = change
    more, less = max(LEAST_SPREAD, MORE * abs(middle)), max(LEAST_SPREAD, LESS * abs(middle))
    if middle < 0.0:
        return min(low, middle - more), middle, max(high, middle + less)
    return min(low, middle - less), middle, max(high, middle + more)


def _answer(change: tuple[float, float, float]) -> str:
    """What a range of the change comes to; "" where it goes either way."""
    low, _, high = change
    if low > 0.0 or high < 0.0:
        return BETTER if low > 0.0 else WORSE
    return SAME if max(-low, high) <= ALIKE else ""


def _cannot_tell(known: Cooker, recorded: float | None, off: float, change: tuple[float, float, float]) -> Said:
    """Why nothing should be concluded, "" where something can."""
    if recorded is None:
        return "The pit of this night never came into its band, so there is nothing to compare with."
    if not known.fits and known.says_little:
        return known.says_little[-1]
    if not known.fits:
        return text(
            "No model of a cooker explains this night: the best one is off by {rest}.", rest=Span(known.misfit_c)
        )
    if off > OFF:
        return text(
            "With the night's own settings the model differs from the record by {off} of the time, so it says nothing "
            "of others.", off=Share(off, 1),
        )  # fmt: skip
    if not _answer(change):
        return "The cookers that explain this night do not agree whether it would have been better or worse."
    return ""


def _range(values: Array, weights: Array) -> tuple[float, float, float]:
    """10, 50 and 90 % of weighted values."""
    return tuple(float(_quantiles(values[:, None], weights, share)[0]) for share in (0.1, 0.5, 0.9))  # type: ignore[return-value]


def _quantiles(rows: Array, weights: Array, share: float) -> Array:
    """The weighted quantile of each column."""
    order = np.argsort(rows, axis=0)
    sums = np.cumsum(weights[order], axis=0)
    first = np.argmax(sums >= share - 1e-9, axis=0)
    return np.take_along_axis(rows, np.take_along_axis(order, first[None, :], axis=0), axis=0)[0]

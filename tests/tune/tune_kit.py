"""Nights of simulated cookers whose truth is known."""

from __future__ import annotations

from typing import Any

import numpy as np
from hearth.core import Settings, fields
from tuyere.sim import compiled, kernel
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside
from tuyere.sim.rehearse import run
from tuyere.tune import Night, candidates, smoother, stepped
from tuyere.tune.night import FELT_S, lids_of, stretches


def recorded(cooker: str, seed: int, hours: float = 14.0, settings: Settings | None = None) -> tuple[Night, Any]:
    """(a night of the fleet as a logbook would have it, its trace): openings as the board saw them."""
    world = Outside(cooker, seed, hours=hours)
    trace = run(world, hours, settings, compiled.kernel()).reshape(-1, kernel.TRACE)
    return as_night(trace, world), trace


def as_night(trace: Any, world: Outside) -> Night:
    """A rehearsal's trace as a night."""
    seconds = np.arange(len(trace)) * kernel.PERIOD_S
    lids = [
        (start - (0.0 if told else FELT_S), length + (0.0 if told else FELT_S), told)
        for start, length, told in lids_of(seconds, trace[:, kernel.T_STATE], trace[:, kernel.T_REASON])
    ]
    meat = np.flatnonzero(trace[:, kernel.T_MEAT] > -99.0)
    outside = np.array(world.weather[at.W_AMBIENT :: at.WEATHER])
    rows = np.minimum((seconds / at.WEATHER_S).astype(int), len(outside) - 1)
    return Night(
        seconds, trace[:, kernel.T_PIT], trace[:, kernel.T_DUTY], lids,
        outside_c=outside[rows], meat_on_s=float(seconds[meat[0]]) if len(meat) else None, name=world.cooker,
        tried=stretches(seconds, trace[:, kernel.T_REASON] == fields.EXPERIMENTING),
    )  # fmt: skip


def true_ahead(cooker: str, seed: int, night: Night, share: float) -> float:
    """What the true cooker itself leaves unexplained past what was fitted, led alike, C: its wind, its bed and its
    meat are not told to it either."""
    fitted, pit = _led(cooker, seed, night, share)
    return smoother.rms([(fitted.pit - pit)[fitted.until :]])


def true_rest(cooker: str, seed: int, night: Night) -> float:
    """The same of the whole night."""
    fitted, pit = _led(cooker, seed, night, 1.0)
    return smoother.rms([fitted.rest(pit)])


def _led(cooker: str, seed: int, night: Night, share: float) -> tuple[smoother.Data, Any]:
    """(the night's minutes, what the true cooker reads under the recorded fan)."""
    world = Outside(cooker, seed, hours=1.0)
    row = [one.row(world.constants[one.places[0]]) for one in candidates.COOKER]
    row += [one.row(world.state[one.places[0]]) for one in candidates.NIGHT] + [0.0] * len(candidates.REST)
    drawn = candidates.Drawn([world.state], [world.constants], np.array([row]), [cooker])
    fitted = smoother.data(night, share)
    (paths,) = smoother.run(drawn, [night], [fitted])
    return fitted, paths.pit[0]


def true_lift(cooker: str, seed: int) -> float:
    """What a tenth more fan lifts the true cooker in 10 min, held for 5 h, C."""
    end: list[Any] = []
    trace = run(Outside(cooker, seed, hours=5.0), 5.0, None, compiled.kernel(), end=end).reshape(-1, kernel.TRACE)
    return stepped.lift(stepped.answer(end, float(trace[-900:, kernel.T_DUTY].mean())))

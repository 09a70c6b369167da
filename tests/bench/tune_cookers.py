"""The cookers that `tune.py` and `playback.py` try: of the fleet and strangers, each with nights of its own."""

from __future__ import annotations

import copy
import random
from typing import Any

import numpy as np
from hearth.core import Memory, Now, Out, Settings, experiment, fields
from strangers import build, cooks, trial
from strangers import places as st
from tuyere import tune
from tuyere.sim import compiled, kernel
from tuyere.sim import pit_slots as at
from tuyere.sim.cookers import draw
from tuyere.sim.outside import Outside
from tuyere.sim.rehearse import run
from tuyere.tune import rehearsed, sensitivity, stepped
from tuyere.tune.going import ASKED_S, ASKS_S, Going
from tuyere.tune.night import FELT_S, lids_of, stretches

HOURS = 14.0
TRIED_H = 5.0  # an experiment is asked for from then on
OTHER = 1000  # seeds of scripts and weather of other nights begin here


def lids(seconds: Any, state: Any, reason: Any) -> list[tuple[float, float, bool]]:
    """Openings as the board knew them, the felt ones from the beginning of the fall."""
    return [
        (start - (0.0 if told else FELT_S), length + (0.0 if told else FELT_S), told)
        for start, length, told in lids_of(seconds, state, reason)
    ]


class Own:
    """A cooker of the project's fleet, with nights of its own."""

    def __init__(self, kind: str, seed: int) -> None:
        self.kind, self.seed, self.name = kind, seed, f"{kind} {seed}"

    def world(self, number: int) -> Outside:
        """Night 0 is the one that is recorded."""
        world = Outside(self.kind, self.seed + OTHER * number * 2, hours=HOURS)
        s, p = draw(self.kind, self.seed)
        for place in range(at.PARAMETERS):
            if place not in (at.ARRIVAL_C, at.AMBIENT_W, at.MEAT_AFTER, at.MEAT_WAIT, at.MEAT_OPEN, at.MEAT_TOLD,
                             at.OUT_OPEN, at.AIR_PA, at.BOILS):  # fmt: skip
                world.constants[place] = p[place]
        for place in (at.LIT, at.UNLIT, at.GLOW, at.PAN_KG, at.BED):
            world.state[place] = s[place]
        return world

    def share(self, number: int, settings: Settings) -> rehearsed.Came:
        """A night under some settings."""
        trace = np.array(run(self.world(number), HOURS, settings, compiled.kernel())).reshape(-1, kernel.TRACE)
        return rehearsed.came(trace, 121.1, 135.0)

    def recorded(self, settings: Settings | None = None, step: float = 0.0) -> tune.Night:
        """Night 0 under some settings (None: the defaults), as a logbook has it. step: of an experiment, share of the
        fan; 0: none."""
        world = self.world(0)
        given = (world.state, world.constants, world.pieces, world.piece_constants, world.events, world.weather)
        going = Going(settings or Settings(), [np.array(part, dtype=np.float64) for part in given])
        going.on(TRIED_H * rehearsed.HOUR_S)
        if step:
            going.experiment(step, HOURS * rehearsed.HOUR_S)
        going.on(HOURS * rehearsed.HOUR_S - going.seconds)
        trace = np.concatenate(going.traces)
        seconds = np.arange(len(trace)) * kernel.PERIOD_S
        meat = np.flatnonzero(trace[:, kernel.T_MEAT] > -99.0)
        outside = np.array(world.weather[at.W_AMBIENT :: at.WEATHER])
        return tune.Night(
            seconds, trace[:, kernel.T_PIT], trace[:, kernel.T_DUTY],
            lids(seconds, trace[:, kernel.T_STATE], trace[:, kernel.T_REASON]),
            outside_c=outside[np.minimum((seconds / at.WEATHER_S).astype(int), len(outside) - 1)],
            meat_on_s=float(seconds[meat[0]]) if len(meat) else None, settings=settings,
            tried=stretches(seconds, trace[:, kernel.T_REASON] == fields.EXPERIMENTING),
        )  # fmt: skip

    def answer(self) -> sensitivity.Answer:
        """The true pit's, held 5 h."""
        end: list[Any] = []
        run(self.world(0), 5.0, None, compiled.kernel(), end=end)
        trace = np.array(run(self.world(0), 5.0, None, compiled.kernel())).reshape(-1, kernel.TRACE)
        return stepped.answer(end, float(trace[-900:, kernel.T_DUTY].mean()))


class Stranger:
    """One of the strangers, with nights of its own."""

    def __init__(self, family: str, seed: int) -> None:
        self.family, self.seed, self.name = family, seed, f"{family} {seed}"

    def cook(self, number: int) -> cooks.Cook:
        """Night 0 is the one that is recorded; the others have their own air, wind, lids and meat."""
        cook = cooks.draw(self.family, self.seed)
        if number == 0:
            return cook
        other = copy.copy(cook)
        other.events, other.k = [], list(cook.k)
        other.seed = self.seed + OTHER * number * 2
        r = random.Random(f"night {self.family} {self.seed} {number}")
        outside = r.uniform(2.0, 30.0)
        cooks.begin(other, outside)
        cooks.load(other, r.uniform(3.0, 12.0), r.uniform(2.0, 14.0))
        cooks.weather(other, outside, outside - r.uniform(2.0, 12.0), r.uniform(0.0, 3.5), r.uniform(0.15, 0.5))
        cooks.lids(other, r)
        return other

    def share(self, number: int, settings: Settings) -> rehearsed.Came:
        """A night under some settings."""
        found = trial.judge(self.cook(number), trial.board(self.cook(number), changed(settings)))
        return rehearsed.Came(found.in_band, found.over_c, found.arrived_min, None, 0.0, len(found.trips))

    def recorded(self, settings: Settings | None = None, step: float = 0.0) -> tune.Night:
        """Night 0 under some settings (None: the defaults), as a logbook has it; step: as of `Own.recorded`."""
        cook = self.cook(0)
        change = changed(settings) if settings else None
        trace = tried(cook, change, step) if step else trial.board(cook, change)
        seconds = np.arange(len(trace)) * st.PERIOD_S
        on = trial.begins(trace, st.T_MEAT)
        outside = np.array(cook.weather)[0::2]
        return tune.Night(
            seconds, trace[:, st.T_READING], trace[:, st.T_DUTY],
            lids(seconds, trace[:, st.T_STATE], trace[:, st.T_REASON]),
            outside_c=outside[np.minimum((seconds / st.WEATHER_S).astype(int), len(outside) - 1)], meat_on_s=on,
            settings=settings, tried=stretches(seconds, trace[:, st.T_REASON] == fields.EXPERIMENTING),
        )  # fmt: skip

    def answer(self) -> sensitivity.Answer:
        """The true pit's, held 5 h without noise."""
        day, cook = build.day(), self.cook(0)
        world = trial.parts(cook)
        half = int(5.0 * 3600.0 / st.PERIOD_S)
        trace = np.zeros((half, st.TRACE))
        day.keep(cook.code, *world, cook.noise() * 0.0, 0, half, trace, trial.MIDDLE_C)
        x, c, y, k, _, w = world
        base = float(trace[-900:, st.T_DUTY].mean())
        low, high = max(0.0, base - stepped.STEP), min(1.0, base + stepped.STEP)
        ends = []
        for fan in (low, high):
            x2, y2, path = x.copy(), y.copy(), []
            y2[st.DUTY], y2[st.LID_UNTIL] = fan, y2[st.TIME]
            for _ in range(1350):
                day.run(cook.code, x2, c, y2, k, np.zeros(0), w, 4)
                path.append(float(y2[st.SHEATH]))
            ends.append(np.array(path))
        return sensitivity.Answer(4.0, (ends[1] - ends[0]) / (high - low))


def tried(cook: cooks.Cook, change: dict[str, int] | None, step: float) -> Any:
    """A stranger's night with an experiment after TRIED_H, asked for as in `Going`; the trace."""
    day = build.day()
    records = [build.record(kind, True) for kind in (Settings, Now, Memory, Out)]
    setting, now, memory, _ = records
    for name, value in {**cook.settings, **(change or {})}.items():
        setattr(setting, name, value)
    memory.low, memory.high, memory.learned = setting.band_low, setting.band_high, 1000
    now.order = fields.ORDER_START
    world, noise, trace = trial.parts(cook), cook.noise(), np.zeros((cook.cycles, st.TRACE))
    first, left = int(TRIED_H * 3600.0 / st.PERIOD_S), experiment.LONGEST
    day.cook(*records, cook.code, *world, noise, 0, first, trace)
    part, last = int(ASKED_S / st.PERIOD_S), first + int(ASKS_S / st.PERIOD_S)
    while left >= ASKED_S and first + part <= min(last, cook.cycles):
        if memory.trial_left == 0:
            now.order, now.first, now.second = fields.ORDER_EXPERIMENT, round(step * fields.FULL), left
        day.cook(*records, cook.code, *world, noise, first, first + part, trace)
        left -= int((trace[first : first + part, st.T_REASON] == fields.EXPERIMENTING).sum() * st.PERIOD_S)
        first += part
    day.cook(*records, cook.code, *world, noise, first, cook.cycles, trace)
    return trace


def changed(settings: Settings) -> dict[str, int]:
    """What differs from the defaults."""
    usual = Settings()
    return {n: getattr(settings, n) for n, _ in Settings.NAMES if getattr(settings, n) != getattr(usual, n)}

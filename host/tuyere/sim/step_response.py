"""A step of the fan on a simulated cooker near its band; from its answer a lag model and gains."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from hearth.core import Memory, Settings
from hearth.core.drive import duty

from tuyere.sim import compiled, kernel
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside
from tuyere.sim.script import Script, still

SETTLE_S = 9000.0  # held near the band before the step
MEAN_S = 2400.0  # the fan is then set to its mean over this time
WATCH_S = 2400.0  # how long the answer is watched
STEP = 0.15  # of the fan's full scale
EVERY = 5  # cycles between two points of the fit


@dataclass(frozen=True)
class Lag:
    """First order plus dead time: gain in C for the whole fan, lag and delay in s."""

    gain: float
    lag: float
    delay: float


def fit(times: Sequence[float], rise: Sequence[float], step: float) -> Lag:
    """Least squares of rise(t) = gain * step * (1 - exp(-(t - delay) / lag)) from the step at t = 0.

    times in s, rise in C. The gain follows from lag and delay by linear least squares; those two by a grid that
    closes in. ValueError when nothing answers to the step.
    """
    if len(times) < 10 or max(abs(x) for x in rise) < 1e-9:
        raise ValueError("The pit did not answer to the step of the fan, so nothing can be identified from it.")
    end = times[-1]
    best = (math.inf, Lag(0.0, 1.0, 0.0))
    lags = [end / 200.0 * 1.6**i for i in range(20)]
    delays = [end / 4.0 * i / 12.0 for i in range(13)]
    for _ in range(9):
        for lag in lags:
            for delay in delays:
                error, gain = _error(times, rise, step, lag, delay)
                if error < best[0]:
                    best = (error, Lag(gain, lag, delay))
        lag, delay = best[1].lag, best[1].delay
        wide, apart = (lags[1] / lags[0]) ** 0.4, (delays[1] - delays[0]) * 0.4
        lags = [lag * wide**i for i in (-3, -2, -1, 0, 1, 2, 3)]
        delays = sorted({max(0.0, delay + apart * i) for i in (-3, -2, -1, 0, 1, 2, 3)})
        if len(delays) < 2:
            delays = [0.0, apart]
    return best[1]


def _error(times: Sequence[float], rise: Sequence[float], step: float, lag: float, delay: float) -> tuple[float, float]:
    shape = [step * (1.0 - math.exp((delay - t) / lag)) if t > delay else 0.0 for t in times]
    square = sum(x * x for x in shape)
    gain = sum(x * y for x, y in zip(shape, rise, strict=True)) / square if square > 0.0 else 0.0
    return sum((gain * x - y) ** 2 for x, y in zip(shape, rise, strict=True)), gain


def simc(model: Lag) -> tuple[float, float]:
    """(Kc, Ti) of a PI: Skogestad, J. Process Control 13 (2003) 291-309, with tau_c = delay, his recommendation.

    Kc = lag / (gain * 2 delay), Ti = min(lag, 8 delay).
    """
    return model.lag / (model.gain * 2.0 * model.delay), min(model.lag, 8.0 * model.delay)


def identify(cooker: str, seed: int) -> Lag:
    """The step test on one cooker: no meat, still air at 20 C, held at the band's middle, then a step of the fan.

    Two pits go on from there, one with the fan as it was, one with it STEP higher (lower if it stands too high); their
    difference is the answer, free of noise and drift. No user could make a better test. Half a sampling period
    is added to the delay (Skogestad's half rule).
    """
    hours = (SETTLE_S + WATCH_S) / 3600.0 + 0.1
    world = Outside(cooker, seed, Script(hours=hours, weather=still(hours), meat_after=1e9))
    fans: list[float] = []
    band: Any = Settings()
    hold = gentle((band.band_low + band.band_high) / 200.0, fans)
    course = parts(world)
    memory: Any = Memory()
    watch(course, memory, hold, SETTLE_S)
    last = fans[-int(MEAN_S / kernel.PERIOD_S) :]
    level = sum(last) / len(last)
    step = STEP if level + STEP <= 1.0 else -STEP
    answers = []
    for fan in (level, level + step):
        other: Any = Memory()
        other.set_values(memory.values())
        answers.append(watch([part.copy() for part in course], other, _stands(fan), WATCH_S))
    rise = [b - a for a, b in zip(*answers, strict=True)][EVERY - 1 :: EVERY]
    found = fit([(i + 1) * EVERY * kernel.PERIOD_S for i in range(len(rise))], rise, step)
    return Lag(found.gain, found.lag, found.delay + kernel.PERIOD_S / 2.0)


def parts(world: Outside) -> list[Any]:
    """Copies of a world's flat sequences as the kernel wants them: arrays for the compiled one, else lists."""
    given = (world.state, world.constants, world.pieces, world.piece_constants, world.events, world.weather)
    if not compiled.available():
        return [list(part) for part in given]
    import numpy as np

    return [np.array(part, dtype=np.float64) for part in given]


def watch(course: list[Any], memory: Any, law: Callable[[float], float], seconds: float) -> list[float]:
    """Let a pit go on under `law` (reading C -> fan 0..1, through the blower's pulses); the readings."""
    kern: Any = compiled.kernel()
    s = course[0]
    settings, seen = Settings(), []
    for _ in range(int(seconds / kernel.PERIOD_S)):
        s[at.FAN] = duty(settings, memory, int(law(float(s[at.READING])) * 10000.0 + 0.5)) / 10000.0
        kern.advance(*course, kernel.PERIOD_S)
        seen.append(float(s[at.READING]))
    return seen


def _stands(fan: float) -> Callable[[float], float]:
    return lambda pit: fan


def gentle(middle: float, fans: list[float] | None = None) -> Callable[[float], float]:
    """A gentle PI to settle a pit with; notes its fan in `fans`."""
    owed = 0.0

    def law(pit: float) -> float:
        nonlocal owed
        fan = 0.02 * (middle - pit) + owed
        if 0.0 < fan < 1.0:
            owed += 0.02 / 1200.0 * (middle - pit) * kernel.PERIOD_S
        fan = min(1.0, max(0.0, fan))
        if fans is not None:
            fans.append(fan)
        return fan

    return law

"""Other controllers in front of the same pits. Each is called every 2 s with the reading and gives the fan, 0..1."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import numpy as np
from hearth.core import Memory, Settings
from hearth.core.drive import duty

from strangers import build, trial
from strangers import places as at
from strangers.cooks import Cook

STEP = 0.10  # of the fan, for a step test
HYSTERESIS_C = 1.0
UNTUNED_C, UNTUNED_S = 25.0, 600.0  # full fan so far below the middle; reset; what one starts with who has no model
CONTROLLERS = {
    "board": "the board's law",
    "on-off": f"on/off, {HYSTERESIS_C:g} C hysteresis",
    "untuned": "simple-pid, untuned",
    "simc": "simple-pid, SIMC gains of each cooker",
}


def on_off() -> Callable[[float], float]:
    """All the fan or none around the middle of the band. Begins on."""
    on = True

    def law(pit: float) -> float:
        nonlocal on
        if pit <= trial.MIDDLE_C - HYSTERESIS_C / 2.0:
            on = True
        elif pit >= trial.MIDDLE_C + HYSTERESIS_C / 2.0:
            on = False
        return 1.0 if on else 0.0

    return law


def pid(gain: float, reset: float) -> Callable[[float], float]:
    """simple-pid with a gain in fan a C and a reset in s."""
    from simple_pid import PID

    one: Any = PID(gain, gain / reset, 0.0, setpoint=trial.MIDDLE_C, sample_time=None, output_limits=(0.0, 1.0))
    return lambda pit: float(one(pit, dt=2.0))


def law(who: str, cook: Cook) -> Callable[[float], float]:
    """One of CONTROLLERS but the board."""
    if who == "on-off":
        return on_off()
    return pid(*simc(cook)) if who == "simc" else pid(1.0 / UNTUNED_C, UNTUNED_S)


def simc(cook: Cook) -> tuple[float, float]:
    """Gain (fan a C) and reset (s) by Skogestad's rule (J. Process Control 13, 2003) with tau_c = theta, for this very
    cooker: held without meat for 2.5 h, then the probe with STEP more fan less the probe without, over 90 min."""
    day = build.day()
    calm = copy.copy(cook)
    calm.events = []
    family, world = calm.code, trial.parts(calm)
    hold = int(2.5 * trial.HOUR_S / at.PERIOD_S)
    trace = np.zeros((hold, at.TRACE))
    day.keep(family, *world, calm.noise(), 0, hold, trace, trial.MIDDLE_C)
    base = float(trace[-900:, at.T_DUTY].mean())
    x, c, y, k, e, w = world
    paths = []
    for fan in (base, min(1.0, base + STEP)):
        x2, y2, path = x.copy(), y.copy(), []
        y2[at.DUTY] = fan
        for _ in range(540):
            day.run(family, x2, c, y2, k, e, w, 10)
            path.append(float(y2[at.SHEATH]))
        paths.append(np.array(path))
    rise = paths[1] - paths[0]
    final = max(float(rise.max()), 0.1)
    gain = final / (min(1.0, base + STEP) - base)
    t28, t63 = (10.0 * (1 + int(np.argmax(rise >= part * final))) for part in (0.283, 0.632))
    tau = max(10.0, 1.5 * (t63 - t28))
    theta = max(5.0, t63 - tau)
    return tau / (gain * 2.0 * theta), min(tau, 8.0 * theta)


def run(cook: Cook, law: Callable[[float], float]) -> Any:
    """Run another controller, called each period with the reading, through the board's own pulses; the trace."""
    day = build.day()
    family, world = cook.code, trial.parts(cook)
    x, y, k, e = world[0], world[2], world[3], world[4]
    settings, memory, noise = Settings(), Memory(), cook.noise()
    trace = np.zeros((cook.cycles, at.TRACE))
    for i in range(cook.cycles):
        day.look(x, y, k, e)
        day.read(y, k, noise[i])
        fan = min(1.0, max(0.0, law(float(y[at.READING]))))
        y[at.DUTY] = duty(settings, memory, int(fan * 10000.0 + 0.5)) / 10000.0
        day.note(x, y, trace, i, fan, 0, 0, 0)
        day.run(family, *world, 2)
    return trace

"""Other controllers in front of the same pit, to compare the board's law with.

Each is called every 2 s with the probe's reading and gives the fan 0..1, which goes through the board's own blower
pulses, so that all drive the same fan. They know nothing of openings.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from hearth.core import Memory, Settings
from hearth.core.drive import duty

from tuyere.meat import piece_slots as piece
from tuyere.sim import compiled, kernel, oracle
from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside
from tuyere.sim.step_response import identify, parts, simc

Law = Callable[[float], float]

CONTROLLERS = {
    "board": "the board's law, default settings",
    "on-off": "on/off, 1 C hysteresis",
    "untuned": "simple-pid, untuned",
    "simc": "simple-pid, SIMC gains for each cooker",
    "upper": "upper reference, knows the future",
    "unwarned": "the same, but foresees no lid",
}
HYSTERESIS_C = 1.0
# A start without a model: all the fan at a pit 25 C below the middle (a little under twice the band's
# width), an integral that repeats this in 10 min (a pit seems to answer in some minutes), no derivative.
UNTUNED_C = 25.0
UNTUNED_S = 600.0


def on_off(middle: float) -> Law:
    """All the fan or none: on at half of HYSTERESIS_C below `middle` C, off at half of it above. Begins on."""
    on = True

    def law(pit: float) -> float:
        nonlocal on
        if pit <= middle - HYSTERESIS_C / 2.0:
            on = True
        elif pit >= middle + HYSTERESIS_C / 2.0:
            on = False
        return 1.0 if on else 0.0

    return law


def pid(middle: float, gain: float, reset: float) -> Law:
    """simple-pid as it comes: gain in fan a C, reset in s, output and integral within 0..1."""
    from simple_pid import PID

    one: Any = PID(gain, gain / reset, 0.0, setpoint=middle, sample_time=None, output_limits=(0.0, 1.0))

    def law(pit: float) -> float:
        return float(one(pit, dt=kernel.PERIOD_S))

    return law


@lru_cache(maxsize=256)
def gains(cooker: str, seed: int) -> tuple[float, float]:
    """SIMC gains from a step test on this very cooker: fan a C, s."""
    return simc(identify(cooker, seed))


def law(name: str, cooker: str, seed: int, settings: Settings | None = None) -> Law:
    """One of CONTROLLERS that is called period by period. ValueError for another name."""
    band: Any = settings or Settings()
    middle = (band.band_low + band.band_high) / 200.0
    if name == "on-off":
        return on_off(middle)
    if name == "untuned":
        return pid(middle, 1.0 / UNTUNED_C, UNTUNED_S)
    if name == "simc":
        return pid(middle, *gains(cooker, seed))
    raise ValueError(f"No controller {name!r} to be called each period; choose on-off, untuned or simc.")


def run(world: Outside, hours: float, control: Law) -> Any:
    """Run a controller in front of a pit from a cold start; the trace as of `rehearse.run`, without states."""
    kern: Any = compiled.kernel()
    course = parts(world)
    s, m = course[0], course[2]
    settings, memory = Settings(), Memory()
    cycles = int(hours * 3600.0 / kernel.PERIOD_S)
    trace: list[float] = [0.0] * (cycles * kernel.TRACE)
    for k in range(0, len(trace), kernel.TRACE):
        fan = min(1.0, max(0.0, control(float(s[at.READING]))))
        trace[k + kernel.T_FAN] = fan
        s[at.FAN] = duty(settings, memory, int(fan * 10000.0 + 0.5)) / 10000.0
        kern.advance(*course, kernel.PERIOD_S)
        oracle.note(s, m, trace, k, piece.PROBE, piece.SIZE, piece.ON)
    return trace


def look_ahead(
    world: Outside,
    hours: float,
    settings: Settings | None = None,
    step: int = oracle.STEP,
    look: int = oracle.LOOK,
    foresees: bool = True,
) -> Any:
    """Run the upper reference (see `tuyere.sim.oracle`) on a pit; the trace as of `run`.

    step, look: cycles between two choices, and cycles looked ahead. foresees: whether it knows when the lid goes up.
    """
    band: Any = settings or Settings()
    course = parts(world)
    cycles = int(hours * 3600.0 / kernel.PERIOD_S)
    size = cycles * kernel.TRACE
    spare = tuple(course[i].copy() for i in (0, 1, 2, 4))
    plan: Any = [oracle.LEANT, 5]
    if compiled.available():
        import numpy as np

        kern: Any = compiled.load((*compiled.CORE, *compiled.PIT, "tuyere.sim.oracle"))
        records: list[Any] = [compiled.record(kind) for kind in (Settings, Memory)]
        trace: Any = np.zeros(size)
        plan = np.array(plan)
    else:
        kern, records, trace = oracle, [Settings(), Memory()], [0.0] * size
    edges = band.band_low / 100.0, band.band_high / 100.0
    search = step, look, plan, int(foresees)
    kern.cook(*records, *course, spare, cycles, trace, *edges, *search, piece.PROBE, piece.SIZE, piece.ON)
    return trace

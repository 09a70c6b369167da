"""How fast a cook is rehearsed, beside what else one would do it with; ratios of one run on one machine.

    python tests/bench/speed.py [--smoke] [--json]

A rehearsal is the board's whole cycle and the whole pit. scipy and python-control get a far smaller pit (four and two
states, no meat, no weather, no script) with a plain PI each 2 s, so their times flatter them. Those two only where they
can be imported.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any

from tuyere.sim import compiled, fleet, kernel
from tuyere.sim.outside import Outside
from tuyere.sim.rehearse import run

PERIOD = kernel.PERIOD_S
AIM, GAIN, RESET = 128.05, 0.03, 900.0
SIGMA = 5.67e-8


def timed(call: Callable[[], Any], times: int = 1) -> float:
    """Median seconds of a few calls."""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        call()
        took.append(time.perf_counter() - began)
    return statistics.median(took)


def lumped(fan: float, bed: float, gas: float, wall: float, probe: float) -> tuple[float, float, float, float]:
    """K/s of a pit in four lumps: the bed burns what air it gets, warms gas and wall; the wall loses to air at 20 C."""
    air = 0.0006 + 0.006 * fan
    burn = air * 2.9e6 * (1.0 - 1.0 / (1.0 + bed / 400.0))
    shine = 0.08 * SIGMA * ((bed + 273.15) ** 4 - (wall + 273.15) ** 4)
    blown = air * 1010.0 * (bed - 20.0)
    to_wall = 9.0 * (gas - wall)
    lost = 9.0 * (wall - 20.0)
    return (
        (burn - shine - blown) / 3600.0,
        (blown - air * 1010.0 * (gas - 20.0) - to_wall) / 600.0,
        (shine + to_wall - lost) / 9000.0,
        (gas - probe) / 90.0,
    )


class Pi:
    """A PI that stops summing while the fan stands at an end."""

    def __init__(self) -> None:
        self.owed = 0.0

    def fan(self, pit: float) -> float:
        """Fan 0..1 for a reading."""
        error = AIM - pit
        fan = GAIN * error + self.owed
        if 0.0 < fan < 1.0:
            self.owed += GAIN / RESET * error * PERIOD
        return min(1.0, max(0.0, fan))


def with_scipy(hours: float) -> float:
    """The lumped pit, `solve_ivp` called anew each period with the fan held; its last probe temperature."""
    from scipy.integrate import solve_ivp

    law, state = Pi(), [550.0, 20.0, 20.0, 20.0]
    for _ in range(int(hours * 3600.0 / PERIOD)):
        fan = law.fan(state[3])
        done = solve_ivp(lambda _, y, fan=fan: lumped(fan, *y), (0.0, PERIOD), state)
        state = [float(row[-1]) for row in done.y]
    return state[3]


def with_control(hours: float) -> float:
    """A first order pit with its probe and the PI as one discrete system, `input_output_response`; the last probe."""
    import control
    import numpy as np

    def update(t: float, x: Any, u: Any, params: Any) -> Any:
        pit, probe, owed = x
        error = u[0] - probe
        fan = min(1.0, max(0.0, GAIN * error + owed))
        owed = owed + GAIN / RESET * error * PERIOD if 0.0 < fan < 1.0 else owed
        return [pit + PERIOD * (900.0 * fan + 20.0 - pit) / 3000.0, probe + PERIOD * (pit - probe) / 90.0, owed]

    loop = control.nlsys(update, lambda t, x, u, params: x[1], inputs=1, outputs=1, states=3, dt=PERIOD)
    times = np.arange(0.0, hours * 3600.0, PERIOD)
    answer = control.input_output_response(loop, times, np.full(len(times), AIM), [20.0, 20.0, 0.0])
    return float(np.ravel(answer.outputs)[-1])


def measure(hours: float, cooks: int) -> Iterator[tuple[str, str, float | None]]:
    """(what, note, seconds); None for what is not installed."""
    world = Outside("upright", 1, hours=hours)
    if compiled.available():
        fast = compiled.kernel()
        first = timed(lambda: run(world, hours, kern=fast))
        yield "rehearsal, compiled", f"first call {first:.2f} s", timed(lambda: run(world, hours, kern=fast), 7)
    else:
        yield "rehearsal, compiled", "numba is not installed", None
    yield "rehearsal, plain CPython", "", timed(lambda: run(world, hours))
    for name, needed, call in (
        ("scipy solve_ivp, each period", "scipy.integrate", with_scipy),
        ("python-control, discrete loop", "control", with_control),
    ):
        try:
            importlib.import_module(needed)
            last: list[float] = []
            seconds = timed(lambda call=call, last=last: last.append(call(hours)))
            yield name, f"a lumped pit and a PI; ends at {last[0]:.1f} C", seconds
        except ImportError as missing:
            yield name, f"{missing.name} is not installed", None
    began = time.perf_counter()
    cases = fleet.cases("board", seeds=range(1, cooks // 5 + 1), hours=hours)
    fleet.sweep(cases, progress=told)
    seconds = time.perf_counter() - began
    note = f"{len(cases)} cooks drawn, run and scored on {fleet.cores()} cores: {seconds:.1f} s"
    yield "sweep, a cook", note, seconds / len(cases)


def told(done: int, count: int) -> None:
    """Progress where somebody looks."""
    if sys.stderr.isatty():
        print(f"\r{done} of {count} cooks", end="\n" if done == count else "", file=sys.stderr, flush=True)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--smoke", action="store_true", help="a short run, only to see that it works")
    parser.add_argument("--json", action="store_true")
    given = parser.parse_args()
    hours, cooks = (0.2, 10) if given.smoke else (14.0, 1000)
    rows = list(measure(hours, cooks))
    if given.json:
        print(json.dumps([{"what": what, "note": note, "seconds": seconds} for what, note, seconds in rows]))
        return
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0
    base = next(seconds for _, _, seconds in rows if seconds)
    print(f"a cook of {hours:g} h, {int(hours * 3600 / PERIOD)} periods; load of the machine {load:.1f}")
    for what, note, seconds in rows:
        figures = f"{'':10} {'':8}" if seconds is None else f"{seconds * 1000:7.1f} ms {seconds / base:7.1f}x"
        print(f"{what:32} {figures}  {note}")


if __name__ == "__main__":
    main()

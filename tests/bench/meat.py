"""How fast pieces are cooked, and how far steps of different length agree.

    python tests/bench/meat.py [--smoke] [--json] [--beside HOST]

--beside: the `host` folder of another checkout; its kernel cooks the same pieces in turn with this one, and the table
has the ratio of the times. Without numba the plain kernel is timed, on a shorter cook.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

HOST = Path(__file__).parents[2] / "host"
FIRMWARE = "firmware"
NEVER = 1e12
# what: air and seen, C; kg/kg of water in the air; kg; wrap (0 bare, 1 paper, 2 foil) after 5 h
COOKS = {
    "packer, bare": ((121.1, 113.0, 0.1), 5.5, 0.0),
    "packer, paper": ((121.1, 113.0, 0.1), 5.5, 1.0),
    "packer, foil, to boiling": ((135.0, 130.0, 0.1), 5.5, 2.0),
    "point, drying out": ((150.0, 230.0, 0.1), 1.5, 0.0),
}


def cook(name: str, hours: float, dt: float) -> Callable[[], list[float]]:
    """A call that cooks a piece anew and returns its probe, C, every ten minutes."""
    import numpy as np
    from tuyere.meat.piece import PieceOfMeat, lay
    from tuyere.meat.water import PRESSURE
    from tuyere.sim import compiled

    pit, mass, wrap = COOKS[name]
    m, q = lay([PieceOfMeat(cut="packer" if mass > 3.0 else "point", mass_kg=mass)])
    rows, each = int(hours * 3600.0 / dt), int(600.0 / dt)
    kernel = compiled.meat_kernel()
    start, constants, pits = np.array(m), np.array(q), np.array(list(pit) * rows)
    plan = np.array([0.0, 5.0 * 3600.0 if wrap else NEVER, wrap, NEVER, 0.0])

    def once() -> list[float]:
        trace = np.zeros(rows // each)
        kernel.cook(start.copy(), constants, 1, pits, rows, dt, plan, PRESSURE, each, trace)
        return [float(c) for c in trace]

    once()  # it is compiled now
    return once


def times(hours: float, count: int) -> dict[str, float]:
    """Seconds a cook, the least of `count`, in steps of 60 s."""
    found = {}
    for name in COOKS:
        call, took = cook(name, hours, 60.0), []
        for _ in range(count):
            began = time.perf_counter()
            call()
            took.append(time.perf_counter() - began)
        found[name] = min(took)
    return found


def beside(host: Path, hours: float, count: int, turns: int) -> dict[str, float]:
    """Median over the turns of this kernel's time over that of the other checkout, each in processes of their own."""
    ratios: dict[str, list[float]] = {name: [] for name in COOKS}
    for _ in range(turns):
        here, there = (_alone(folder, hours, count) for folder in (HOST, host))
        for name in COOKS:
            ratios[name].append(here[name] / there[name])
    return {name: statistics.median(found) for name, found in ratios.items()}


def _alone(host: Path, hours: float, count: int) -> dict[str, float]:
    paths = os.pathsep.join([str(host), str(host.parent / FIRMWARE), str(Path(__file__).parent)])
    code = f"import json, meat; print(json.dumps(meat.times({hours}, {count})))"
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": paths},
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--smoke", action="store_true", help="a short run, only to see that it works")
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--beside", type=Path, metavar="HOST")
    given = parser.parse_args()
    from tuyere.sim import compiled

    hours, count, turns = (14.0, 200, 5) if compiled.available() and not given.smoke else (6.0, 2, 1)
    took = times(hours, count)
    ratios = beside(given.beside.resolve(), hours, count, turns) if given.beside else {}
    steps: dict[str, dict[float, float]] = {}
    for name in COOKS:
        fine = cook(name, hours, 2.0)()
        steps[name] = {dt: max(map(abs, (a - b for a, b in zip(fine, cook(name, hours, dt)(), strict=True))))
                       for dt in (10.0, 20.0, 60.0)}  # fmt: skip
    if given.json:
        print(json.dumps({"hours": hours, "seconds": took, "ratio": ratios, "off_c": steps}))
        return
    print(f"{hours:g} h in steps of 60 s; the probe's largest distance from steps of 2 s, C")
    print(f"{'':26}{'ms':>8}{'ratio':>8}" + "".join(f"{f'{dt:g} s':>9}" for dt in (10.0, 20.0, 60.0)))
    for name in COOKS:
        ratio = f"{ratios[name]:8.2f}" if ratios else f"{'':8}"
        print(f"{name:26}{took[name] * 1000.0:8.3f}{ratio}" + "".join(f"{off:9.3f}" for off in steps[name].values()))


if __name__ == "__main__":
    main()

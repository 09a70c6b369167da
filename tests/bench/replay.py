"""How fast stored cycles run again, compiled against plain, in one run on the same logbook.

    python tests/bench/replay.py [--smoke] [--hours H] [--json]

The cook is a real one: the firmware on MicroPython in front of a simulated pit, 14 h, every record through the logbook.
The speed is that of decoding, running and comparing; the reading from the file stands beside it. To reach: 1,000,000
cycles/s, compiled.
"""

import argparse
import json
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent / "replay"), str(HERE.parents[1] / "host"), str(HERE.parents[1] / "firmware")]

from replay_kit import fill, quiet  # noqa: E402
from tuyere.logbook import Logbook  # noqa: E402
from tuyere.replay.rerun import replay  # noqa: E402
from tuyere.sim import compiled  # noqa: E402


def best(path, cook, fast, rounds):
    """The fastest of some replays, each from a logbook opened anew: other work only ever slows one down."""
    found = []
    for _ in range(rounds):
        with Logbook(path, owner=False) as book:
            found.append(replay(book, cook, fast=fast))
    assert all(one.equal for one in found)
    return min(found, key=lambda one: one.seconds), min(one.reading for one in found), found[0].preparing


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--smoke", action="store_true", help="small and quick: only that it runs")
    parser.add_argument("--hours", type=float, default=14.0, help="length of the cook")
    parser.add_argument("--json", action="store_true", help="figures as JSON")
    options = parser.parse_args()
    hours, rounds = (0.2, 1) if options.smoke else (options.hours, 7)
    began = time.perf_counter()
    night = quiet(hours)
    took = time.perf_counter() - began
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "logbook.sqlite")
        cook = fill(path, night)
        plain, reading, _ = best(path, cook, False, min(rounds, 3))
        figures = {
            "interpreter": night.interpreter,
            "cycles": plain.cycles,
            "states": plain.states,
            "plain_per_s": round(plain.speed),
            "reading_ms": round(reading * 1000, 1),
        }
        if compiled.available():
            fast, reading, preparing = best(path, cook, True, rounds)
            figures |= {
                "compiled_per_s": round(fast.speed),
                "compiled_to_plain": round(fast.speed / plain.speed, 1),
                "with_reading_per_s": round(fast.replayed / (fast.seconds + reading)),
                "preparing_s": round(preparing, 2),
            }
    if options.json:
        print(json.dumps(figures))
        return
    print(
        f"{hours:g} h on {night.interpreter}: {plain.cycles:,} cycles recorded in {took:.1f} s, {plain.states} states"
    )
    print(f"plain     {plain.speed:12,.0f} cycles/s, equal")
    if compiled.available():
        speed, ratio = fast.speed, figures["compiled_to_plain"]
        print(f"compiled  {speed:12,.0f} cycles/s, equal; {ratio:g} times plain, {preparing:.1f} s to get ready once")
        print(f"          {figures['with_reading_per_s']:12,} with the reading from the file ({reading * 1000:.1f} ms)")
    else:
        print("compiled  not here: numba is not installed")


if __name__ == "__main__":
    main()

"""An engine whose clocks run as fast as the twin, as a program of its own: `fast_engine.py HOME PORT`."""

from __future__ import annotations

import asyncio
import json
import sys
import time
from pathlib import Path

from tuyere import paths
from tuyere.engine.engine import Engine
from tuyere.engine.keeping import keep

SPEED = 60  # of the twin and of these clocks


def engine(home: Path, port: str) -> None:
    """Run as `tuyere keep` does until told to end."""
    clock = home.parent / "clock.json"

    def given() -> dict[str, float]:
        return json.loads(clock.read_text())

    began = given()["began"]

    def wall() -> int:
        return round((began + (time.time() - began) * SPEED) * 1000 + given()["offset"])

    def lasting() -> float:
        return time.clock_gettime(time.CLOCK_BOOTTIME) * SPEED

    def make() -> Engine:
        return Engine(home, port=port, wall=wall, lasting=lasting, forecaster=())

    def log(line: str) -> None:
        print(line, file=sys.stderr, flush=True)

    asyncio.run(keep(paths.logbook_path(home), wall, make, log, "The campaign ends it."))


if __name__ == "__main__":
    engine(Path(sys.argv[1]), sys.argv[2])

"""One engine after another at one home: each goes on where the last one left another logbook at the path."""

from __future__ import annotations

import asyncio
import signal
from collections.abc import Callable
from pathlib import Path

from tuyere.engine.engine import Engine
from tuyere.engine.set_aside import carry_on, carrying_on


async def keep(
    path: Path, wall: Callable[[], int], make: Callable[[], Engine], log: Callable[[str], None], why: str
) -> None:
    """Run the engine that `make` makes with the logbook at `path`, then the next one, until one has ended for good.

    SIGTERM and SIGINT end it; screens hear `why`. A signal may come while one engine ends and the next one is made.
    The handler is set once and stops the newest engine, so that such a signal is not lost.
    """
    engine = carrying_on(path, wall, make, log)
    loop = asyncio.get_running_loop()

    def stop() -> None:
        engine.stop(why)

    for number in (signal.SIGTERM, signal.SIGINT):
        try:
            loop.add_signal_handler(number, stop)
        except NotImplementedError:  # Windows
            signal.signal(number, lambda *_: loop.call_soon_threadsafe(stop))
    while True:
        await engine.run()
        if engine.logbook.damaged:
            carry_on(path, wall, log)
        if not engine.goes_on:
            return
        engine = carrying_on(path, wall, make, log)

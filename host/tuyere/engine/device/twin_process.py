"""The twin as the engine keeps it: started when needed, found when it runs, ended with the engine."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tuyere import paths
from tuyere.client.launch import TwinOptions, command, detached

ALONE = 120  # s without an engine until it ends: an engine that was killed may be started again
WITHIN = 30.0  # s until a twin that was started must say where it is

# The cook that a twin without a person shows; the names are invented.
SUPPER = "Village hall supper"
NAMES = ("Alder", "Bramble", "Clover")
FIELDS = ("cut", "mass", "flat", "point", "target")  # of a piece, in the order of the hello


def pieces(meats: object) -> list[dict[str, Any]]:
    """The pieces of that cook, as the logbook takes them, from the meat in the twin's hello.

    Rows of [cut, kg, thickness of its parts in m or null, C at which it comes out], in the order of the probes.
    """
    rows = meats if isinstance(meats, list) else []
    found: list[dict[str, Any]] = []
    for probe, (name, row) in enumerate(zip(NAMES, rows, strict=False), 1):
        known = isinstance(row, list) and len(row) == len(FIELDS)  # else a twin of another version
        said = zip(FIELDS, row, strict=True) if known else ()
        piece = {"cut": "packer", **{field: value for field, value in said if value is not None}}
        found.append({"name": name, "probe": probe, **piece})
    return found or [{"name": name, "cut": "packer", "probe": probe} for probe, name in enumerate(NAMES, 1)]


def live(home: Path) -> dict[str, Any] | None:
    """What the running twin of this home reports about itself; None if none runs or it is not ready yet.

    A twin is alive if it holds the lock on its file. A file that a dead twin left behind does not count.
    """
    try:
        import fcntl
    except ImportError:  # no pseudo-terminals there, and no twin
        return None
    try:
        with open(paths.twin_file(home), "rb") as file:
            try:
                fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
            except OSError:
                said = json.loads(file.read() or b"null")
                return said if isinstance(said, dict) and said.get("port") else None
    except (OSError, ValueError):
        pass
    return None


async def attach(home: Path, options: TwinOptions, start: Callable[[], list[str]] = command) -> tuple[bool, str]:
    """Find the twin of this home or start one: (True if it was started now, "" or what went wrong)."""
    if await asyncio.to_thread(live, home):
        return False, ""
    log = paths.twin_log(home)
    begin = log.stat().st_size if log.exists() else 0
    process = detached([*start(), "twin", "--home", str(home), "--alone", str(ALONE), *options.arguments()], log, home)
    until = time.monotonic() + WITHIN
    while time.monotonic() < until:
        if process.poll() is not None:
            text = log.read_bytes()[begin:].decode("utf-8", "replace").strip().splitlines()
            return False, f"the twin ended at once: {text[-1] if text else f'see {log}'}"
        if live(home):
            threading.Thread(target=process.wait, daemon=True).start()  # so that no dead process stays behind
            return True, ""
        await asyncio.sleep(0.05)
    return False, f"the twin has not come up for {WITHIN:.0f} s: look at {log}"


def end(home: Path) -> None:
    """Ask the running twin of this home to end."""
    said = live(home)
    if said and isinstance(said.get("pid"), int):
        with contextlib.suppress(OSError):
            os.kill(said["pid"], signal.SIGTERM)


class TwinFinder:
    """Names the twin's port, in the manner of `link.find.Finder`."""

    def __init__(self, home: Path) -> None:
        self._home = home
        self.words = "starting the twin"
        self.ended = False
        self._seen = False

    def where(self) -> str | None:
        """The pseudo-terminal of the running twin."""
        said = live(self._home)
        if said:
            self._seen, self.ended = True, False
            return str(said["port"])
        self.ended = self._seen
        self.words = (
            "the twin has ended: quit and open it again for another cook" if self._seen else "starting the twin"
        )
        return None

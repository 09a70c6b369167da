"""The report of a cook, made by a process of its own: whatever it needs or breaks, the page goes on."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path

WITHIN = 60.0  # s
Report = Callable[[int, str, str], Awaitable[bytes]]  # cook, units, zone ("" for this computer's) -> HTML


def report(home: Path) -> Report:
    """Makes reports of the cooks in this home."""

    async def made(cook: int, units: str, zone: str) -> bytes:
        """OSError if it could not be made."""
        arguments = [sys.executable, "-m", "tuyere", "log", "report", str(cook), "-", "--unit", units]
        if zone:
            arguments += ["--zone", zone]
        process = await asyncio.create_subprocess_exec(
            *arguments, stdin=asyncio.subprocess.DEVNULL, stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.PIPE, env={**os.environ, "TUYERE_HOME": str(home)},
        )  # fmt: skip
        try:
            out, err = await asyncio.wait_for(process.communicate(), WITHIN)
        except (TimeoutError, asyncio.CancelledError):
            process.kill()
            raise
        if process.returncode:
            raise OSError(err.decode("utf-8", "replace").strip().rpartition("\n")[2] or "the report failed")
        return out

    return made

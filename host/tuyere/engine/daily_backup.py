"""A copy of the logbook once a day, while no cook is open."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

from tuyere.logbook import LogbookError, backup

EVERY = 600.0  # s between looks whether a copy is due


class DailyBackup:
    """Call `tick` while no cook is open. `wall` UTC ms; `task` runs a coroutine in the background."""

    def __init__(
        self,
        logbook: Path,
        wall: Callable[[], int],
        task: Callable[[Coroutine[Any, Any, Any]], None],
        log: Callable[[str], None],
    ) -> None:
        self._logbook, self._wall, self._task, self._log = logbook, wall, task, log
        self._looked: float | None = None
        self._said = ""

    def tick(self, now: float) -> None:
        """Look whether a copy is due; `now` in seconds of a steady clock. Not at once: a screen may be waiting."""
        if self._looked is None:
            self._looked = now
        elif now - self._looked >= EVERY:
            self._looked = now
            self._task(self._make())

    async def _make(self) -> None:
        try:
            made = await asyncio.to_thread(backup.daily, self._logbook, self._wall())
            said = f"backup of the logbook: {made}" if made else ""
        except LogbookError as error:  # a full disk: the fire does not need a backup
            said = str(error)
        if said and said != self._said:
            self._said = said
            self._log(said)

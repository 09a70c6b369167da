"""Whether an engine's logbook is whole and still at its path; if not, the engine ends, or another one takes over."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any

from tuyere.logbook import Logbook, LogbookTaken
from tuyere.logbook.logbook import TAKEN, USABLE, lies_at

LOOK = 5.0  # s between looks for a logbook that was taken away


class LogbookPlace:
    """Call `look` often. log takes a line, trouble one that may come again and again; task runs a coroutine in the
    background; finish ends the engine. replaced: it ends because another logbook lies at its path, or a damaged one is
    to be set aside."""

    def __init__(
        self,
        logbook: Logbook,
        *,
        log: Callable[[str], None],
        trouble: Callable[[str], None],
        task: Callable[[Coroutine[Any, Any, Any]], None],
        finish: Callable[[], None],
    ) -> None:
        self._logbook, self._log, self._trouble, self._task, self._finish = logbook, log, trouble, task, finish
        self._looked: float | None = None
        self.replaced = False

    def look(self, now: float) -> None:
        """Act by what lies at the path; `now` in seconds of a steady clock."""
        if self._logbook.damaged:
            self.leave_damaged()
            return
        away = self._logbook.away()
        if isinstance(away, LogbookTaken):
            self._leave_to_another()
        elif away is not None and (self._looked is None or now - self._looked >= LOOK):
            self._looked = now
            self._trouble(str(away))
            self._task(self._look_elsewhere())

    def leave_damaged(self) -> None:
        """End, so that the damaged logbook is set aside and the next engine goes on in a new one."""
        if not self.replaced:
            self._log(
                "a damaged page was met in the logbook: the file is set aside, and the cook goes on in a new one"
            )  # fmt: skip
            self.replaced = True
            self._finish()

    async def _look_elsewhere(self) -> None:
        found = await asyncio.to_thread(lies_at, self._logbook.path)
        if self._logbook.away() is None:
            return
        if found == TAKEN:
            self._leave_to_another()
        elif found == USABLE:
            self._log(f"another logbook lies at {self._logbook.path} now: it is taken up")
            self.replaced = True
            self._finish()

    def _leave_to_another(self) -> None:
        self._log(f"another engine owns the logbook {self._logbook.path} now: this one lets the board go and ends")
        self._finish()

"""What an engine does beside its ticks."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any


class Background:
    """Tasks of the running event loop; `log` takes a line for each that fails."""

    def __init__(self, log: Callable[[str], None]) -> None:
        self._log = log
        self._tasks: set[asyncio.Task[Any]] = set()

    def task(self, work: Coroutine[Any, Any, Any]) -> None:
        """Run something; its errors are written to the log."""
        made = asyncio.get_running_loop().create_task(work)
        self._tasks.add(made)
        made.add_done_callback(self._done)

    def cancel(self) -> None:
        """Cancel all that still run."""
        for task in list(self._tasks):
            task.cancel()

    def _done(self, task: asyncio.Task[Any]) -> None:
        self._tasks.discard(task)
        if not task.cancelled() and task.exception() is not None:
            self._log(f"{task.exception()!r}")

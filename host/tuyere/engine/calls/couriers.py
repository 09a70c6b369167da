"""Sends messages, each in a process of its own, and hears what became of them, also of those an earlier engine sent."""

from __future__ import annotations

import asyncio
import contextlib
import subprocess
import sys
from collections.abc import Callable, Coroutine, Sequence
from pathlib import Path
from typing import Any

import msgspec

from tuyere import paths
from tuyere.engine.calls.call import Job
from tuyere.engine.calls.post import LIMIT, NO_ANSWER, Letter, Outcome

COMMAND = (sys.executable, "-m", "tuyere.engine.calls.post")
AT_ONCE = 2  # messages of one route: a service that hangs holds up its own only
SPARE = 5.0  # s over the limit in which the process must have ended
LEFT = "the engine ended while it was on its way"

Done = Callable[[str, Outcome], None]  # attempt, what became of it


class Couriers:
    """Those of one home. `done` is called for each attempt; `task` runs something in the background."""

    def __init__(
        self,
        home: Path,
        done: Done,
        task: Callable[[Coroutine[Any, Any, Any]], None],
        *,
        command: Sequence[str] = COMMAND,
        limit: float = LIMIT,
    ) -> None:
        self._home, self._done, self._task = home, done, task
        self._command, self._limit = list(command), limit
        self._rooms: dict[str, asyncio.Semaphore] = {}
        self._left: dict[str, float] = {}  # attempts of an earlier engine -> when they count as lost, s

    def send(self, job: Job) -> None:
        """Send it; `done` says what became of it."""
        self._task(self._send(job))

    def wait_for(self, attempts: Sequence[str], now: float) -> None:
        """These were on their way when an earlier engine ended; `now` in s of the clock of `look`."""
        self._left = dict.fromkeys(attempts, now + self._limit + SPARE)

    def look(self, now: float) -> None:
        """Take what has become of those."""
        for attempt, until in list(self._left.items()):
            outcome = self._take(attempt)
            if outcome is None and now >= until:
                outcome = Outcome(False, LEFT)
            if outcome is not None:
                del self._left[attempt]
                self._done(attempt, outcome)

    async def _send(self, job: Job) -> None:
        async with self._rooms.setdefault(job.route.name, asyncio.Semaphore(AT_ONCE)):
            try:
                outcome = await self._post(job)
            except OSError as error:
                outcome = Outcome(False, f"no process could be started to send it ({error.strerror})")
        self._done(job.attempt, outcome)

    async def _post(self, job: Job) -> Outcome:
        letter = Letter(
            address=job.route.address, kind=job.route.kind, title=job.title, body=job.body, urgent=job.urgent,
            outcome=str(self._file(job.attempt)), limit=self._limit,
        )  # fmt: skip
        paths.ensure(paths.sent_folder(self._home))
        process = await asyncio.create_subprocess_exec(
            *self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,  # it goes on when this engine is ended
        )
        try:
            async with asyncio.timeout(self._limit + SPARE):
                await process.communicate(msgspec.json.encode(letter))
        except TimeoutError:
            with contextlib.suppress(ProcessLookupError):
                process.kill()
            await process.wait()
        return self._take(job.attempt) or Outcome(False, NO_ANSWER)

    def _file(self, attempt: str) -> Path:
        return paths.sent_folder(self._home) / f"{attempt}.json"

    def _take(self, attempt: str) -> Outcome | None:
        """What the process has written of it, None if it has not; read once."""
        file = self._file(attempt)
        try:
            found = msgspec.json.decode(file.read_bytes(), type=Outcome)
        except (OSError, msgspec.MsgspecError):
            return None
        file.unlink(missing_ok=True)
        return found

"""Sends messages, each in a process of its own, and hears what became of them, also of those an earlier engine sent."""

from __future__ import annotations

import asyncio
import contextlib
import subprocess
import sys
import threading
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
        # not by asyncio, whose subprocesses are killed when the loop closes: this one goes on when the engine ends
        process = subprocess.Popen(
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        assert process.stdin
        with contextlib.suppress(BrokenPipeError), process.stdin as pipe:
            pipe.write(msgspec.json.encode(letter))  # far less than a pipe holds
        ended: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        threading.Thread(target=_wait, args=(process, asyncio.get_running_loop(), ended), daemon=True).start()
        try:
            await asyncio.wait_for(ended, self._limit + SPARE)
        except TimeoutError:
            process.kill()
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


def _wait(process: subprocess.Popen[bytes], loop: asyncio.AbstractEventLoop, ended: asyncio.Future[None]) -> None:
    process.wait()
    with contextlib.suppress(RuntimeError):  # the engine has ended meanwhile
        loop.call_soon_threadsafe(_set, ended)


def _set(ended: asyncio.Future[None]) -> None:
    if not ended.done():
        ended.set_result(None)

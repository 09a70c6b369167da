"""The forecast's worker: a separate process. It gets a question about once a minute of cook time; nothing waits for it.

One JSON line goes out (`forecast.model.Known`), one comes back (`Ahead`). At most one question is open. The next
waits until three times the work of the last one has passed. A worker that dies is started again, later each time.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import sys
from collections.abc import Callable, Coroutine, Sequence
from typing import Any

import msgspec

from tuyere.forecast import shade
from tuyere.forecast.exchange import Ahead, Known, PieceAhead

COMMAND = (sys.executable, "-m", "tuyere.forecast")
EVERY = 60_000  # ms of the cook's clock between two questions
SHARE = 3.0  # the least time from one question to the next, as a multiple of what the last one took
AGAIN = (5.0, 600.0)  # s until a dead worker is started again: at first, at most
PATIENCE = 600.0  # s for an answer; the first one may have to compile the models
OLD, FRESH = 15 * 60_000, 120.0  # ms of the cook's clock, and s, after which a forecast is no longer shown: both, since
# under a fast twin the cook's clock runs far while the worker works
NICE = 10
LONGEST = 1 << 24  # bytes of a line


class Fell(Exception):
    """The worker gave no answer; `str` of it says why."""


class Worker:
    """The process: started by the first question, ended by `close`."""

    def __init__(self, command: Sequence[str] = COMMAND, patience: float = PATIENCE) -> None:
        self.command, self._patience = command, patience  # an empty command answers nothing
        self._process: asyncio.subprocess.Process | None = None
        self._listens: asyncio.Task[None] | None = None
        self._said = b""

    @property
    def runs(self) -> bool:
        """Whether there is a process."""
        return self._process is not None

    async def ask(self, line: bytes) -> bytes:
        """The answer to one line; `Fell` if there is none, and the process has then ended."""
        try:
            process = self._process or await self._start()
            assert process.stdin is not None and process.stdout is not None
            async with asyncio.timeout(self._patience):
                process.stdin.write(line + b"\n")
                await process.stdin.drain()
                answer = await process.stdout.readline()
        except TimeoutError:
            await self.close()
            raise Fell(f"it gave no answer for {self._patience:.0f} s") from None
        except (OSError, ValueError) as error:
            await self.close()
            raise Fell(self.last() or str(error)) from error
        if not answer.endswith(b"\n"):
            await self.close()
            raise Fell(self.last() or "it ended")
        return answer

    async def _start(self) -> asyncio.subprocess.Process:
        pipe = asyncio.subprocess.PIPE
        self._process = process = await asyncio.create_subprocess_exec(
            *self.command, stdin=pipe, stdout=pipe, stderr=pipe, limit=LONGEST
        )
        self._said = b""
        self._listens = asyncio.get_running_loop().create_task(self._listen(process))
        if sys.platform != "win32":
            with contextlib.suppress(OSError):  # the pit goes first
                os.setpriority(os.PRIO_PROCESS, process.pid, NICE)
        return process

    async def _listen(self, process: asyncio.subprocess.Process) -> None:
        """Keep the end of what it says on standard error."""
        assert process.stderr is not None
        while text := await process.stderr.read(4096):
            self._said = (self._said + text)[-2000:]

    def last(self) -> str:
        """The last line it said on standard error."""
        lines = self._said.decode("utf-8", "replace").strip().splitlines()
        return lines[-1][:300] if lines else ""

    async def close(self) -> None:
        """End the process."""
        process, self._process = self._process, None
        if process is None:
            return
        with contextlib.suppress(ProcessLookupError):
            process.kill()
        await process.wait()
        if self._listens is not None:
            await self._listens


class Forecasts:
    """Asks when it is time, and keeps the last answer. `taken(cook, ahead)` is called with each one; `task` runs work
    beside the engine's loop; `steady` is a clock in s that never goes back."""

    def __init__(
        self,
        worker: Worker,
        taken: Callable[[int, Ahead], None],
        task: Callable[[Coroutine[Any, Any, Any]], None],
        steady: Callable[[], float],
        log: Callable[[str], None],
    ) -> None:
        self._worker, self._taken, self._task, self._steady, self._log = worker, taken, task, steady, log
        self._cook = 0  # the open one, 0 for none
        self._ahead: Ahead | None = None
        self._asking = False
        self._asked: int | None = None  # the cook's clock at the last question
        self._came = 0.0  # steady time of the last answer
        self._free = 0.0  # steady time from which the next may be asked
        self._wait = 0.0  # s, of the last try that failed

    def due(self, cook: int, now: int) -> bool:
        """Whether to ask about this cook (0: none is open) at this time of its clock."""
        if cook != self._cook:
            self._cook, self._ahead, self._asked = cook, None, None
            if not cook and self._worker.runs and not self._asking:
                self._task(self._worker.close())
        if not cook or not self._worker.command or self._asking or self._steady() < self._free:
            return False
        return self._asked is None or not 0 <= now - self._asked < EVERY

    def forget(self) -> None:
        """The last answer is void, and the next question is due."""
        self._cook = 0
        self._ahead, self._asked = None, None

    def ask(self, known: Known) -> None:
        """Send the question."""
        self._asking, self._asked = True, known.now
        self._task(self._ask(self._cook, known))

    async def _ask(self, cook: int, known: Known) -> None:
        began = self._steady()
        try:
            ahead = msgspec.json.decode(await self._worker.ask(msgspec.json.encode(known)), type=Ahead)
            if ahead.now != known.now:
                raise Fell(self._worker.last() or "its answer is to no question of ours")
        except (Fell, msgspec.MsgspecError) as error:
            await self._worker.close()
            if not self._wait:
                self._log(f"the forecast's worker failed, it is started again: {error}")
            self._wait = min(2.0 * self._wait, AGAIN[1]) if self._wait else AGAIN[0]
            self._free, self._asked = self._steady() + self._wait, None
            return
        finally:
            self._asking = False
        self._wait = 0.0
        self._free = began + SHARE * (self._steady() - began)
        if cook == self._cook:  # else it has ended meanwhile
            self._ahead, self._came = ahead, self._steady()
            self._taken(cook, ahead)
        elif not self._cook:
            await self._worker.close()

    def shown(self, known: Known) -> Ahead:
        """What is to be shown now: the last answer, or what can be said without the worker, the windows to wrap."""
        ahead = self._ahead
        if ahead is not None and (abs(known.now - ahead.now) < OLD or self._steady() - self._came < FRESH):
            return ahead
        return Ahead(known.now, [windows(known, piece.id) for piece in known.pieces])

    async def close(self) -> None:
        """End the worker."""
        await self._worker.close()


def windows(known: Known, id: int) -> PieceAhead:
    """The window to wrap one piece, and nothing else."""
    piece = next(piece for piece in known.pieces if piece.id == id)
    wrap, words = shade.window(known, piece)
    return PieceAhead(id, wrap=wrap, wrap_words=words)

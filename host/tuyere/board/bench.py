"""A board on the bench: its records go to the logbook, as with the engine, and its orders are answered."""

from __future__ import annotations

import asyncio
import contextlib
import time
from pathlib import Path
from types import TracebackType
from typing import Any

from hearth.core import fields
from hearth.link import messages

from tuyere import paths
from tuyere.board import console
from tuyere.board.trouble import Trouble
from tuyere.engine.device.board_clock import wall_clock
from tuyere.engine.device.connection import Board, Hooks
from tuyere.engine.device.latest import Readout
from tuyere.link.find import Finder
from tuyere.logbook import Logbook, LogbookBusy, LogbookError, decode
from tuyere.text import said_of

ANSWERS_WITHIN = 12.0  # s to the first hello
CYCLE_WITHIN = 15.0  # s to the next cycle
TICK = 0.2  # s


class _Cycles(Readout):
    """The engine's readout, and beside it every cycle's numbers by name ("now.pit", "out.state")."""

    def __init__(self) -> None:
        super().__init__()
        self.fresh: asyncio.Queue[dict[str, int]] = asyncio.Queue()
        self._form: decode.Layout | None = None

    def hello(self, said: dict[str, Any], fresh: bool) -> None:
        super().hello(said, fresh)
        text = decode.layout_json(said)
        self._form = decode.layout(text) if text is not None else None

    def take(self, record: bytes, utc: int) -> None:
        super().take(record, utc)
        if self._form is None or not self._form.fits(record) or record[0] != messages.CYCLE:
            return
        names = (*decode.HEAD_NAMES, *(f"{part}.{field.name}" for part, field in self._form.cycle_fields))
        self.fresh.put_nowait(dict(zip(names, self._form.cycle.unpack(record), strict=True)))


class _OnBench(Hooks):
    """An open cook's records stay its own; all others belong to no cook."""

    def __init__(self, logbook: Logbook) -> None:
        self._logbook = logbook

    def cook_of_records(self, board: str, boot: int, at: int, simulated: bool) -> int | None:
        cook = self._logbook.cooks.open()
        return cook.id if cook is not None and cook.simulated == simulated else None


class Bench:
    """`async with Bench(home, port) as bench`: the board that answers there. Trouble if none does.

    port "" looks for a board by its USB id. The engine of this home must not run: both would want the logbook.
    """

    def __init__(self, home: Path, port: str) -> None:
        self._home = home
        self._finder = Finder(port)
        self.against: dict[str, int] | None = None  # the numbers of the last answer, if it named any
        self._from = (0, 0)  # boot and sequence of the first cycle to be given out

    async def __aenter__(self) -> Bench:
        where = self._finder.where()
        if where is not None:
            found = await asyncio.to_thread(console.who, where)
            if found.kind == console.PROMPT:
                raise Trouble(f"{where} has MicroPython and no firmware of ours yet: run `tuyere board load` first")
            if found.kind == console.SILENT:
                raise Trouble(f"no board of ours answers: {where} {found.words}")
        try:
            self._logbook = Logbook(paths.logbook_path(paths.ensure(self._home)))
        except LogbookBusy:
            raise Trouble(
                "an engine keeps this logbook and has the board's port: end it with `tuyere keep --end`, then try "
                "again (a board goes on by itself meanwhile)"
            ) from None
        except (LogbookError, OSError) as error:
            raise Trouble(said_of(error)) from None
        board = Board(self._logbook, self._finder, self._home / "refused.jsonl", wall_clock, time.monotonic)
        board.hooks = _OnBench(self._logbook)
        self._board = board
        self._cycles = board.readout = _Cycles()
        board.open()
        self._ticks = asyncio.create_task(self._tick())
        until = time.monotonic() + ANSWERS_WITHIN
        while not board.session.standing:
            if board.refused or time.monotonic() > until:
                await self.__aexit__(None, None, None)
                raise Trouble(f"no board of ours answers: {board.refused or board.link.words}")
            await asyncio.sleep(TICK / 4)
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._ticks.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await self._ticks
        await self._board.close()
        self._logbook.close()

    async def _tick(self) -> None:
        while True:
            self._board.tick()
            await asyncio.sleep(TICK)

    # -- the board -------------------------------------------------------------------------

    @property
    def hello(self) -> dict[str, Any]:
        """Its last hello."""
        return self._board.hello

    @property
    def port(self) -> str:
        """Where it is."""
        return self._board.link.port

    @property
    def settings(self) -> dict[str, int]:
        """Its settings, in its own units."""
        return self._cycles.settings

    @property
    def learned(self) -> int:
        """The share of its set gain that it learned last, 0.1 %."""
        return self._cycles.learned

    @property
    def behind(self) -> int:
        """Records that it holds and the logbook does not have yet, by its last hello."""
        session = self._board.session
        hello, fetching = self._board.hello, session.fetching
        count = 0 if fetching == session.boot else int(hello["next"]) - int(hello["first"])
        waits = False
        for boot, first, end in [*hello.get("earlier", []), (session.boot, hello["first"], hello["next"])]:
            waits = waits or boot == fetching
            if boot == fetching:
                count += max(0, int(end) - max(int(first), session.expected))
            elif waits and boot != session.boot:
                count += int(end) - int(first)
        return count + self._board.intake.waiting

    async def order(self, name: str, **arguments: Any) -> tuple[bool, str]:
        """An order in board units; (accepted, why not: a key of `cook.wording.REFUSALS`). Forgets earlier cycles."""
        answer = await self._board.order(name, **arguments)
        self.forget()
        if answer.ok and name == "settings":
            self._cycles.settings = {**self._cycles.settings, **arguments["values"]}
        elif answer.ok and name == "forget":
            self._cycles.learned = fields.WHOLE
        self.against = answer.numbers
        return answer.ok, answer.why

    async def cycle(self) -> dict[str, int]:
        """The next cycle of the present boot, the board's own numbers by name; Trouble if none comes."""
        while True:
            try:
                found = await asyncio.wait_for(self._cycles.fresh.get(), CYCLE_WITHIN)
            except TimeoutError:
                raise Trouble(f"the board sends no readings any more: {self._board.link.words}") from None
            if (found["boot"], found["sequence"]) >= self._from or found["boot"] != self._from[0]:
                return found

    def forget(self) -> None:
        """From here on `cycle` gives only cycles that the board makes later."""
        session = self._board.session
        self._from = (session.boot, session.expected if session.fetching == session.boot else 0)

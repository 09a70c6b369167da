"""The engine: one process that owns the port, the logbook, the alarms and the cook's clock, and serves screens."""

from __future__ import annotations

import asyncio
import contextlib
import sys
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from tuyere import paths
from tuyere.client.launch import TwinOptions
from tuyere.cook.snapshot import About, Snapshot
from tuyere.engine import gather
from tuyere.engine.background import Background
from tuyere.engine.calls.watching import Watching
from tuyere.engine.daily_backup import DailyBackup
from tuyere.engine.device import twin_process
from tuyere.engine.device.board_clock import lasting_clock, wall_clock
from tuyere.engine.device.connection import Board
from tuyere.engine.log_file import rotate
from tuyere.engine.logbook_place import LogbookPlace
from tuyere.engine.night.alarms import Alarms
from tuyere.engine.night.board_news import BoardNews
from tuyere.engine.night.cold_meat import ColdMeat
from tuyere.engine.night.conditions import Facts
from tuyere.engine.night.current import Cooking
from tuyere.engine.night.from_plan import FromPlan
from tuyere.engine.night.notes import Notes
from tuyere.engine.night.orders import Orders
from tuyere.engine.night.programmes import Programmes
from tuyere.engine.night.twin_cook import TwinCook
from tuyere.engine.outlook.shown import Expected
from tuyere.engine.outlook.worker import COMMAND
from tuyere.engine.rpc.methods import Desk
from tuyere.engine.rpc.news import News
from tuyere.engine.rpc.server import Server
from tuyere.link.find import Finder
from tuyere.logbook import Logbook, LogbookError
from tuyere.logbook.errors import LogbookDamaged
from tuyere.printable import printable
from tuyere.service.upkeep import Upkeep
from tuyere.text import CELSIUS, Reader, render

TICK = 0.25  # s between looks at the time; a new cycle does not wait for the next one
APART = 0.25  # s between pushes to the screens, at least
BEAT = 1.0  # s between snapshots while nothing but the time changes
LINGER = 10.0  # s that an engine started for a screen, and its twin, go on after the last screen
NOBODY = 60.0  # s until an engine that keeps a twin for a screen that never came ends


class RealCookOpen(Exception):
    """A twin was asked for while a real cook stands open."""


class Engine:
    """One engine for one home; LogbookBusy if another one has the logbook. `run` it in an event loop.

    for_screens: with a twin, the engine ends with the last screen. With a board it goes on in any case.
    `log(line)` takes its messages; the default is standard error. `forecaster` is the command of the forecast's
    worker; an empty one forecasts nothing. `upkeep` talks to a service manager and keeps the machine awake.
    """

    def __init__(
        self,
        home: Path,
        *,
        port: str = "",
        twin: TwinOptions | None = None,
        for_screens: bool = False,
        wall: Callable[[], int] = wall_clock,
        steady: Callable[[], float] = time.monotonic,
        lasting: Callable[[], float] = lasting_clock,
        log: Callable[[str], None] | None = None,
        forecaster: Sequence[str] = COMMAND,
        upkeep: Upkeep | None = None,
    ) -> None:
        self.home = paths.ensure(home)
        self.port = port
        self.twin = twin
        self._for_screens = for_screens
        self.steady = steady
        self._upkeep = upkeep or Upkeep()
        self._say = log or (lambda line: print(line, file=sys.stderr, flush=True))
        self.logbook = Logbook(paths.logbook_path(home))
        try:
            self._assemble(wall, lasting, forecaster)
        except BaseException:  # a damaged logbook, for instance: whoever sets it aside needs its lock
            self.logbook.close()
            raise

    def _assemble(
        self, wall: Callable[[], int], lasting: Callable[[], float], forecaster: Sequence[str]
    ) -> None:  # fmt: skip
        home, port, twin, steady = self.home, self.port, self.twin, self.steady
        standing = self.logbook.cooks.open()
        if twin is not None and standing is not None and not standing.simulated:
            raise RealCookOpen(
                f"the real cook {standing.name!r} is open in this logbook, and a twin must not write into it: plug its "
                "board in and run `tuyere watch` again (or name it with --port), or set TUYERE_HOME to another folder"
            )
        finder = Finder(port) if twin is None else twin_process.TwinFinder(home)
        log, mark = self.log, self._mark
        self._background = Background(log)
        self.task = task = self._background.task
        self.board = board = Board(self.logbook, finder, home / "refused.jsonl", wall, steady, lasting)
        self.alarms = Alarms(self.logbook.alarms)
        self.cooking = cooking = Cooking(self.logbook, board, self.alarms, on_change=mark, log=log)
        self.plan = FromPlan(home, self.logbook, board, cooking, log)
        self.orders = Orders(self.logbook, board, cooking, self.plan, task=task, log=log)
        self.notes = Notes(self.logbook, cooking, self.now)
        self.twin_cook = TwinCook(home, self.logbook, board, cooking, self.plan, self.orders, log)
        self._news = board.hooks = BoardNews(
            self.logbook, board, cooking, self.orders, self.notes, ColdMeat(board, task, log),
            on_twin=self._twin_met, on_step=self._stepped, on_change=mark, on_cycle=self._cycle_came, steady=steady,
            log=log,
        )  # fmt: skip
        self.expected = Expected(
            self.logbook, board, cooking, forecaster, task=task, steady=steady, log=log, on_change=mark
        )
        self.watching = Watching(
            home, self.logbook, board, cooking, self.alarms,
            wall=wall, lasting=lasting, task=task, log=log, bell=_bell,
        )  # fmt: skip
        self.desk = Desk(
            self.logbook, board, cooking, self.alarms, self.orders, self.notes, self.plan, Programmes(home),
            self.watching,
            snapshot=self.snapshot, about=self.about, stop=self.stop,
        )  # fmt: skip
        news = News(self.logbook, cooking, self.snapshot)
        self.server = Server(paths.engine_file(home), self.desk.methods(), news, log)
        self._trouble = ""  # with the logbook, last said
        self._unsaid_last = ""
        self._dirty = True
        self._told_at = self._began = steady()
        self._ending = asyncio.Event()
        self._wake = asyncio.Event()  # a cycle came, or it ends
        self._place = LogbookPlace(self.logbook, log=log, trouble=self._say_trouble, task=task, finish=self._finish)
        self._backup = DailyBackup(self.logbook.path, wall, task, log)
        self._ended_why = ""  # on purpose, in a sentence

    # -- life ---------------------------------------------------------------------

    async def run(self) -> None:
        """Serve until told to stop."""
        try:
            self.cooking.take_up(self.logbook.cooks.open())
            await self.server.start()
            self.log(f"engine up on {self.logbook.path}")
            self._upkeep.up()
            if self.twin is not None:
                self.task(self.twin_cook.bring(self.twin))
            self.board.open()
            while not self._ending.is_set():
                try:
                    self.tick()
                except LogbookError as error:  # the night goes on; the intake tells the screens
                    self._say_trouble(str(error))
                self._look_after_machine()
                await self._rest()
        except LogbookDamaged:  # met before the first tick
            self._place.leave_damaged()
        finally:
            await self._end()

    async def _rest(self) -> None:
        """Wait until the next look: TICK, or less if a cycle came. Pushes to the screens are APART."""
        self._wake.clear()
        if self._ending.is_set():
            return
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(self._wake.wait(), TICK)
            early = min(APART, APART - (self.steady() - self._told_at))
            if early > 0:
                await asyncio.wait_for(self._ending.wait(), early)

    def _cycle_came(self) -> None:
        """A cycle is on the disk: the screens hear of it at once, with the alarms of that moment."""
        self._wake.set()

    def stop(self, why: str = "It was asked to end.") -> None:
        """End the engine on purpose; the board goes on by itself, a twin ends too. The screens hear `why`."""
        self._ended_why = self._ended_why or why
        self._finish()

    def _finish(self) -> None:
        self._ending.set()
        self._wake.set()

    def _look_after_machine(self) -> None:
        cook, link = self.cooking.open, self.board.link
        open_cook = f"cook {cook.name!r} is open" if cook else "no cook is open"
        status = f"{open_cook}; {render(link.words, Reader(CELSIUS))}"
        if words := self._upkeep.tick(cook is not None and not cook.simulated, status):
            self.log(words)

    @property
    def replaced(self) -> bool:
        """Whether it ends because another logbook lies at its path, or a damaged one is to be set aside."""
        return self._place.replaced

    @property
    def goes_on(self) -> bool:
        """Whether the next engine takes over: it was `replaced`, and nobody told it to end before it had ended."""
        return self.replaced and not self._ended_why

    async def _end(self) -> None:
        await self._tell_end()
        self._background.cancel()
        await self.expected.close()
        await self.board.close()
        if self.twin is not None:
            twin_process.end(self.home)
            cook = self.cooking.open
            if cook is not None and cook.simulated:
                with contextlib.suppress(LogbookError):
                    self.logbook.cooks.end(cook.id, max(self.now(), cook.started))
        await self._tell_end()  # again: the stop may have come meanwhile, or a screen
        await self.server.close()
        self.logbook.close()
        if not self.goes_on:
            self._upkeep.close()
        self.log("engine ended")

    async def _tell_end(self) -> None:
        """Tell the service manager and the screens, unless the next engine goes on with them."""
        if not self.goes_on:
            self._upkeep.ending()
        if self._ended_why:
            await self.server.farewell(self._ended_why)

    def log(self, text: str) -> None:
        """A line for the engine's own log."""
        self._say(f"{datetime.now():%Y-%m-%d %H:%M:%S} {printable(text)}")
        rotate(paths.engine_log(self.home))

    def _say_trouble(self, text: str) -> None:
        """Write to the log, once: it is tried several times a second."""
        if text != self._trouble:
            self._trouble = text
            self.log(text)

    def _mark(self) -> None:
        """Something is new to see."""
        self._dirty = True

    def _stepped(self, by: int) -> None:
        """All times were moved by `by` ms."""
        self.alarms.move(by)
        self.watching.move(by)
        self.expected.forget()
        self.server.resend()
        self._mark()

    def _twin_met(self) -> None:
        if self.twin is not None:
            self.task(self.twin_cook.begin())

    def tick(self) -> None:
        """A few times a second: pass the time to the protocol, the alarms and the screens."""
        self._place.look(self.steady())
        self.board.tick()
        if self.alarms.update(self.facts()):
            self.cooking.refresh()
        try:
            self.cooking.count()
        except LogbookError as error:  # the intake tells the screens; the records wait, and this waits too
            self._say_trouble(str(error))
        self.watching.tick()
        self.expected.look()
        now = self.steady()
        if self.twin is None and self.cooking.open is None:
            self._backup.tick(now)
        if self._dirty or now - self._told_at >= BEAT:
            self._dirty, self._told_at = False, now
            self.server.changed()
        if self._forsaken(now):
            self.log("the last screen has gone, and a twin needs no watching: ending")
            self.stop()

    def _forsaken(self, now: float) -> bool:
        """An engine that a screen started ends with the last screen; one that a person started, only by that person."""
        if self.stays or self.server.screens:
            return False
        if self.server.left is not None:
            return asyncio.get_running_loop().time() - self.server.left >= LINGER
        return now - self._began >= NOBODY

    # -- what is seen --------------------------------------------------------------------

    def now(self) -> int:
        """The cook's clock, UTC ms."""
        return self.board.clock.now()

    def facts(self) -> Facts:
        """The facts for the alarms. A message of the board is in them once."""
        return gather.facts(self.board, self.cooking, untold=self.orders.untold, notice=self._news.take_notice())

    def snapshot(self) -> Snapshot:
        """All that a screen shows but the trend."""
        return gather.snapshot(
            self.board, self.cooking, self.alarms, self.expected,
            stays=self.stays, planned=self.plan.next(), waking=self.watching.show(), failed=self._unsaid,
        )  # fmt: skip

    def _unsaid(self, error: Exception) -> None:
        """Write to the log, once, what keeps the things to do from being worked out."""
        if repr(error) != self._unsaid_last:
            self._unsaid_last = repr(error)
            self.log(f"what is next for the hands cannot be worked out: {error!r}")

    @property
    def stays(self) -> bool:
        """Whether it goes on without any screen. One that a screen started for a twin does not."""
        return self.twin is None or not self._for_screens

    def about(self) -> About:
        """The engine itself, for those who ask what already runs."""
        return gather.about(
            self.board, self.cooking, self.home, self.twin, port=self.port, up=self.steady() - self._began,
            stays=self.stays, screens=len(self.server.screens), awake=self._upkeep.words,
        )  # fmt: skip


def _bell() -> None:
    """Ring where this engine was started, if that is a terminal; the screens ring by themselves."""
    if sys.stderr is not None and sys.stderr.isatty():
        print("\a", end="", file=sys.stderr, flush=True)

"""The engine: one process that owns the port, the logbook, the alarms and the cook's clock, and serves screens."""

from __future__ import annotations

import asyncio
import os
import sys
import time
from collections.abc import Callable, Coroutine, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from tuyere import paths
from tuyere.client.launch import TwinOptions
from tuyere.cook import kitchen, snapshot
from tuyere.engine import gather
from tuyere.engine.device import restore, twin_process
from tuyere.engine.device.board_clock import wall_clock
from tuyere.engine.device.connection import Board
from tuyere.engine.night import from_plan
from tuyere.engine.night.alarms import Alarms, Facts
from tuyere.engine.night.current import Cooking
from tuyere.engine.outlook.shown import Expected
from tuyere.engine.outlook.worker import COMMAND
from tuyere.engine.rpc.methods import Desk
from tuyere.engine.rpc.server import Screen, Server
from tuyere.link import session as links
from tuyere.link.find import Finder
from tuyere.logbook import Logbook, LogbookError

TICK = 0.25  # s
BEAT = 1.0  # s between snapshots while nothing but the time changes
LINGER = 10.0  # s that an engine started for a screen, and its twin, outlive the last screen
SENSELESS = "made no sense"  # in a notice: the board could not read one of our messages; no fire hangs on it
NOBODY = 60.0  # s until an engine that keeps a twin for a screen that never came ends


class RealCookOpen(Exception):
    """A twin was asked for while a real cook stands open."""


class Engine:
    """One engine for one home; LogbookBusy if another one has the logbook. `run` it in an event loop.

    for_screens: with a twin it ends when the last screen has gone; without one a board is kept in any case.
    `log(line)` takes what it has to say; standard error unless given. `forecaster` is the command of the forecast's
    worker; an empty one forecasts nothing.
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
        log: Callable[[str], None] | None = None,
        forecaster: Sequence[str] = COMMAND,
    ) -> None:
        self.home = paths.ensure(home)
        self.port = port
        self.twin = twin
        self._for_screens = for_screens
        self.steady = steady
        self._say = log or (lambda line: print(line, file=sys.stderr, flush=True))
        self.logbook = Logbook(paths.logbook_path(home))
        standing = self.logbook.open_cook()
        if twin is not None and standing is not None and not standing.simulated:
            self.logbook.close()
            raise RealCookOpen(
                f"the real cook {standing.name!r} is open in this logbook, and a twin must not write into it: plug its "
                "board in and run `tuyere watch` again (or name it with --port), or set TUYERE_HOME to another folder"
            )
        finder = Finder(port) if twin is None else twin_process.TwinFinder(home)
        self.board = Board(self.logbook, self, finder, home / "refused.jsonl", wall, steady)
        self.alarms = Alarms(self.logbook)
        self.cooking = Cooking(self.logbook, self.board, self.alarms, self.now)
        self.expected = Expected(self, forecaster)
        self.desk = Desk(self)
        self.server = Server(paths.engine_file(home), self.desk.methods(), self.news, self.log)
        self._notice = ""  # the board's, until its alarm is raised
        self._trouble = ""  # with the logbook, last said
        self._dirty = True
        self._told_at = self._began = steady()
        self._ending = asyncio.Event()
        self._tasks: set[asyncio.Task[Any]] = set()

    # -- life ---------------------------------------------------------------------

    async def run(self) -> None:
        """Serve until told to stop."""
        try:
            self.cooking.take_up(self.logbook.open_cook())
            await self.server.start()
            self.log(f"engine up on {self.logbook.path}")
            if self.twin is not None:
                self.task(self._bring_twin(self.twin))
            self.board.open()
            while not self._ending.is_set():
                try:
                    self.tick()
                except LogbookError as error:  # the night goes on; the intake says it to the screens
                    self._say_trouble(str(error))
                try:
                    await asyncio.wait_for(self._ending.wait(), TICK)
                except TimeoutError:
                    continue
        finally:
            await self._end()

    def stop(self) -> None:
        """End the engine; the board goes on by itself, a twin ends too."""
        self._ending.set()

    async def _end(self) -> None:
        for task in list(self._tasks):
            task.cancel()
        await self.expected.close()
        await self.board.close()
        if self.twin is not None:
            twin_process.end(self.home)
            cook = self.cooking.open
            if cook is not None and cook.simulated:
                self.logbook.end_cook(cook.id, max(self.now(), cook.started))
        await self.server.close()
        self.logbook.close()
        self.log("engine ended")

    def task(self, work: Coroutine[Any, Any, Any]) -> None:
        """Let something run beside; what goes wrong in it is written to the log."""
        made = asyncio.get_running_loop().create_task(work)
        self._tasks.add(made)
        made.add_done_callback(self._done)

    def _done(self, task: asyncio.Task[Any]) -> None:
        self._tasks.discard(task)
        if not task.cancelled() and task.exception() is not None:
            self.log(f"{task.exception()!r}")

    def log(self, text: str) -> None:
        """A line for the engine's own log."""
        self._say(f"{datetime.now():%Y-%m-%d %H:%M:%S} {text}")

    def _say_trouble(self, text: str) -> None:
        """Into the log, once: it is tried several times a second."""
        if text != self._trouble:
            self._trouble = text
            self.log(text)

    def tick(self) -> None:
        """A few times a second: let the protocol, the alarms and the screens know what time it is."""
        self.board.tick()
        if self.alarms.update(self.facts()):
            self.refresh()
        self._notice = ""
        try:
            self._dirty |= self.cooking.count()
        except LogbookError as error:  # the intake tells the screens; the records wait, and so does this
            self._say_trouble(str(error))
        self.expected.look()
        now = self.steady()
        if self._dirty or now - self._told_at >= BEAT:
            self._dirty, self._told_at = False, now
            self.server.changed()
        if self._forsaken(now):
            self.log("the last screen has gone, and a twin needs no watching: ending")
            self.stop()

    def _forsaken(self, now: float) -> bool:
        """Started for a screen, it ends with the last one; started by a person, only that person ends it."""
        if self.stays or self.server.screens:
            return False
        if self.server.left is not None:
            return asyncio.get_running_loop().time() - self.server.left >= LINGER
        return now - self._began >= NOBODY

    # -- the twin --------------------------------------------------------------------

    async def _bring_twin(self, options: TwinOptions) -> None:
        fresh, trouble = await twin_process.attach(self.home, options)
        if trouble:
            self.board.finder.words = self.board.link.words = trouble
            self.log(trouble)
        cook = self.cooking.open
        if fresh and cook is not None and cook.simulated:
            self.cooking.end_stale(cook)  # its pit is gone

    async def _begin_twin_cook(self) -> None:
        """Show a cook when nobody has asked for one."""
        if self.cooking.open is None and not from_plan.begin(self):
            number = self.cooking.begin(twin_process.SUPPER)
            for piece in twin_process.pieces(self.board.hello.get("meats")):
                self.logbook.add_piece(number, **piece)
            cooker = (twin_process.live(self.home) or {}).get("cooker", "")
            self.cooking.kitchen = kitchen.change(self.logbook, number, self.cooking.kitchen, {"cooker": cooker})
            self.refresh()
        cook = self.cooking.cook.id if self.cooking.cook is not None else 0
        if self.logbook.text(cook, "begun") is None:
            done = await self.desk.orders.hold()
            if done["ok"]:
                self.logbook.set_text(cook, "begun", "1")
            else:
                self.log(f"the twin was not started: {done['words']}")

    # -- the board's side says (see board.Hooks) ------------------------------------------

    def cook_of_records(self, simulated: bool, utc: int | None) -> int | None:
        """Records belong to the open cook, unless one is simulated and the other is not, or they are of before it."""
        cook = self.cooking.open
        if cook is None or cook.simulated != simulated or (utc is not None and utc < cook.started):
            return None
        return cook.id

    def boot_start(self, hello: links.Hello) -> int | None:
        """A twin's simulated time goes on while its firmware restarts: `outside_ms` says how much had passed."""
        outside, cook = hello.hello.get("outside_ms"), self.cooking.open
        if not isinstance(outside, int) or cook is None:
            return None
        begin = self.logbook.text(cook.id, "twin_zero")
        return int(begin) + outside if begin else None

    def met(self, hello: links.Hello, known: bool) -> None:
        """A board has said hello for the first time."""
        simulated, cook = self.board.link.simulated, self.cooking.open
        self.desk.orders.met()
        if cook is not None:
            if cook.simulated and not simulated:
                self.cooking.end_stale(cook)  # a real board has come; the pit of that cook was never there
            elif known:
                self.board.readout.phase_since = self._phase_since(cook.id)
            elif self.cooking.cycles:
                self.cooking.restarted = True
        self.cooking.read_phases()
        if simulated and self.twin is not None:
            self.task(self._begin_twin_cook())

    def _phase_since(self, cook: int) -> int:
        """Since when the phase of a boot that the logbook knows runs, by its last state record."""
        since = 0
        for state in self.logbook.states(cook):
            cycles = state.memory.get("phase_cycles")
            if state.boot == self.board.session.boot and isinstance(cycles, int):
                since = state.utc - cycles * self.board.readout.period_ms
        return since

    def lost(self, count: int) -> None:
        """Records are gone."""
        if self.cooking.open is not None:
            self.cooking.missing += count

    def stored(self, count: int) -> None:
        """New cycles of the present boot are on disk."""
        cycle = self.board.readout.cycle
        if cycle is None:
            return
        self.follow()
        self.desk.orders.look(self.steady())
        if self.cooking.restarted and restore.runs(cycle):
            self.cooking.restarted = False
        for done in self.cooking.hands.look(self.cooking.open, self.cooking.pieces):
            self.desk.notes.twins(done)

    def follow(self) -> None:
        """Write down how the board stands now."""
        try:
            self.cooking.follow()
        except LogbookError as error:
            self.log(str(error))

    def notice(self, text: str) -> None:
        """The board says that its program failed, or why it started again: into the cook's log, and an alarm."""
        if SENSELESS not in text:
            self._notice = text
        source = f"{self.board.session.board}/{self.board.session.boot}/said {self.now()}"
        try:
            self.cooking.note_once("board_says", source, text[:2000])
        except LogbookError as error:
            self.log(str(error))

    def changed(self) -> None:
        """Something is new to see."""
        self._dirty = True

    # -- what is seen --------------------------------------------------------------------

    def now(self) -> int:
        """The cook's clock, UTC ms."""
        return self.board.clock.now()

    def refresh(self) -> None:
        """Something of the cook was written: read it again and show it."""
        self.cooking.refresh()
        self._dirty = True

    def facts(self) -> Facts:
        """What the alarms are judged from."""
        board, cooking, finder = self.board, self.cooking, self.board.finder
        return Facts(
            now=self.now(),
            cooking=cooking.open is not None,
            simulated=cooking.cook is not None and cooking.cook.simulated,
            cycle=board.readout.cycle,
            fault_bits=board.readout.fault_bits,
            arrived=bool(cooking.score.arrived),
            silent=board.silent,
            beat=board.beat,
            restarted=cooking.restarted,
            opened_for=cooking.opened_for(),
            lost_piece=cooking.lost_piece(),
            empty=cooking.empty,
            missing=cooking.missing,
            trouble=board.intake.trouble,
            unstored=board.intake.refused,
            refused=board.refused,
            untold=self.desk.orders.untold,
            notice=self._notice,
            twin_ended=isinstance(finder, twin_process.TwinFinder) and finder.ended,
        )

    @property
    def stays(self) -> bool:
        """Whether it goes on without any screen: all do but one that a screen started for itself and a twin."""
        return self.twin is None or not self._for_screens

    def about(self) -> snapshot.About:
        """The engine itself, for those who ask what already runs."""
        cook = self.cooking.open
        found = snapshot.About(
            os.getpid(), self.steady() - self._began, self.port, link=self.board.link, cook=cook.name if cook else ""
        )
        if self.twin is not None:  # one that ran before this engine may be another than was asked for
            said = twin_process.live(self.home) or {}
            found.twin, found.speed = True, said.get("speed", self.twin.speed)
            found.cooker, found.seed = said.get("cooker", self.twin.cooker), said.get("seed", self.twin.seed)
        return found

    def news(self, screen: Screen) -> list[tuple[str, Any]]:
        """What to push to a subscriber: the snapshot, and the cycles it does not have yet."""
        pushed: list[tuple[str, Any]] = [("snapshot", gather.snapshot(self))]
        cook = self.cooking.cook
        if cook is not None:
            if screen.trend_of not in (0, cook.id):
                screen.wants = 0
            first = screen.trend_of != cook.id
            found = self.logbook.trend(cook.id, screen.wants or 0)
            screen.trend_of, screen.wants = cook.id, found.last
            if found.at or first:
                pushed.append(("trend", gather.trend(found)))
        return pushed

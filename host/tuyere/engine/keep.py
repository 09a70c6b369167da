"""The engine: one process that owns the port, the logbook, the alarms and the cook's clock, and serves screens."""

from __future__ import annotations

import asyncio
import json
import sys
import time
from collections.abc import Callable, Coroutine
from datetime import datetime
from pathlib import Path
from typing import Any

from .. import paths
from ..link import session as links
from ..link.find import Finder
from ..logbook import Logbook, LogbookError
from ..logbook.rows import Cook
from ..score import Score
from . import model, programme, rounds, twins, view, words
from .alarms import Alarms, Facts
from .board import Board
from .desk import Desk
from .launch import TwinOptions
from .serve import Screen, Server

TICK = 0.25  # s
BEAT = 1.0  # s between snapshots while nothing but the time changes
LINGER = 10.0  # s that engine and twin outlive the last screen
NOBODY = 60.0  # s until an engine that keeps a twin for a screen that never came ends
STALE = 10.0  # s


def wall_clock() -> int:
    """UTC, whole ms."""
    return time.time_ns() // 1_000_000


class RealCookOpen(Exception):
    """A twin was asked for while a real cook stands open."""


class Engine:
    """One engine for one home; LogbookBusy if another one has the logbook. `run` it in an event loop."""

    def __init__(
        self,
        home: Path,
        *,
        port: str = "",
        twin: TwinOptions | None = None,
        for_screens: bool = False,
        wall: Callable[[], int] = wall_clock,
        steady: Callable[[], float] = time.monotonic,
    ) -> None:
        self.home = paths.ensure(home)
        self.twin = twin
        self._for_screens = for_screens
        self._steady = steady
        self.logbook = Logbook(paths.logbook_path(home))
        standing = self.logbook.open_cook()
        if twin is not None and standing is not None and not standing.simulated:
            self.logbook.close()
            raise RealCookOpen(
                f"the real cook {standing.name!r} is open in this logbook, and a twin must not write into it: plug its "
                "board in and run `tuyere watch` again (or name it with --port), or set TUYERE_HOME to another folder"
            )
        finder = Finder(port) if twin is None else twins.TwinFinder(home)
        self.board = Board(self.logbook, self, finder, home / "refused.jsonl", wall, steady)
        self.alarms = Alarms(self.logbook)
        self.desk = Desk(self)
        self.server = Server(paths.engine_file(home), self.desk.methods(), self.news, self.log)
        self.cook: Cook | None = None  # the open one, or the last that ended while we ran
        self.score = Score(0)
        self.phases: list[model.Phase] = []
        self.pieces: list[Any] = []
        self.events: list[Any] = []
        self.restarted = False  # the board was powered up during this cook
        self.cycles = self.missing = 0  # of this cook
        self._standing: list[model.Alarm] = []
        self._trend_after = 0
        self._phase = -1  # the row last written down
        self._dirty = True
        self._told_at = self._began = steady()
        self._ending = asyncio.Event()
        self._tasks: set[asyncio.Task[Any]] = set()

    # -- life ---------------------------------------------------------------------

    async def run(self) -> None:
        """Serve until told to stop."""
        try:
            self.take_up(self.logbook.open_cook())
            await self.server.start()
            self.log(f"engine up on {self.logbook.path}")
            if self.twin is not None:
                self.task(self._bring_twin(self.twin))
            self.board.open()
            while not self._ending.is_set():
                try:
                    self.tick()
                except LogbookError as error:  # the night goes on; the intake says it to the screens
                    self.log(str(error))
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
        await self.board.close()
        if self.twin is not None:
            twins.end(self.home)
            if self.cook is not None and not self.cook.ended and self.cook.simulated:
                self.logbook.end_cook(self.cook.id, max(self.now(), self.cook.started))
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
        print(f"{datetime.now():%Y-%m-%d %H:%M:%S} {text}", file=sys.stderr, flush=True)

    def tick(self) -> None:
        """A few times a second: let the protocol, the alarms and the screens know what time it is."""
        self.board.tick()
        if self.alarms.update(self.facts()):
            self._dirty = True
            self.refresh()
        self._count()
        now = self._steady()
        if self._dirty or now - self._told_at >= BEAT:
            self._dirty, self._told_at = False, now
            self.server.changed()
        if self.twin is not None and self._forsaken(now):
            self.log("the last screen has gone, and a twin needs no watching: ending")
            self.stop()

    def _forsaken(self, now: float) -> bool:
        if self.server.screens:
            return False
        if self.server.left is not None:
            return asyncio.get_running_loop().time() - self.server.left >= LINGER
        return self._for_screens and now - self._began >= NOBODY

    # -- the twin --------------------------------------------------------------------

    async def _bring_twin(self, options: TwinOptions) -> None:
        fresh, trouble = await twins.attach(self.home, options)
        if trouble:
            self.board.finder.words = self.board.link.words = trouble
            self.log(trouble)
        if fresh and self.cook is not None and not self.cook.ended and self.cook.simulated:
            self._end_stale(self.cook)  # its pit is gone

    async def _begin_twin_cook(self) -> None:
        """Show a cook when nobody has asked for one."""
        if not self.cooking:
            cook = self.begin_cook(twins.SUPPER)
            for piece in twins.PIECES:
                self.logbook.add_piece(cook, **piece)
            self.refresh()
        cook = self.cook.id if self.cook is not None else 0
        if self.logbook.text(cook, "begun") is None:
            done = await self.desk.hold()
            if done["ok"]:
                self.logbook.set_text(cook, "begun", "1")
            else:
                self.log(f"the twin was not started: {done['words']}")

    def _end_stale(self, cook: Cook) -> None:
        trend = self.logbook.trend(cook.id)
        self.logbook.end_cook(cook.id, max(trend.at[-1] if trend.at else 0, cook.started))
        self.take_up(None)

    # -- the board's side says (see board.Hooks) ------------------------------------------

    def cook_of_records(self, simulated: bool) -> int | None:
        """Records belong to the open cook, unless one is simulated and the other is not."""
        cook = self.cook
        return cook.id if cook is not None and not cook.ended and cook.simulated == simulated else None

    def boot_start(self, hello: links.Hello) -> int | None:
        """A twin's simulated time goes on while its firmware restarts: `outside_ms` says how much had passed."""
        outside = hello.hello.get("outside_ms")
        if not isinstance(outside, int) or self.cook is None or self.cook.ended:
            return None
        begin = self.logbook.text(self.cook.id, "twin_zero")
        return int(begin) + outside if begin else None

    def met(self, hello: links.Hello, known: bool) -> None:
        """A board has said hello for the first time."""
        simulated, cook = self.board.link.simulated, self.cook
        if cook is not None and not cook.ended:
            if cook.simulated and not simulated:
                self._end_stale(cook)  # a real board has come; the pit of that cook was never there
            elif known:
                self._resume(cook)
            elif self.cycles:
                self.restarted = True
        self._read_phases()
        if simulated and self.twin is not None:
            self.task(self._begin_twin_cook())

    def _resume(self, cook: Cook) -> None:
        """A boot the logbook knows: its last state record says since when the phase runs."""
        since = 0
        for state in self.logbook.states(cook.id):
            cycles = state.memory.get("phase_cycles")
            if state.boot == self.board.session.boot and isinstance(cycles, int):
                since = state.utc - cycles * self.board.readout.period_ms
        self.board.readout.phase_since = since

    def lost(self, count: int) -> None:
        """Records are gone."""
        if self.cooking:
            self.missing += count

    def stored(self, count: int) -> None:
        """New cycles are on disk. With a twin nobody says so: the meat is on when its probes begin to read."""
        cook, cycle = self.cook, self.board.readout.cycle
        if cook is None or cycle is None or cook.ended:
            return
        if cycle.phase != self._phase and cycle.state != "off":
            self._phase = cycle.phase
            self.logbook.set_text(cook.id, "phase", str(cycle.phase))
        if cook.meat_on or not cook.simulated:
            return
        if self.board.link.simulated and any(meat is not None for meat in cycle.meats):
            self.desk.write_event("meat_on", cycle.at, text="put on by the twin")

    def changed(self) -> None:
        """Something is new to see."""
        self._dirty = True

    # -- the cook -------------------------------------------------------------------------

    @property
    def cooking(self) -> bool:
        """Whether a cook is open."""
        return self.cook is not None and not self.cook.ended

    def now(self) -> int:
        """The cook's clock, UTC ms."""
        return self.board.clock.now()

    def begin_cook(self, name: str) -> int:
        """Open a cook in the logbook."""
        board = self.board
        number = self.logbook.start_cook(
            name, self.now(), board.session.board or board.link.board, board.link.simulated
        )
        outside = board.hello.get("outside_ms")
        if board.link.simulated and board.clock.pair is not None and isinstance(outside, int):
            self.logbook.set_text(number, "twin_zero", str(board.clock.pair.of(0) - outside))
        self.take_up(self.logbook.cook(number))
        return number

    def take_up(self, cook: Cook | None) -> None:
        """Go on with a cook as the logbook knows it."""
        number = cook.id if cook is not None else None
        self.cook, self.restarted = cook, False
        self.score = Score(cook.started, cook.meat_on) if cook is not None else Score(0)
        self._trend_after = self.cycles = 0
        self._phase = -1
        self.missing = self.logbook.counts(cook.id).missing if cook is not None else 0
        self.alarms.take_up(number, self.logbook.alarms(number, standing_only=True))
        self._count()
        self.refresh()

    def refresh(self) -> None:
        """Read pieces, events and alarms of the cook again: something was written."""
        number = self.cook.id if self.cook is not None else None
        if number is not None:
            self.cook = self.logbook.cook(number)
            self.pieces, self.events = self.logbook.pieces(number), view.events(self.logbook.events(number))
        else:
            self.pieces, self.events = [], []
        self._standing = view.alarms(self.logbook.alarms(number, standing_only=True))
        self._read_phases()
        self._dirty = True

    def keep_programme(self) -> None:
        """Write the board's programme down with the cook, for a board that loses its memory."""
        if self.cook is not None and not self.cook.ended:
            self.logbook.set_text(self.cook.id, "programme", json.dumps(self.board.readout.rows))
        self.refresh()

    def programme_so_far(self) -> tuple[list[list[int]], int]:
        """(rows, row in force) as last known of the open cook, or the default programme from its start."""
        if self.cook is not None:
            rows, row = self.logbook.text(self.cook.id, "programme"), self.logbook.text(self.cook.id, "phase")
            if rows:
                return json.loads(rows), int(row or 0)
        return programme.rows(programme.default()), 0

    def _read_phases(self) -> None:
        names = (self.logbook.text(self.cook.id, "phases") if self.cook is not None else None) or ""
        self.phases = programme.phases(self.board.readout.rows, [name for name in names.split("\n") if name])

    def _count(self) -> None:
        """Take the new cycles of the cook into its score."""
        if self.cook is None:
            return
        fresh = self.logbook.trend(self.cook.id, self._trend_after)
        self._trend_after = fresh.last
        self.cycles += len(fresh.at)
        self.score.add(fresh.at, fresh.pit, fresh.low, fresh.high)

    # -- what is seen --------------------------------------------------------------------

    def facts(self) -> Facts:
        """What the alarms are judged from."""
        board, finder = self.board, self.board.finder
        return Facts(
            now=self.now(),
            cooking=self.cooking,
            simulated=self.cook is not None and self.cook.simulated,
            cycle=board.readout.cycle,
            fault_bits=board.readout.fault_bits,
            arrived=bool(self.score.arrived),
            silent=board.silent,
            beat=board.beat,
            restarted=self.restarted,
            missing=self.missing,
            trouble=board.intake.trouble,
            refused=board.refused or board.intake.refused,
            twin_ended=isinstance(finder, twins.TwinFinder) and finder.ended,
        )

    def snapshot(self) -> model.Snapshot:
        """All that a screen shows but the trend."""
        board, row = self.board, self.cook
        cycle, now = board.readout.cycle, self.now()
        stale = cycle is not None and (board.silent > STALE or board.link.state != "open")
        cook = None
        if row is not None:
            cook = model.Cook(
                row.id,
                row.name,
                row.started,
                row.ended,
                row.meat_on,
                row.simulated,
                row.board,
                self.cycles,
                self.score.share,
            )
        pieces = view.pieces(self.pieces, None if stale else cycle)
        return model.Snapshot(
            now=now,
            link=board.link,
            words=words.without_cycle(board.link)
            if cycle is None or stale
            else words.stands(cycle, board.readout.fault_bits),
            cycle=cycle,
            stale=stale,
            cook=cook,
            phases=self.phases,
            phase_since=board.readout.phase_since,
            pieces=pieces,
            prompts=rounds.prompts(cook, pieces, self.events, now, None if stale else cycle),
            alarms=sorted([*self._standing, *self.alarms.unwritten], key=view.urgent_first),
            events=self.events[: view.EVENTS_SHOWN],
            logbook=str(self.logbook.path),
        )

    def news(self, screen: Screen) -> list[tuple[str, Any]]:
        """What to push to a subscriber: the snapshot, and the cycles it does not have yet."""
        pushed: list[tuple[str, Any]] = [("snapshot", self.snapshot())]
        if self.cook is not None:
            if screen.trend_of not in (0, self.cook.id):
                screen.wants = 0
            first = screen.trend_of != self.cook.id
            found = self.logbook.trend(self.cook.id, screen.wants or 0)
            screen.trend_of, screen.wants = self.cook.id, found.last
            if found.at or first:
                pushed.append(("trend", view.trend(found)))
        return pushed

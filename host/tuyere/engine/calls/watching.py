"""The calls of the engine: from alarms that stand to a phone that rings, and a board that knows who relies on them."""

from __future__ import annotations

import time
from collections.abc import Callable, Coroutine, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from tuyere.cook import care, from_rows, snapshot
from tuyere.engine.calls import bedtime, routes
from tuyere.engine.calls.call import Given
from tuyere.engine.calls.couriers import COMMAND, Couriers
from tuyere.engine.calls.life import Calls
from tuyere.engine.calls.message import Now
from tuyere.engine.calls.nap import Nap
from tuyere.engine.calls.post import Outcome
from tuyere.engine.calls.pulse import Pulse
from tuyere.engine.calls.rely import Rely
from tuyere.engine.calls.routes import BadRoute, Route, Routes
from tuyere.engine.calls.tested import TEST, Tested
from tuyere.engine.device.connection import Board
from tuyere.engine.night.alarms import Alarms
from tuyere.engine.night.current import Cooking
from tuyere.logbook import Logbook, LogbookError
from tuyere.logbook.rows import CallStep

LOOK = 2.0  # s between looks at the file of the routes
STALE = 60.0  # s without a record after which a board with an open cook is not well
BEAT = "heartbeat"  # code of what is no alarm
LOUD = 10.0  # s between rings of the host's bell while no route accepts


class Watching:
    """Calls, the test before bed, the heartbeat, and what the engine tells the board of them.

    `lasting` is a clock in s that goes on while the machine sleeps, `wall` UTC ms; `bell` rings at the host. `minute`
    gives the minute of this computer's day at a UTC.
    """

    def __init__(
        self,
        home: Path,
        logbook: Logbook,
        board: Board,
        cooking: Cooking,
        alarms: Alarms,
        *,
        wall: Callable[[], int],
        lasting: Callable[[], float],
        task: Callable[[Coroutine[Any, Any, Any]], None],
        log: Callable[[str], None],
        bell: Callable[[], None] = lambda: None,
        command: Sequence[str] = COMMAND,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._home, self._logbook, self._board, self._cooking, self._alarms = home, logbook, board, cooking, alarms
        self._lasting, self._log, self._bell = lasting, log, bell
        self._zero = wall() - round(lasting() * 1000)
        self.calls = Calls(self._write)
        self.couriers = Couriers(home, self._done, task, command=command)
        self.test = Tested(
            logbook, board, cooking, self.calls, self.couriers, self._note, lambda: self.now, lambda: self.active,
            lambda: self.book,
        )  # fmt: skip
        self._nap = Nap(logbook, board, cooking, log, sleep)
        self.pulse = Pulse(task, self._beat)
        self.rely = Rely(board, task, log)
        self.book = Routes()
        self._trouble = ""  # with the file of the routes
        self._changed: tuple[int, int] | None = None
        self._looked = self._rang = float("-inf")
        self._cook: int | None = None
        self._said = ""

    @property
    def now(self) -> int:
        """UTC ms of the calls: the computer's clock when the engine began, and no step of it since but those told."""
        return self._zero + round(self._lasting() * 1000)

    @property
    def active(self) -> bool:
        """Whether the open cook calls anybody."""
        cook = self._cooking.open
        return cook is not None and (not cook.simulated or self._board.practice)

    # -- time -------------------------------------------------------------------------------

    def tick(self) -> None:
        """A few times a second, after the alarms."""
        seconds, now = self._lasting(), self.now
        if seconds - self._looked >= LOOK:
            self._looked = seconds
            self._read()
        self._follow(seconds)
        self._nap.look()
        if self.active:
            for job in self.calls.step(self._given(now)):
                self.couriers.send(job)
            self.couriers.look(seconds)  # after a step, which knows when and in which cook this is
        self.test.step()
        board, cook = self._board, self._cooking.open
        self.pulse.step(now, self.book, well=cook is None or cook.simulated or board.silent < STALE)
        relied = self.active and bool(bedtime.sounding(self.book))
        self.rely.look(seconds, (2 if self.calls.unheard else 1) if relied else 0)
        if self.calls.unheard and seconds - self._rang >= LOUD:
            self._rang = seconds
            self._bell()

    def move(self, by: int) -> None:
        """The computer's clock has stepped, and all times in the logbook with it."""
        if not self._board.link.simulated:
            self._zero += by
            self.calls.move(by)
            self.test.bedtime.move(by)

    async def leave(self) -> None:
        """A person ends the engine: nobody relies on it any more."""
        await self.rely.leave()

    def _read(self) -> None:
        """Take the routes again if their file has changed."""
        changed = routes.changed(self._home)
        if changed == self._changed:
            return
        self._changed = changed
        try:
            self.book, self._trouble = routes.read(self._home), ""
        except BadRoute as error:  # the routes known so far go on
            self._trouble = str(error)
            self._log(self._trouble)

    def _follow(self, seconds: float) -> None:
        """Another cook is open, or none."""
        cook = self._cooking.open
        number = cook.id if cook is not None else None
        if number == self._cook:
            return
        self._cook = number
        self.test.follow(number)
        self.calls.take_up(self._logbook.calls.of(number) if number is not None else [], self.book)
        self.couriers.wait_for(self.calls.flights, seconds)

    def _given(self, now: int) -> Given:
        return Given(
            now=now,
            minute=self._minute(),
            clock=self._board.clock.now(),
            cook=self._cook,
            standing=self._alarms.fresh([*self._cooking.standing, *self._alarms.unwritten]),
            present=self._alarms.present,
            routes=self.book,
            seen=self._seen(),
            practice=self._board.practice,
        )

    def _minute(self) -> int:
        then = datetime.fromtimestamp(self.now / 1000)
        return then.hour * 60 + then.minute

    def _seen(self) -> Now:
        """Pit and meat as they are now."""
        cycle, at = self._board.readout.cycle, self._board.clock.now()
        linked = cycle is not None and self._board.silent < STALE and self._board.link.state == "open"
        pieces = from_rows.pieces(self._cooking.pieces, cycle if linked else None)
        there = [(one.name, one.temperature) for one in pieces if one.on_at and one.place in ("pit", *care.AWAY)]
        there.sort(key=lambda one: (one[1] is None, one[1] or 0.0))
        return Now(at, cycle.pit if cycle is not None and linked else None, there, linked)

    # -- sending -------------------------------------------------------------------------------

    def _done(self, attempt: str, outcome: Outcome) -> None:
        """What became of a message."""
        code, name = self.calls.outcome(attempt, outcome.ok, outcome.why, self.now)
        if name and not outcome.ok:
            self._log(f"the call by route {name} was not accepted: {outcome.why}")
            if code == TEST:
                self.test.bedtime.refused[name] = outcome.why

    def _beat(self, route: Route, outcome: Outcome) -> None:
        self._note(BEAT, "accepted" if outcome.ok else "failed", route.name, words=outcome.why)
        if not outcome.ok:
            self._log(f"the heartbeat by route {route.name} was not taken: {outcome.why}")

    def _note(self, code: str, step: str, route: str = "", *, attempt: str = "", words: str = "") -> None:
        self._write([CallStep(
            cook=self._cook, code=code, step=step, at=self._board.clock.now(), wall=self.now, route=route,
            attempt=attempt, words=words,
        )])  # fmt: skip

    def _write(self, steps: list[CallStep]) -> None:
        """Into the logbook; a call goes out even if that cannot be written."""
        try:
            self._logbook.calls.add(steps)
            self._said = ""
        except LogbookError as error:
            if str(error) != self._said:
                self._said = str(error)
                self._log(f"a step of a call was not written: {error}")

    # -- what a person asks ------------------------------------------------------------------------

    async def awake(self) -> dict[str, Any]:
        """A person is awake: nobody is called for what stands now, for a while. No alarm is acknowledged by it."""
        until = self.calls.awake(self.now, self.book.silence)
        words = f"Calls are silent for {self.book.silence:g} min; then what is unchanged calls again."
        return {"ok": True, "words": words if until else "Nobody is being called."}

    # -- what is seen ----------------------------------------------------------------------------

    def show(self) -> snapshot.Waking:
        """For the screens."""
        now, clock = self.now, self._board.clock.now()
        if not self.active:
            return snapshot.Waking(trouble=self._trouble)
        hours = (self._logbook.cooks.text(self._cook, bedtime.SLEEP) if self._cook is not None else None) or ""
        return snapshot.Waking(
            asked=True,
            watched=self.test.watched,
            routes=len(bedtime.sounding(self.book)),
            ask_at=bedtime.asks(clock, hours or bedtime.USUAL),
            calling=bool(self.calls.calling(now)),
            silent=max(0, self.calls.silent_until(now) - now) // 1000,
            unheard=self.calls.unheard,
            test_in=max(0, self.test.bedtime.due - now) // 1000 if self.test.bedtime.due else 0,
            test_waits=self.test.bedtime.waits(now),
            test_failed=[f"{name}: {why}" for name, why in self.test.bedtime.refused.items()],
            trouble=self._trouble,
        )

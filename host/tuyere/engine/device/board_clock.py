"""The cook's clock: board time to UTC, one pair at a time, and what is done when the computer's clock is changed.

A real board's time is tied to the wall clock at each hello (half the round trip is taken off). A twin's time runs at
its own pace, so it is tied once: to the time at which the twin says that it began, else to that at which it is first
met. From then on the cook's clock is the twin's, and `now` is the time of its newest record. All UTC in whole ms.

A second clock keeps counting, also during sleep. Against it a step of the wall clock shows. Until the step has been
handled, `now` goes on as if there had been none. The newest wall clock counts as true: what was dated before the step
moves with it (`on_step`), and so do the pairs.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import NamedTuple

SLOW = 1.5  # s; a round trip longer than this says little about the board's clock
DRIFT_MS = 200  # a new pair is worth keeping when it differs by more
LONGEST_MS = 30 * 60_000  # or when the last is this old
STEP_MS = 2_000  # from here on a change of the wall clock is a step; below, it is drift
WITHIN = 15.0  # s that a step waits for a hello to say whether the board's time has passed as well
APART_MS, APART_SHARE = 10_000, 2e-4  # error allowed of a pair after an engine's pause, and per ms of the pause


def wall_clock() -> int:
    """UTC, whole ms."""
    return time.time_ns() // 1_000_000


def lasting_clock() -> float:
    """Seconds since some moment, without steps; includes the computer's sleep where the system counts it."""
    if sys.platform == "linux":
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":
        return time.clock_gettime(time.CLOCK_MONOTONIC)  # it goes on in sleep there, time.monotonic does not
    return time.monotonic()


class Pair(NamedTuple):
    """Board time and UTC at one instant, both in ms."""

    at: int
    utc: int

    def of(self, at: int) -> int:
        """UTC of a board time."""
        return self.utc + at - self.at


class Clock:
    """The clock of one cook. `wall` gives the wall clock in ms, `lasting` seconds that never step.

    `on_step(by, before)` moves what was dated by the wall clock by `by` ms; before: only what an earlier engine
    wrote. It returns False if it could not move them now; it is then called again.
    """

    def __init__(self, wall: Callable[[], int], lasting: Callable[[], float] = lasting_clock) -> None:
        self._wall = wall
        self._lasting = lasting
        self.on_step: Callable[[int, bool], bool] = lambda by, before: True
        self.simulated = False
        self.pair: Pair | None = None
        self._newest = 0  # UTC of the newest record, ms
        self._boot: tuple[str, int] = ("", 0)
        self._seen = (wall(), lasting())  # both clocks when last looked at
        self._owed = 0  # ms of steps that are still to be dealt with
        self._owed_at = 0.0
        self._said: tuple[int, float] | None = None  # board time at the last hello, and when that was (lasting)

    def look(self) -> None:
        """A few times a second, and before anything is dated: see whether the wall clock has stepped."""
        wall, lasting = self._wall(), self._lasting()
        step = wall - self._seen[0] - round(1000 * (lasting - self._seen[1]))
        self._seen = wall, lasting
        if abs(step) >= STEP_MS:
            owed = self._owed + step  # a pause between the two readings looks like a step, and is made good by the next
            self._owed, self._owed_at = owed if abs(owed) >= STEP_MS else 0, lasting
        if self._owed and (self.pair is None or self.simulated or lasting - self._owed_at >= WITHIN):
            self._settle(before=False)

    def hello(
        self,
        board: str,
        boot: int,
        at: int,
        round_trip: float,
        *,
        simulated: bool = False,
        known: Pair | None = None,
        start: int | None = None,
    ) -> Pair | None:
        """Take a hello; returns the pair to be stored, or None if the one in force still holds.

        `known` is the pair the logbook already has for this boot; `start` the UTC of the
        boot's time zero where something else fixes it (a twin's later boots, a twin that cooks a plan).
        """
        self.look()
        self.simulated = simulated
        if (board, boot) != self._boot:
            self._boot, self.pair, self._newest = (board, boot), known, 0
        self._said = at - round(round_trip * 500), self._lasting()
        wall = self._wall()
        if simulated:
            self._owed = 0  # this cook's clock is the twin's
            fresh_pair = None
            if self.pair is None:
                self.pair = fresh_pair = Pair(0, start) if start is not None else Pair(at, wall)
            self.seen(at)
            return fresh_pair
        fresh = Pair(at, wall - round(round_trip * 500))
        if self.pair is not None:
            if round_trip > SLOW:
                return None
            self._compare(fresh, self.pair, fresh_engine=known is not None)
            off = abs(fresh.utc - self._owed - self.pair.of(at))
            if off <= DRIFT_MS and at - self.pair.at < LONGEST_MS:
                return None
        self.pair = fresh._replace(utc=fresh.utc - self._owed)
        return self.pair

    def _compare(self, fresh: Pair, pair: Pair, *, fresh_engine: bool) -> None:
        """The board's time kept counting: it shows how far the wall clock stepped, or that time has passed."""
        off = fresh.utc - pair.of(fresh.at)
        if self._owed:
            if abs(off) < abs(off - self._owed):
                self._owed = 0  # the board's time passed too: our clock stood still, as in a paused machine
            else:
                self._settle(before=False)
        elif fresh_engine and abs(off) > APART_MS + APART_SHARE * (fresh.at - pair.at):
            self._owed = off
            self._settle(before=True)

    def _settle(self, *, before: bool) -> None:
        by = self._owed
        if by and (self.simulated or self.on_step(by, before)):
            self._owed = 0
            if not self.simulated:
                self.pair = self.pair and self.pair._replace(utc=self.pair.utc + by)
                self._newest += by if self._newest else 0

    def utc(self, at: int) -> int | None:
        """UTC of a board time of the present boot, None before its first hello."""
        return None if self.pair is None else self.pair.of(at)

    def seen(self, at: int) -> None:
        """A record or a hello of this board time has come."""
        utc = self.utc(at)
        if utc is not None and utc > self._newest:
            self._newest = utc

    def now(self) -> int:
        """The cook's clock: the wall, or with a twin the time of its newest record or hello."""
        if self.simulated and self._newest:
            return self._newest
        return self._wall() - self._owed

    def board_now(self) -> int | None:
        """The board's own time now, ms: of its newest record with a twin, else counted on from the last hello; None
        before the first."""
        if self.simulated and self._newest and self.pair is not None:
            return self._newest - self.pair.utc + self.pair.at
        if self._said is None:
            return None
        return self._said[0] + round(1000 * (self._lasting() - self._said[1]))

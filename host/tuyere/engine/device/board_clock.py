"""The cook's clock: board time to UTC, one pair at a time.

A real board's time is tied to the wall clock at each hello (half the round trip is
taken off). A twin's time runs at its own pace, so it is tied once, when the twin is
first met; from then on the cook's clock is the twin's, and `now` is the time of its
newest record. All UTC in whole milliseconds.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import NamedTuple

SLOW = 1.5  # s; a round trip longer than this says little about the board's clock
DRIFT_MS = 200  # a new pair is worth keeping when it differs by more
LONGEST_MS = 30 * 60_000  # or when the last is this old


def wall_clock() -> int:
    """UTC, whole ms."""
    return time.time_ns() // 1_000_000


class Pair(NamedTuple):
    """Board time and UTC at one instant, both in ms."""

    at: int
    utc: int

    def of(self, at: int) -> int:
        """UTC of a board time."""
        return self.utc + at - self.at


class Clock:
    """The clock of one cook. `wall` gives the wall clock in ms."""

    def __init__(self, wall: Callable[[], int]) -> None:
        self._wall = wall
        self.simulated = False
        self.pair: Pair | None = None
        self._newest = 0  # UTC of the newest record, ms
        self._boot: tuple[str, int] = ("", 0)

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
        boot's time zero where something else fixes it (a twin's later boots).
        """
        self.simulated = simulated
        if (board, boot) != self._boot:
            self._boot, self.pair, self._newest = (board, boot), known, 0
        wall = self._wall()
        if simulated:
            if self.pair is None:
                self.pair = Pair(0, start) if start is not None else Pair(at, wall)
                return self.pair
            return None
        fresh = Pair(at, wall - round(round_trip * 500))
        if self.pair is not None:
            if round_trip > SLOW:
                return None
            off = abs(fresh.utc - self.pair.of(at))
            if off <= DRIFT_MS and at - self.pair.at < LONGEST_MS:
                return None
        self.pair = fresh
        return fresh

    def utc(self, at: int) -> int | None:
        """UTC of a board time of the present boot, None before its first hello."""
        return None if self.pair is None else self.pair.of(at)

    def seen(self, at: int) -> None:
        """A record of this board time has come."""
        utc = self.utc(at)
        if utc is not None and utc > self._newest:
            self._newest = utc

    def now(self) -> int:
        """The cook's clock: the wall, or with a twin the time of its newest record."""
        if self.simulated and self._newest:
            return self._newest
        return self._wall()

"""Plays a past night to a screen: a source of snapshots and trends like an engine, whose clock a person moves."""

from __future__ import annotations

import asyncio
import time
from bisect import bisect_left, bisect_right
from collections.abc import AsyncIterator, Awaitable, Callable
from typing import Any

from tuyere.replay.recorded import RecordedNight

PACE = 0.1  # s between looks at the clock
BEAT = 1.0  # s without a change after which the screen is drawn again all the same
SPEEDS = (1.0, 5.0, 20.0, 60.0, 300.0, 1200.0)  # seconds of the night in one second


class PastNight(Exception):
    """Something was ordered of a night that is over."""


class Player:
    """One night, from its first cycle on. `tick` waits for the next look at the clock, `steady` is in seconds."""

    def __init__(
        self,
        night: RecordedNight,
        *,
        speed: float = 60.0,
        tick: Callable[[], Awaitable[None]] | None = None,
        steady: Callable[[], float] = time.monotonic,
    ) -> None:
        self.night, self.speed = night, speed
        self.at = night.first
        self.paused = False
        self._tick = tick or (lambda: asyncio.sleep(PACE))
        self._steady = steady
        self._marks = sorted({at for at, _ in night.marks})

    # -- as a source ------------------------------------------------------------------

    async def call(self, method: str, **params: Any) -> Any:
        """Snapshots and the subscription; PastNight for all else."""
        if method == "snapshot":
            return self.night.snapshot(self.at)
        if method == "subscribe":
            return {"ok": True}
        raise PastNight("This night is over: it is only shown, and nothing can be ordered or noted.")

    async def notifications(self) -> AsyncIterator[tuple[str, Any]]:
        """The night as time goes on in it, until the screen leaves."""
        sent, last, told = 0, self._steady(), -BEAT
        while True:
            now = self._steady()
            if not self.paused:
                self.jump(self.at + round((now - last) * 1000 * self.speed))
                self.paused = self.at >= self.night.last
            last = now
            at = self.at
            if at != sent or now - told >= BEAT:
                if at != sent:
                    yield "trend", self.night.part(sent if at > sent else 0, at)
                yield "snapshot", self.night.snapshot(at)
                sent, told = at, now
            await self._tick()

    async def close(self) -> None:
        """Nothing is held open."""

    # -- for the keys -------------------------------------------------------------------

    @property
    def first(self) -> int:
        """UTC ms of its first cycle."""
        return self.night.first

    @property
    def last(self) -> int:
        """UTC ms of its last cycle."""
        return self.night.last

    @property
    def over(self) -> bool:
        """The last cycle is shown."""
        return self.at >= self.night.last

    def pause(self) -> None:
        """Stop, or go on; at the end, begin again."""
        if self.paused and self.over:
            self.jump(self.night.first)
        self.paused = not self.paused

    def faster(self, by: int) -> float:
        """The next of SPEEDS in that direction."""
        i = bisect_left(SPEEDS, self.speed)
        i += by if self.speed in SPEEDS or by < 0 else 0
        self.speed = SPEEDS[min(len(SPEEDS) - 1, max(0, i))]
        return self.speed

    def cycles(self, count: int) -> None:
        """Move `count` cycles forward or back, and stop there."""
        i = min(len(self.night.at) - 1, max(0, self.night.index(self.at) + count))
        self.paused = True
        self.jump(self.night.at[i])

    def jump(self, at: int) -> None:
        """Go to a time of the night, or to its nearer end."""
        self.at = min(self.night.last, max(self.night.first, at))

    def mark(self, by: int) -> int:
        """To the next thing that happened (1) or the one before (-1), and stop there; when it was, 0 if there is
        none."""
        i = bisect_right(self._marks, self.at) if by > 0 else bisect_left(self._marks, self.at) - 1
        if not 0 <= i < len(self._marks):
            return 0
        self.paused = True
        self.jump(self._marks[i])
        return self._marks[i]

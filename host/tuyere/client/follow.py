"""Find an engine, follow it, and find it again when it goes: one way for the screen, the lines of text and the page."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Awaitable, Callable
from typing import Protocol

from tuyere.client.client import EngineEnded
from tuyere.client.source import Connect, Source, as_snapshot, as_trend, why
from tuyere.cook.snapshot import Snapshot, Trend

CLOSE_WITHIN = 2.0  # s


class Viewer(Protocol):
    """Who shows the news."""

    def found(self) -> None:
        """An engine is there; its first snapshot follows."""

    def take_snapshot(self, shot: Snapshot) -> None:
        """The newest snapshot."""

    def take_trend(self, trend: Trend) -> None:
        """New columns of the trend."""

    def lost(self, trouble: str) -> None:
        """There is no engine; `trouble` says why, "" if it has just gone."""

    def take_end(self, words: str) -> None:
        """The engine was ended on purpose."""


class Follower:
    """The way to the engine: `source` while one is followed.

    `connect` finds an engine or starts one, `attach` starts none: it is used after an engine was ended on purpose.
    `trend_after` gives the last cycle that the viewer has. `again` waits before the next try. An error for which
    `fatal` is true ends `run`; after any other it tries again.
    """

    def __init__(
        self,
        viewer: Viewer,
        connect: Connect,
        attach: Connect,
        again: Callable[[], Awaitable[None]],
        trend_after: Callable[[], int],
        fatal: Callable[[Exception], bool] = lambda error: False,
    ) -> None:
        self.source: Source | None = None
        self.ended = False  # the engine, on purpose: none is started until a person asks for it
        self._viewer, self._connect, self._attach = viewer, connect, attach
        self._again, self._trend_after, self._fatal = again, trend_after, fatal

    async def run(self) -> None:
        """Until cancelled, or until a fatal error. The source is always closed."""
        while True:
            try:
                self.source = await (self._attach() if self.ended else self._connect())
                await self._follow(self.source)
                self._viewer.lost("")
            except EngineEnded as error:
                self.ended = True
                self._viewer.take_end(str(error))
            except Exception as error:
                if self._fatal(error):
                    raise
                if not self.ended:  # the screen says already that it was ended
                    self._viewer.lost(why(error))
            finally:
                source, self.source = self.source, None
                if source is not None:
                    with contextlib.suppress(Exception):
                        await asyncio.wait_for(source.close(), CLOSE_WITHIN)
            await self._again()

    async def _follow(self, source: Source) -> None:
        self.ended = False
        self._viewer.found()
        self._viewer.take_snapshot(as_snapshot(await source.call("snapshot")))
        await source.call("subscribe", trend_after=self._trend_after())
        async for name, value in source.notifications():
            if name == "snapshot":
                self._viewer.take_snapshot(as_snapshot(value))
            elif name == "trend":
                self._viewer.take_trend(as_trend(value))
            elif name == "ended":
                raise EngineEnded(value.words)

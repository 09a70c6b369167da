"""What the page knows, kept up to date by one follower of the engine for all browsers."""

from __future__ import annotations

import asyncio
import time
from collections import OrderedDict
from collections.abc import Callable
from datetime import tzinfo
from typing import Any

import msgspec

from tuyere.chart.colours import PLAIN
from tuyere.chart.frame import Picture
from tuyere.chart.history import History
from tuyere.chart.svg import svg
from tuyere.client.client import EngineError
from tuyere.client.follow import Follower
from tuyere.client.source import Connect
from tuyere.cook import ahead, in_short, say
from tuyere.cook.snapshot import Snapshot, Trend
from tuyere.printable import all_printable
from tuyere.web import page_words
from tuyere.web.page_words import PageView

ANSWER_WITHIN = 20.0  # s; the engine gives a board 10 s
AGAIN = 2.0  # s between tries to reach the engine
QUIET = 15.0  # s without a message from the engine until what is shown counts as old
KEPT = 24  # pictures and pages for different readers
WINDOWS = {"1h": 3_600_000, "4h": 4 * 3_600_000, "all": 0}
Who = tuple[str, tzinfo | None, bool]  # units, zone, look-only


class Hub:
    """Follows the engine; `version` counts what is new. Pages and pictures are made once for all readers alike."""

    def __init__(self, connect: Connect, monotonic: Callable[[], float] = time.monotonic) -> None:
        self.shot: Snapshot | None = None
        self.where, self.trouble = "looking", ""
        self.version = 0  # of the words
        self.drawn = 0  # of the trend
        self._monotonic = monotonic
        self._heard = self._moved = monotonic()
        self._history = History()
        self._waiting: set[asyncio.Future[None]] = set()
        self._pages: OrderedDict[Who, tuple[int, dict[str, bytes]]] = OrderedDict()
        self._pictures: OrderedDict[tuple[Any, ...], tuple[tuple[int, int], bytes]] = OrderedDict()
        self.follower = Follower(
            self, connect, connect, lambda: asyncio.sleep(AGAIN), lambda: self._history.last
        )  # fmt: skip

    # -- what a follower tells ------------------------------------------------------------

    def found(self) -> None:
        """An engine is there; its first snapshot follows."""
        self.where, self.trouble = "open", ""

    def take_snapshot(self, shot: Snapshot) -> None:
        """The newest snapshot."""
        now, last = self._monotonic(), self.shot.cycle if self.shot else None
        cycle = shot.cycle
        if cycle is not None and (last is None or (cycle.at, cycle.sequence) != (last.at, last.sequence)):
            self._moved = now
        self._heard, self.shot, self.where = now, shot, "open"
        if shot.cook and self._history.cook is not None and shot.cook.id != self._history.cook:
            self._history.clear(shot.cook.id)
            self.drawn += 1
        self._tell()

    def take_trend(self, trend: Trend) -> None:
        """New columns of the trend."""
        self._heard = self._monotonic()
        if self._history.add(trend):
            self.drawn += 1
            self._tell()

    def lost(self, trouble: str) -> None:
        """There is no engine."""
        where = "lost" if self.shot else "looking"
        if (where, trouble or self.trouble) != (self.where, self.trouble):
            self.where, self.trouble = where, trouble or self.trouble
            self._tell()

    def take_end(self, words: str) -> None:
        """The engine was ended on purpose."""
        self.where, self.trouble = "ended", words
        self._tell()

    def _tell(self) -> None:
        self.version += 1
        self.wake()

    def wake(self) -> None:
        """Let every stream look again."""
        for waiter in self._waiting:
            if not waiter.done():
                waiter.set_result(None)

    # -- what a browser asks -----------------------------------------------------------------

    async def newer(self, version: int, within: float) -> None:
        """Return when there is something newer than `version`, or after `within` s."""
        if version != self.version:
            return
        waiter = asyncio.get_running_loop().create_future()
        self._waiting.add(waiter)
        try:
            await asyncio.wait({waiter}, timeout=within)
        finally:
            self._waiting.discard(waiter)

    def view(self, who: Who) -> PageView:
        """What a reader knows now."""
        now = self._monotonic()
        waited = now - self._heard
        quiet = self.where == "open" and self.shot is not None and waited > QUIET
        units, zone, look = who
        return PageView(
            shot=self.shot, where=self.where, trouble=self.trouble, quiet=quiet, waited=waited,
            unmoved=now - self._moved, units=units, zone=zone, look=look,
        )  # fmt: skip

    def page(self, who: Who) -> dict[str, bytes]:
        """The parts of the page as JSON by their names. The age is not among them."""
        view = self.view(who)
        key = self.version * 2 + view.quiet
        found = self._pages.get(who)
        if found is None or found[0] != key:
            parts = {name: msgspec.json.encode(all_printable(part)) for name, part in page_words.parts(view).items()}
            found = key, parts
            _keep(self._pages, who, found)
        return found[1]

    def picture(self, who: Who, window: str, width: int, height: int) -> bytes:
        """The trend as SVG."""
        key = (who[:2], window, width, height)
        found = self._pictures.get(key)
        version = (self.drawn, self.version if found is None or found[0][0] != self.drawn else found[0][1])
        if found is None or found[0] != version:
            with say.in_zone(who[1]):
                drawn = svg(self._history, self._scene(who, window, width, height), ahead.points(self.shot))
            found = version, drawn.encode()
            _keep(self._pictures, key, found)
        return found[1]

    def _scene(self, who: Who, window: str, width: int, height: int) -> Picture:
        shot = self.shot
        lines = [(0, "pit")]
        for piece in shot.pieces if shot else []:
            if 1 <= piece.probe <= 3 and piece.probe not in [n for n, _ in lines]:
                lines.append((piece.probe, piece.name))
        marks = tuple((event.at, in_short.letter(event)) for event in shot.events) if shot else ()
        return Picture(
            width, height, PLAIN, who[0], WINDOWS.get(window, 0), tuple(lines), marks, ahead=ahead.bands(shot)
        )  # fmt: skip

    async def call(self, method: str, **params: Any) -> Any:
        """Ask the engine; EngineError if it refuses or there is none."""
        if self.follower.source is None:
            raise EngineError("No engine runs now, so nothing can be done from here: look at the pit.")
        try:
            return await asyncio.wait_for(self.follower.source.call(method, **params), ANSWER_WITHIN)
        except TimeoutError:
            raise EngineError("The engine does not answer: look at the pit, and at the screen there.") from None


def _keep(cache: OrderedDict[Any, Any], key: Any, value: Any) -> None:
    """As the newest of a few."""
    cache[key] = value
    cache.move_to_end(key)
    while len(cache) > KEPT:
        cache.popitem(last=False)

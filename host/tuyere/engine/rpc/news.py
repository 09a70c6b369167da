"""What is pushed to a screen that has subscribed: the snapshot, and the cycles it does not have yet."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tuyere.cook import from_rows
from tuyere.cook.snapshot import Snapshot
from tuyere.engine.night.current import Cooking
from tuyere.engine.rpc.server import Screen
from tuyere.logbook import Logbook


class News:
    """Called with a screen; the (name, struct) pairs to push to it."""

    def __init__(self, logbook: Logbook, cooking: Cooking, snapshot: Callable[[], Snapshot]) -> None:
        self._logbook, self._cooking, self._snapshot = logbook, cooking, snapshot

    def __call__(self, screen: Screen) -> list[tuple[str, Any]]:
        """`screen` records what it then has."""
        pushed: list[tuple[str, Any]] = [("snapshot", self._snapshot())]
        cook = self._cooking.cook
        if cook is not None:
            if screen.trend_of not in (0, cook.id):
                screen.wants = 0
            first = screen.trend_of != cook.id
            whole = not screen.wants
            found = self._logbook.reading.trend(cook.id, screen.wants or 0)
            screen.trend_of, screen.wants = cook.id, found.last
            if found.at or first:
                pushed.append(("trend", from_rows.trend(found, whole=whole)))
        return pushed

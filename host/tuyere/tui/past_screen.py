"""The watch screen of a past night: the same panels, clearly marked, with keys that move its clock."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tuyere.tui.actions import PAST
from tuyere.tui.app import WatchApp
from tuyere.tui.handlers import past_night
from tuyere.tui.screens.watch import PastScreen, WatchScreen


class PastApp(WatchApp):
    """Shows what a `replay.player.Player` plays. It finds no engine, and nothing can be ordered."""

    REGISTRY = PAST
    HANDLERS = past_night.HANDLERS

    def __init__(self, player: Any, home: Path, **options: Any) -> None:
        async def connect() -> Any:
            return player

        super().__init__(connect, home, **options)
        self.player = player
        self.view.past = player

    def make_screen(self) -> WatchScreen:
        return PastScreen(self.history)

    def leaving(self) -> str:
        return ""

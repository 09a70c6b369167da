"""Plays a scenario on the watch app without a terminal."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from fake_source import FakeSource
from textual.pilot import Pilot
from tuyere.tui.app import WatchApp

Scenario = Callable[[WatchApp, Pilot[Any], FakeSource], Awaitable[None]]


def text(app: WatchApp) -> str:
    """The screen as plain text, one line a row."""
    return "\n".join(strip.text for strip in app.screen._compositor.render_strips())


async def settle(pilot: Pilot[Any]) -> None:
    """Until all is done that was asked of the screen, and painted."""
    await pilot.pause()


async def press(pilot: Pilot[Any], *keys: str) -> None:
    """Each key when all is done that the one before asked for."""
    for key in keys:
        await pilot.press(key)
    await settle(pilot)


def play(
    scenario: Scenario,
    home: Path,
    *,
    size: tuple[int, int] = (120, 35),
    source: FakeSource | None = None,
    **options: Any,
) -> WatchApp:
    """Run the app with a source that answers, let it settle, run the scenario."""

    async def run() -> WatchApp:
        from_ = source or FakeSource()

        async def connect() -> FakeSource:
            return from_

        async def never() -> None:
            await asyncio.Event().wait()

        options.setdefault("again", never)
        app = WatchApp(options.pop("connect", connect), home, **options)
        async with app.run_test(size=size) as pilot:
            await settle(pilot)
            await scenario(app, pilot, from_)
        return app

    return asyncio.run(run())

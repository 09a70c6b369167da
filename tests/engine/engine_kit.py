"""An engine, and a screen attached to it, for tests with the fake board."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from fake_board import BoardOnTerminal
from hearth.core import fields
from tuyere import paths
from tuyere.client.client import Client
from tuyere.cook.snapshot import Snapshot, Trend
from tuyere.engine.engine import Engine

WITHIN = 60  # s; a loaded machine is slow, not wrong


@contextlib.asynccontextmanager
async def running(home: Path, port: str, forecaster: Sequence[str] = ()) -> AsyncIterator[Engine]:
    engine = Engine(home, port=port, forecaster=forecaster)
    task = asyncio.create_task(engine.run())
    try:
        while not paths.engine_file(home).exists():
            await asyncio.sleep(0)
        yield engine
    finally:
        engine.stop()
        await asyncio.wait_for(task, WITHIN)


@contextlib.asynccontextmanager
async def attached(home: Path) -> AsyncIterator[Client]:
    client = await Client.open(home)
    try:
        await client.call("subscribe")
        yield client
    finally:
        await client.close()


async def seen(client: Client, wanted: Callable[[Snapshot], Any], trends: list[Trend] | None = None) -> Snapshot:
    """The first snapshot with what is wanted."""
    last = None
    try:
        async with asyncio.timeout(WITHIN):
            async for _, news in client.notifications():
                if isinstance(news, Trend):
                    if trends is not None:
                        trends.append(news)
                    continue
                last = news
                if wanted(news):
                    return news
    except TimeoutError:
        pytest.fail(f"not seen within {WITHIN} s; the last was {last}")
    raise AssertionError("the engine has gone")


def without_meat(board: Any) -> Callable[[bool], None]:
    """Take the meat out of a fake board's pit; call what is returned with True to put it on, False to take it off."""
    read, on = board.read, [False]

    def bare(now: Any) -> None:
        read(now)
        if not on[0]:
            now.meat_1 = now.meat_2 = now.meat_3 = fields.ABSENT

    board.read = bare
    return lambda there: on.__setitem__(0, there)


async def again(client: Client, board: BoardOnTerminal) -> None:
    """Another engine finds the board, which answers a hello only well before a cycle: so it goes on one by one."""
    async with asyncio.timeout(60):
        while (await client.snapshot()).link.state != "open":
            board.limit = board.cycles + 1
            await asyncio.sleep(0.1)


async def started(client: Client, board: BoardOnTerminal) -> None:
    """Order a start of a board that stands at its limit. It has the order before it goes on; then it goes on one by one
    until it has answered, which it does only well before a cycle."""
    asked = asyncio.ensure_future(client.call("order", name="start"))
    async with asyncio.timeout(WITHIN):
        while not board.loop.talk.orders:
            await asyncio.sleep(0)
        while not asked.done():
            board.limit = board.cycles + 1
            await asyncio.wait([asked], timeout=0.05)
    assert asked.result()["ok"]

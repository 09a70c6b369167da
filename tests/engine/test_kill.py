"""Killing the engine at any moment loses nothing and doubles nothing: with the real twin, several times."""

from __future__ import annotations

import asyncio
import itertools
import json
import os
import signal
import sys
from pathlib import Path

import pytest
from tuyere import paths
from tuyere.client.client import Client
from tuyere.client.launch import TwinOptions
from tuyere.cook.snapshot import Snapshot
from tuyere.engine.device import twin_process
from tuyere.logbook import Logbook

WITHIN = 40  # s


async def cycles(client: Client, wanted: int) -> Snapshot:
    async with asyncio.timeout(WITHIN):
        await client.call("subscribe")
        async for _, news in client.notifications():
            if isinstance(news, Snapshot) and news.cook is not None and news.cook.cycles >= wanted:
                return news
    raise AssertionError("the engine has gone")


@pytest.mark.skipif(sys.platform == "win32", reason="the twin needs a pseudo-terminal")
def test_killed_again_and_again(tmp_path: Path) -> None:
    twin = TwinOptions(speed=0.0, seed=5)

    async def scene() -> Snapshot:
        stored = 0
        for more in (1, 150, 400, 30):
            client = await Client.open(tmp_path, launch=True, twin=twin)
            stored = (await cycles(client, stored + more)).cook.cycles
            pid = json.loads(paths.engine_file(tmp_path).read_text())["pid"]
            os.kill(pid, signal.SIGKILL)
            async for _ in client.notifications():
                pass  # until the engine is gone
            await client.close()
        client = await Client.open(tmp_path, launch=True, twin=twin)
        last = await cycles(client, stored + 400)
        await client.call("stop")
        async for _ in client.notifications():
            pass
        await client.close()
        return last

    try:
        last = asyncio.run(scene())
    finally:
        twin_process.end(tmp_path)
    assert last.link.missing == 0
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        [cook] = book.cooks.all()  # the same cook went on through all of them
        assert cook.simulated and cook.ended
        [boot] = book.boards.boots(last.link.board)
        assert book.records.stored(boot.board, boot.boot) == book.records.expected(
            boot.board, boot.boot
        )  # from 0, without a hole
        counts = book.reading.counts(cook.id)
        assert counts.missing == 0 and counts.cycles >= 900
        utc = [cycle["utc"] for cycle in book.reading.cycles(cook.id)]
        assert all(1000 <= b - a <= 10_000 for a, b in itertools.pairwise(utc))
        assert book.cores.get(boot.core)["decide.py"]  # the law that ran it can be had again

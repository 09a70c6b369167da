"""The data folder is moved or deleted under a running engine, with a real file and a real pseudo-terminal."""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import sys
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from engine_kit import again, attached, running, seen, started
from fake_board import BoardOnTerminal
from tuyere import paths
from tuyere.client.client import Client
from tuyere.client.launch import TwinOptions
from tuyere.cook.snapshot import Snapshot
from tuyere.engine import logbook_place
from tuyere.engine.device import connection, twin_process
from tuyere.engine.engine import Engine
from tuyere.logbook import Logbook

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
GONE = "The logbook is not at its place"
WITHIN = 60


@pytest.fixture
def board() -> Iterator[BoardOnTerminal]:
    made = BoardOnTerminal()
    yield made
    made.close()


@pytest.fixture(autouse=True)
def quick_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """A logbook that is away is looked for, and what could not be written is tried again, without seconds between."""
    monkeypatch.setattr(logbook_place, "LOOK", 0.1)
    monkeypatch.setattr(connection, "RETRY", 0.1)


def told(board: BoardOnTerminal) -> int:
    """The first sequence that the board has not been told it may forget."""
    return board.loop.ring.first


def alarmed(shot: Snapshot) -> bool:
    return any(alarm.what == GONE for alarm in shot.alarms)


async def begun(client: Client, board: BoardOnTerminal, cycles: int) -> Snapshot:
    await seen(client, lambda s: s.link.state == "open")
    await started(client, board)
    board.limit = cycles
    shot = await seen(client, lambda s: s.cook is not None and s.cook.cycles >= cycles - 5 and s.cycle is not None)
    await until(lambda: told(board) == board.loop.ring.next)  # no word to the board is on its way any more
    return shot


async def until(there: Callable[[], bool]) -> None:
    """Wait until it is so."""
    async with asyncio.timeout(WITHIN):
        while not there():
            await asyncio.sleep(0.01)


def stored(home: Path, board: BoardOnTerminal) -> list[int]:
    with Logbook(paths.logbook_path(home), owner=False) as book:
        found = book._store.rows("SELECT sequence FROM records WHERE boot = ? ORDER BY sequence", (board.board.boot,))
    return [sequence for (sequence,) in found]


def test_nothing_is_acknowledged_while_the_folder_is_away_and_nothing_is_missing_after(
    tmp_path: Path, board: BoardOnTerminal
) -> None:
    home, other = tmp_path / "home", tmp_path / "other"

    async def scene() -> None:
        async with running(home, board.port), attached(home) as client:
            await begun(client, board, 60)
            home.rename(other)
            shot = await seen(client, alarmed)
            [alarm] = [alarm for alarm in shot.alarms if alarm.what == GONE]
            assert alarm.level == "urgent" and "backup" in alarm.checks[0]
            before = told(board)
            board.limit = 160
            await seen(client, lambda s: s.cycle.sequence > 0 and board.cycles >= 160)
            for _ in range(3):  # the write is tried again meanwhile
                await client.snapshot()
                await asyncio.sleep(0.2)
            assert told(board) == before, "acknowledged into a file that nobody will find"
            with pytest.raises(Exception, match="moved, deleted or replaced"):
                await client.call("note", kind="said", text="is anybody there?")
            other.rename(home)
            shot = await seen(client, lambda s: s.cook.cycles >= 150)
            await until(lambda: told(board) > before)  # told once it is stored, which the shot may come before
            assert shot.link.missing == 0

    asyncio.run(scene())
    found = stored(home, board)
    assert found == list(range(found[-1] + 1))  # none missing, from the first on


def test_a_second_engine_on_the_same_home_gets_all_that_the_first_did_not_store(
    tmp_path: Path, board: BoardOnTerminal
) -> None:
    home = tmp_path / "home"

    async def scene() -> None:
        first = Engine(home, port=board.port, forecaster=())
        task = asyncio.create_task(first.run())
        while not paths.engine_file(home).exists():
            await asyncio.sleep(0)
        async with attached(home) as client:
            await begun(client, board, 60)
            before = told(board)
            shutil.rmtree(home)
            await seen(client, alarmed)
            board.limit = 120
        async with running(home, board.port), attached(home) as client:
            await asyncio.wait_for(task, WITHIN)  # it lets the port go by itself
            assert not first.replaced
            await again(client, board)
            await seen(client, lambda s: s.link.recorded >= 50)
        found = stored(home, board)
        assert found[0] <= before and found == list(range(found[0], found[-1] + 1))

    asyncio.run(scene())


def test_a_backup_in_its_place_is_taken_up_and_the_board_gives_what_it_still_holds(
    tmp_path: Path, board: BoardOnTerminal
) -> None:
    home, backup = tmp_path / "home", tmp_path / "backup"

    async def scene() -> None:
        async with running(home, board.port) as first, attached(home) as client:
            await begun(client, board, 60)
            with Logbook(paths.logbook_path(home), owner=False) as book:
                backup.mkdir()
                book._store.db.execute("VACUUM INTO ?", (str(paths.logbook_path(backup)),))
            shutil.rmtree(home)
            await seen(client, alarmed)
            board.limit = 120
            shutil.copytree(backup, home)
            async with asyncio.timeout(WITHIN):
                while not first._ending.is_set():
                    await asyncio.sleep(0.05)
            assert first.replaced
        async with running(home, board.port), attached(home) as client:
            await again(client, board)
            shot = await seen(client, lambda s: s.cook is not None and s.cook.cycles >= 110)
            assert shot.cook.name.startswith("Cook of") and not alarmed(shot)
        found = stored(home, board)
        assert found == list(range(found[-1] + 1))

    asyncio.run(scene())


@asynccontextmanager
async def twin(home: Path) -> AsyncIterator[dict[str, Any]]:
    fresh, trouble = await twin_process.attach(home, TwinOptions(speed=0.0, seed=5))
    assert fresh and not trouble
    said = twin_process.live(home)
    assert said is not None
    try:
        yield said
    finally:
        twin_process.end(home)


def runs(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def test_a_twin_whose_home_is_gone_ends(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()

    async def scene() -> None:
        async with twin(home) as said:
            shutil.rmtree(home)
            async with asyncio.timeout(WITHIN):
                while runs(said["pid"]):
                    await asyncio.sleep(0.1)

    asyncio.run(scene())


def test_a_twin_whose_engine_is_gone_ends(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(twin_process, "ALONE", 2)

    async def scene() -> None:
        async with twin(tmp_path) as said:  # nobody opens its line
            async with asyncio.timeout(WITHIN):
                while runs(said["pid"]):
                    await asyncio.sleep(0.1)

    asyncio.run(scene())
    assert json.loads(paths.twin_file(tmp_path).read_bytes() or b"null") is None

"""The calls of a whole engine: a board that trips, a real HTTP service, a kill, the test before bed."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from calls_kit import SECRET
from engine_kit import WITHIN, attached, running, seen, without_meat
from fake_board import BoardOnTerminal
from hearth.core import fields
from receivers import Web, web
from rendered import words
from tuyere import paths
from tuyere.client.client import Client, EngineError
from tuyere.engine.calls import bedtime, routes
from tuyere.engine.calls.rely import RELIED
from tuyere.engine.calls.routes import Route, Routes
from tuyere.logbook import Logbook
from tuyere.logbook.export import about, write_json


@pytest.fixture
def board() -> Iterator[BoardOnTerminal]:
    made = BoardOnTerminal()
    made.board.trouble = "fan-stuck"
    without_meat(made.board)
    yield made
    made.close()


@pytest.fixture
def service() -> Iterator[Web]:
    with web() as made:
        yield made


@pytest.fixture
def home(tmp_path: Path, service: Web) -> Path:
    phone = Route(name="phone", address=service.address(SECRET), kind="json", units="C")
    routes.write(tmp_path, Routes(routes=[phone]))
    return tmp_path


async def tripped(client: Client, board: BoardOnTerminal) -> None:
    await seen(client, lambda s: s.link.state == "open")
    board.limit = None
    await client.call("order", name="start")
    await seen(client, lambda s: s.cycle is not None and s.cycle.state == "holding")
    board.board.faults = fields.PROBE_OPEN
    await seen(client, lambda s: any(a.code == "trip_probe" for a in s.alarms))
    board.limit = 0


async def got(service: Web, count: int) -> None:
    async with asyncio.timeout(WITHIN):
        while len(service.got) < count:
            await asyncio.sleep(0.01)


def test_a_trip_calls_and_a_restart_of_the_engine_does_not_call_again(
    home: Path, board: BoardOnTerminal, service: Web
) -> None:
    async def scene() -> None:
        async with running(home, board.port), attached(home) as client:
            await tripped(client, board)
            await got(service, 1)
            shot = await seen(client, lambda s: s.waking.calling)
            assert shot.waking.asked and not shot.waking.watched and shot.waking.routes == 1

    async def again() -> None:
        async with running(home, board.port) as engine, attached(home) as client:
            await seen(client, lambda s: s.waking.calling)
            async with asyncio.timeout(WITHIN):  # what became of the message that was on its way
                while engine.watching.calls.flights:
                    await asyncio.sleep(0.01)
            for _ in range(20):
                engine.tick()
            said = await client.call("awake")
            assert "silent for 15 min" in words(said["words"])
            await seen(client, lambda s: s.waking.silent and not s.waking.calling)

    asyncio.run(scene())
    asyncio.run(again())
    titles = [one["title"] for one in service.got]
    assert titles.count("PRACTICE: Tripped: the pit cannot be read") == 1
    with Logbook(paths.logbook_path(home), owner=False) as book:
        steps = [(one.code, one.step) for one in book.calls.of(1)]
        for step in ("raised", "sending", "accepted"):
            assert steps.count(("trip_probe", step)) == 1
        assert ("", "silenced") in steps
        assert len(about(book, 1)["calls"]) == len(steps)
        with open(home / "export.json", "w") as out:
            write_json(book, 1, out)
    for file in home.rglob("*"):
        if file.is_file() and file != paths.wake_file(home):
            assert SECRET.encode() not in file.read_bytes(), file


def test_an_ordinary_simulated_cook_calls_nobody(home: Path, board: BoardOnTerminal, service: Web) -> None:
    board.board.trouble = ""

    async def scene() -> None:
        async with running(home, board.port) as engine, attached(home) as client:
            await tripped(client, board)
            for _ in range(20):
                engine.tick()
            shot = await client.snapshot()
            assert not shot.waking.asked and not shot.waking.calling
            with pytest.raises(EngineError, match="no cook is open that calls"):
                await client.call("wake_test")

    asyncio.run(scene())
    assert service.got == []
    with Logbook(paths.logbook_path(home), owner=False) as book:
        assert book.calls.of(1) == []


def test_a_night_is_watched_once_a_call_has_woken_somebody(
    home: Path, board: BoardOnTerminal, service: Web, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bedtime, "AFTER", 0)

    async def call(client: Client, digits: str, sounded: bool) -> dict[str, Any]:
        answer: dict[str, Any] = await client.call("wake_answer", digits=digits, sounded=sounded)
        return answer

    async def scene() -> None:
        async with running(home, board.port), attached(home) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            with pytest.raises(EngineError, match="no cook is open"):
                await client.call("wake_test")
            await client.call("order", name="start")
            await seen(client, lambda s: any(e.kind == "started" for e in s.events))
            await client.call("wake_test")
            await got(service, 1)
            [message] = service.got
            digits = message["title"][-4:]
            assert digits.isdigit() and message["type"] == "failure" and digits in message["message"]
            other = f"{(int(digits) + 1) % 10000:04d}"
            with pytest.raises(EngineError, match="no route brought these digits"):
                await call(client, other, True)
            silent = await call(client, digits, False)
            assert not silent["ok"] and "nothing sounded" in words(silent["words"])
            await client.call("wake_test")
            await got(service, 2)
            done = await call(client, service.got[1]["title"][-4:], True)
            assert done["ok"]
            await seen(client, lambda s: s.waking.watched)

    async def again() -> None:
        async with running(home, board.port), attached(home) as client:
            await seen(client, lambda s: s.waking.watched)
            routes.write(home, Routes())  # the route that woke is gone
            await seen(client, lambda s: not s.waking.watched)

    asyncio.run(scene())
    asyncio.run(again())
    board.limit = 0


def test_the_board_is_told_that_somebody_relies_on_this_computer(
    home: Path, board: BoardOnTerminal, service: Web
) -> None:
    async def scene() -> None:
        async with running(home, board.port) as engine, attached(home) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            await client.call("order", name="start")
            async with asyncio.timeout(WITHIN):
                while not board.loop.memory.relied:
                    await asyncio.sleep(0.01)
            assert board.loop.memory.relied == RELIED
            routes.write(home, Routes())
            engine.watching._looked = float("-inf")
            async with asyncio.timeout(WITHIN):
                while board.loop.memory.relied:
                    await asyncio.sleep(0.01)
            board.limit = 0

    asyncio.run(scene())

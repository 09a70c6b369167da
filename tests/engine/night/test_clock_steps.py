"""The computer's clock is changed in the night: no record leaves the cook, and all times stay one night."""

from __future__ import annotations

import asyncio
import contextlib
import itertools
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import Any

import pytest
from engine_kit import again, attached, seen
from fake_board import BoardOnTerminal
from tuyere import paths
from tuyere.client.client import Client
from tuyere.cook.snapshot import Snapshot, Trend
from tuyere.engine.engine import Engine
from tuyere.logbook import Logbook, LogbookError, rows

UTC = 1_778_000_000_000
HOUR = 3_600_000
SLACK = 1_000  # ms; half of each round trip is real time
TWO = 2 * HOUR


class Time:
    """Clocks that go with the board's time, so that a fast board is not ahead of them; the wall clock can be set."""

    def __init__(self, board: BoardOnTerminal) -> None:
        self._board = board.board
        self._passed = 0
        self.set_by = 0

    def wall(self) -> int:
        self._passed = self._board.begun + self._board.clock
        return UTC + self._passed + self.set_by

    def lasting(self) -> float:
        return self._passed / 1000


@pytest.fixture
def board() -> Iterator[BoardOnTerminal]:
    made = BoardOnTerminal(simulated=False)
    yield made
    made.close()


@contextlib.asynccontextmanager
async def engine(home: Path, board: BoardOnTerminal, time: Time) -> AsyncIterator[Engine]:
    made = Engine(home, port=board.port, forecaster=(), wall=time.wall, lasting=time.lasting)
    task = asyncio.create_task(made.run())
    try:
        while not paths.engine_file(home).exists():
            await asyncio.sleep(0)
        yield made
    finally:
        made.stop()
        await asyncio.wait_for(task, 60)


async def on(client: Client, board: BoardOnTerminal, cycles: int, trends: list[Trend] | None = None) -> Snapshot:
    """Let the board run on by so many cycles and see them all stored."""
    shot = await client.snapshot()
    had = shot.cook.cycles if shot.cook is not None else 0
    board.limit = board.cycles + cycles
    return await seen(client, lambda s: s.cook is not None and s.cook.cycles >= had + cycles, trends)


async def begin(client: Client, board: BoardOnTerminal) -> None:
    await seen(client, lambda s: s.link.state == "open")
    await client.call("cook_start", name="Saturday")
    await on(client, board, 60)
    await client.call("note", kind="meat_on")


def one_night(home: Path, made: int, steps: list[float], kinds: tuple[str, ...]) -> Any:
    """What is stored: every cycle once, 2 s apart, all of the cook; the steps as events; notes where they belong."""
    with Logbook(paths.logbook_path(home), owner=False) as book:
        [cook] = book.cooks.all()
        trend = book.reading.trend(cook.id)
        assert len(trend.at) == made and book.reading.counts(cook.id).missing == 0
        # a cycle may pass between a hello and the look at the wall clock here, so a pair is off by one at most
        assert all(0 < later - at <= 2 * 2000 + SLACK for at, later in itertools.pairwise(trend.at))
        assert abs(trend.at[-1] - trend.at[0] - 2000 * (made - 1)) <= 4000 + SLACK
        assert cook.started - SLACK <= trend.at[0] < cook.started + 4000
        events = book.events.of(cook.id)[::-1]
        assert [event.value for event in events if event.kind.startswith("clock_")] == pytest.approx(steps, abs=5)
        assert [event.kind for event in events if event.kind in ("said", *kinds)] == list(kinds)
        assert all(cook.started <= event.at <= event.noted <= trend.at[-1] + 4000 for event in events)
        on_at = next(event.at for event in events if event.kind == "meat_on")
        assert cook.meat_on == on_at and abs(on_at - trend.at[59]) <= 4000  # the meat went on after 60 cycles
        return cook


@pytest.mark.parametrize("by", [-TWO, TWO])
def test_two_hours_back_or_forward(tmp_path: Path, board: BoardOnTerminal, by: int) -> None:
    time = Time(board)

    async def scene() -> None:
        trends: list[Trend] = []
        async with engine(tmp_path, board, time), attached(tmp_path) as client:
            await begin(client, board)
            time.set_by = by
            await on(client, board, 60, trends)
            await client.call("note", kind="said", text="after")
            shot = await on(client, board, 30, trends)
            assert shot.now == time.wall() and shot.cook.started < shot.cook.meat_on < shot.now
            assert not any(alarm.code == "records_lost" for alarm in shot.alarms)
            [whole] = [trend for trend in trends if trend.whole and abs(trend.at[0] - UTC - by) < HOUR]
            assert len(whole.at) >= 60  # the screen is sent the moved night again

    asyncio.run(scene())
    cook = one_night(tmp_path, board.cycles, [by / 1000], ("meat_on", "clock_changed", "said"))
    assert abs(cook.started - UTC - by) < 10_000


def test_back_and_forward_again_is_as_it_was(tmp_path: Path, board: BoardOnTerminal) -> None:
    time = Time(board)

    async def scene() -> None:
        async with engine(tmp_path, board, time), attached(tmp_path) as client:
            await begin(client, board)
            for time.set_by in (-TWO, 0):
                await on(client, board, 60)

    asyncio.run(scene())
    cook = one_night(tmp_path, board.cycles, [-TWO / 1000, TWO / 1000], ("meat_on", "clock_changed", "clock_changed"))
    assert abs(cook.started - UTC) < 10_000


def test_a_logbook_that_cannot_be_read_right_after_a_step_moves_its_times_once(
    tmp_path: Path, board: BoardOnTerminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    time = Time(board)
    refused: list[int] = []

    async def scene() -> None:
        async with engine(tmp_path, board, time) as made, attached(tmp_path) as client:
            await begin(client, board)
            real = made.logbook.reading.trend

            def trend(cook: int, after: int = 0) -> rows.Trend:
                if not after and len(refused) < 3:
                    refused.append(cook)
                    raise LogbookError("it cannot be read at present")
                return real(cook, after)

            monkeypatch.setattr(made.logbook.reading, "trend", trend)
            time.set_by = -TWO
            await on(client, board, 60)

    asyncio.run(scene())
    one_night(tmp_path, board.cycles, [-TWO / 1000], ("meat_on", "clock_changed"))
    assert len(refused) == 3


@pytest.mark.parametrize("by", [-TWO, TWO])
def test_while_no_engine_ran(tmp_path: Path, board: BoardOnTerminal, by: int) -> None:
    time = Time(board)

    async def before() -> None:
        async with engine(tmp_path, board, time), attached(tmp_path) as client:
            await begin(client, board)
            await on(client, board, 10)

    async def after() -> None:
        async with engine(tmp_path, board, time), attached(tmp_path) as client:
            await again(client, board)
            await on(client, board, 60)
            await client.call("note", kind="said", text="after")

    asyncio.run(before())
    time.set_by = by
    asyncio.run(after())
    cook = one_night(tmp_path, board.cycles, [by / 1000], ("meat_on", "clock_changed", "said"))
    assert abs(cook.started - UTC - by) < 10_000


def test_twice_with_a_restart_in_between(tmp_path: Path, board: BoardOnTerminal) -> None:
    time = Time(board)

    async def before() -> None:
        async with engine(tmp_path, board, time), attached(tmp_path) as client:
            await begin(client, board)
            time.set_by = -TWO
            await on(client, board, 60)

    async def after() -> None:
        async with engine(tmp_path, board, time), attached(tmp_path) as client:
            await again(client, board)
            await on(client, board, 60)
            time.set_by = -2 * TWO
            await on(client, board, 60)

    asyncio.run(before())
    asyncio.run(after())
    one_night(tmp_path, board.cycles, [-TWO / 1000] * 2, ("meat_on", "clock_changed", "clock_changed"))


def test_where_the_board_restarted_too_the_times_are_marked(tmp_path: Path, board: BoardOnTerminal) -> None:
    time = Time(board)

    async def before() -> None:
        async with engine(tmp_path, board, time), attached(tmp_path) as client:
            await begin(client, board)

    async def after() -> None:
        async with engine(tmp_path, board, time), attached(tmp_path) as client:
            await again(client, board)
            await on(client, board, 60)

    asyncio.run(before())
    time.set_by = -TWO
    board.limit = board.cycles
    board.restart(8)
    asyncio.run(after())
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        [cook] = book.cooks.all()
        rows = list(book.reading.cycles(cook.id))
        assert len(rows) == board.cycles
        assert [row["boot"] for row in rows] == [7] * 60 + [8] * (len(rows) - 60)
        assert [row["estimated"] for row in rows] == [True] * 60 + [False] * (len(rows) - 60)
        assert all(later["utc"] >= row["utc"] - SLACK for row, later in itertools.pairwise(rows))
        [marked] = [event for event in book.events.of(cook.id) if event.kind == "clock_doubtful"]
        assert marked.value is not None and -TWO / 1000 - 10 <= marked.value <= -TWO / 1000 + 600
        # marked as estimated: the first hello of the new boot may come a cycle (2 s) after the cycle it is dated by
        assert cook.started < cook.meat_on <= rows[60]["utc"] + 2000 + SLACK

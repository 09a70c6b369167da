"""The forecast's worker: asked in measure, never waited for, started again, and what it says is kept and shown."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Coroutine
from pathlib import Path
from typing import Any

import pytest
from engine_kit import attached, running, seen
from fake_board import BoardOnTerminal
from tuyere.cook import kitchen as kitchens
from tuyere.engine.engine import Engine
from tuyere.engine.night.minutes import Minutes
from tuyere.engine.outlook.worker import AGAIN, EVERY, FRESH, OLD, Fell, Forecasts, Worker
from tuyere.forecast.exchange import Ahead, Known, KnownPiece, Note
from tuyere.logbook import Logbook
from tuyere.logbook.rows import Trend

NOW = 1_778_000_000_000
HOUR = 3_600_000


def fake(manner: str) -> tuple[str, ...]:
    return (sys.executable, str(Path(__file__).parent / "fake_forecaster.py"), manner)


class Made:
    """`Forecasts` around a real fake process, with a clock that a test moves."""

    def __init__(self, manner: str, patience: float = 60.0) -> None:
        self.worker = Worker(fake(manner), patience)
        self.now, self.said = 0.0, list[str]()
        self.taken, self.tasks = list[tuple[int, Ahead]](), list[asyncio.Task[Any]]()
        self.it = Forecasts(
            self.worker, lambda cook, ahead: self.taken.append((cook, ahead)), self.task, lambda: self.now,
            self.said.append,
        )  # fmt: skip

    def task(self, work: Coroutine[Any, Any, Any]) -> None:
        self.tasks.append(asyncio.get_running_loop().create_task(work))

    async def done(self) -> None:
        tasks, self.tasks = self.tasks, []
        await asyncio.gather(*tasks)

    async def ask(self, at: int, took: float = 0.0) -> None:
        self.it.ask(Known(now=at, pieces=[KnownPiece(id=1, name="Alder")]))
        await asyncio.sleep(0)  # the question is on its way
        self.now += took
        await self.done()


def test_one_question_a_minute_of_the_cooks_clock() -> None:
    async def scene() -> None:
        made = Made("good")
        assert not made.it.due(0, NOW) and made.it.due(1, NOW)
        made.it.ask(Known(now=NOW))
        assert not made.it.due(1, NOW + 10 * EVERY)  # the answer is not there yet
        await made.done()
        assert [cook for cook, _ in made.taken] == [1]
        assert not made.it.due(1, NOW + EVERY - 1) and made.it.due(1, NOW + EVERY)
        assert made.it.due(1, NOW - 1)  # a clock that was set back
        assert made.it.due(2, NOW)  # another cook
        await made.it.close()

    asyncio.run(scene())


def test_a_slow_answer_is_paid_for_by_a_longer_wait() -> None:
    async def scene() -> None:
        made = Made("good")
        assert made.it.due(1, NOW)
        await made.ask(NOW, took=20.0)
        made.now = 59.9
        assert not made.it.due(1, NOW + 10 * EVERY)  # a third of the time at most
        made.now = 60.0
        assert made.it.due(1, NOW + 10 * EVERY)
        await made.it.close()

    asyncio.run(scene())


@pytest.mark.parametrize("manner", ["dies", "garbage", "lost"])
def test_a_worker_that_fails_is_started_again_later_and_said_once(manner: str) -> None:
    async def scene() -> None:
        made = Made(manner)
        waits = []
        for _ in range(10):
            assert made.it.due(1, NOW)
            await made.ask(NOW)
            assert not made.worker.runs
            began = made.now
            while not made.it.due(1, NOW):
                made.now += 1.0
            waits.append(made.now - began)
        assert waits[:3] == [AGAIN[0], 2 * AGAIN[0], 4 * AGAIN[0]] and waits[-1] == AGAIN[1]
        assert len(made.said) == 1 and made.taken == []
        assert ("the wind took it" in made.said[0]) == (manner == "dies")

    asyncio.run(scene())


def test_after_a_good_answer_a_death_is_said_again() -> None:
    async def scene() -> None:
        made = Made("dies second")
        for i in range(4):
            made.now += AGAIN[1]
            assert made.it.due(1, NOW + i * EVERY)
            await made.ask(NOW + i * EVERY)
        assert len(made.taken) == 2 and len(made.said) == 2
        await made.it.close()

    asyncio.run(scene())


def test_a_worker_that_says_nothing_is_ended() -> None:
    async def scene() -> None:
        worker = Worker(fake("silent"), patience=0.0)
        with pytest.raises(Fell, match="no answer"):
            await worker.ask(b"{}")
        assert not worker.runs
        with pytest.raises(Fell):
            await Worker((str(Path(__file__)) + " is no program",)).ask(b"{}")

    asyncio.run(scene())


def test_an_answer_for_a_cook_that_has_ended_is_dropped_and_the_worker_rests() -> None:
    async def scene() -> None:
        made = Made("good")
        assert made.it.due(1, NOW)
        made.it.ask(Known(now=NOW))
        assert not made.it.due(0, NOW)  # the cook ends while the worker works
        await made.done()
        assert made.taken == [] and not made.worker.runs
        assert made.it.due(2, NOW)
        await made.ask(NOW)
        assert not made.it.due(0, NOW)
        await made.done()
        assert not made.worker.runs

    asyncio.run(scene())


def test_without_a_fresh_answer_the_windows_to_wrap_are_there() -> None:
    async def scene() -> None:
        made = Made("good")
        piece = KnownPiece(id=1, name="Alder", on_at=NOW - 5 * HOUR, notes=[Note(NOW, "shade", 5.0)])
        known = Known(now=NOW, pieces=[piece])
        bare = made.it.shown(known).pieces[0]
        assert bare.finish is None and bare.wrap is not None and bare.wrap_words
        made.it.due(1, NOW)
        await made.ask(NOW)
        assert made.it.shown(known).pieces[0].finish is not None
        known.now += OLD
        assert made.it.shown(known).pieces[0].finish is not None  # a fast twin's clock has run on
        made.now += FRESH
        assert made.it.shown(known).pieces[0].finish is None
        await made.it.close()

    asyncio.run(scene())


def test_minutes_are_means_and_may_come_late() -> None:
    minutes = Minutes()
    at = NOW // 60_000 * 60_000

    def add(times: list[int], pit: list[float | None], meat: list[float | None]) -> None:
        n = len(times)
        none: list[float | None] = [None] * n
        minutes.add(
            Trend(
                cook=1,
                last=0,
                at=times,
                pit=pit,
                fan=[0.5] * n,
                low=[120.0] * n,
                high=[135.0] * n,
                meat_1=meat,
                meat_2=none,
                meat_3=none,
                ambient=none,
            )
        )

    add([at + 60_000, at + 62_000], [100.0, 102.0], [10.0, 10.2])
    add([at + 2_000], [90.0], [None])  # the night before this one came
    add([at + 64_000], [None], [None])
    found = minutes.columns()
    assert found.at == [at + 2_000, at + 64_000] and found.pit == [90.0, 101.0]
    assert found.meats[0] == [None, 10.1] and found.meats[1] == [None, None] and found.fan == [0.5, 0.5]


def test_what_is_expected_is_shown_and_kept(tmp_path: Path) -> None:
    board = BoardOnTerminal()

    async def scene() -> None:
        async with running(tmp_path, board.port, fake("good")) as engine, attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = 600
            await client.call("order", name="start")
            await seen(client, lambda s: s.cycle is not None and s.cycle.state != "off")  # without a fire none is kept
            piece = (await client.call("piece_add", name="Alder", cut="packer", mass=6.0, flat=0.05))["id"]
            await client.call("kitchen_change", cooker="drum", fuel=8.0)
            shot = await seen(client, lambda s: s.pieces and s.pieces[0].finish_likely and s.fuel_likely)
            one = shot.pieces[0]
            assert one.finish_early < one.finish_likely < one.finish_late and one.flat == 0.05
            assert one.expected and one.expected[0].startswith(tuple("123456789"))
            assert shot.fuel_left == 3.5 and shot.fuel_words == "Enough." and shot.kitchen.cooker == "drum"
            assert [f.piece for f in shot.forecasts] == [piece] and len(shot.forecasts[0].mid) == 2
            await client.call("note", kind="in_box", piece=piece)
            board.limit = 1200
            boxed = await seen(client, lambda s: s.pieces[0].hold_until)
            assert not boxed.pieces[0].finish_likely and not boxed.forecasts
            worker = engine.expected._forecasts._worker
            assert worker.runs
            board.limit = None  # the end is seen in a record
            await client.call("cook_end")
            await seen(client, lambda s: s.cook.ended and not s.pieces[0].expected)
            while worker.runs:
                await asyncio.sleep(0)

    try:
        asyncio.run(scene())
    finally:
        board.close()
    with Logbook(tmp_path / "logbook.sqlite", owner=False) as book:
        cook = book.cooks.all()[-1].id
        assert {f.kind for f in book.forecasts.of(cook)} == {"finish", "fuel", "hold"}
        assert all(f.early <= f.likely <= f.late for f in book.forecasts.of(cook))


def test_a_kitchen_is_checked_and_goes_on_to_the_next_real_cook(tmp_path: Path) -> None:
    async def scene() -> None:
        made = Engine(tmp_path, port="none", wall=lambda: NOW, forecaster=())
        made.board.link.board = "board-1"
        cook = made.cooking.begin("first")
        change = made.desk.methods()["kitchen_change"]
        await change(cooker="ceramic", fuel=5.0, altitude=1500, use="trade", region="uk", lead=60, hold="low oven")
        assert kitchens.limit(made.cooking.kitchen).c == 63.0
        for name, wrong in (("cooker", "kiln"), ("fuel", -1), ("altitude", 9000), ("lead", 10), ("hold", "car"),
                            ("use", "army"), ("colour", "red")):  # fmt: skip
            with pytest.raises(Exception, match=r"is out of range|is not known|has no"):
                await change(**{name: wrong})
        made.logbook.cooks.end(cook, NOW)
        made.cooking.begin("second")
        kitchen = made.cooking.kitchen
        assert (kitchen.cooker, kitchen.altitude, kitchen.use, kitchen.fuel) == ("ceramic", 1500, "trade", None)
        made.logbook.close()

    asyncio.run(scene())

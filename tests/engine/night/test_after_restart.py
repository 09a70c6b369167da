"""A board that restarts in a cook: told again what it lost, said in the log, and never started by the engine."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest
from engine_kit import attached, running, seen
from fake_board import BoardOnTerminal
from rendered import words
from tuyere import paths
from tuyere.client.client import Client
from tuyere.engine.night import orders
from tuyere.link.session import Answer
from tuyere.logbook import Logbook

pytestmark = pytest.mark.usefixtures("quick_beat")


@pytest.fixture
def board() -> Any:
    made = BoardOnTerminal()
    yield made
    made.close()


async def held(client: Client, board: BoardOnTerminal) -> None:
    await seen(client, lambda s: s.link.state == "open")
    board.limit = None
    await client.call("order", name="start")
    await seen(client, lambda s: s.cycle and s.cycle.state == "holding")


def told_again(shot: Any) -> list[str]:
    return [words(event.text) for event in shot.events if event.kind == "told_again"]


def test_band_and_settings_it_had_acknowledged_are_sent_again_to_a_board_without_a_flash(
    tmp_path: Path, board: BoardOnTerminal
) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await held(client, board)
            await client.call("order", name="band", low=110, high=120)
            await client.call("order", name="settings", values={"gain": 5.5, "ceiling": 80})
            await seen(client, lambda s: s.cycle.low == 110)
            board.restart(8)
            off = await seen(client, lambda s: s.link.boot == 8 and told_again(s))
            assert told_again(off) == ["settings gain, ceiling"]
            assert board.loop.settings.gain == 550 and board.loop.settings.ceiling == 8000
            assert any("restarted" in alarm.what for alarm in off.alarms)
            later = await seen(client, lambda s: s.cycle.sequence > 100)
            assert later.cycle.state == "off" and later.cycle.fan == 0  # a person starts it, nobody else
            answer = await client.call("order", name="start")
            assert answer["ok"] and "the programme, band 110-120 C" in words(answer["words"])
            on = await seen(client, lambda s: s.cycle.state != "off")
            assert (on.cycle.low, on.cycle.high) == (110, 120)
            board.limit = 0

    asyncio.run(scene())


def test_an_engine_that_is_killed_before_it_told_the_board_still_does(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def before() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await held(client, board)
            await client.call("order", name="settings", values={"gain": 5.5})
            await seen(client, lambda s: s.cycle.sequence > 100)

    async def after() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            assert told_again(await seen(client, lambda s: s.link.boot == 8 and told_again(s))) == ["settings gain"]
            board.limit = 0

    asyncio.run(before())
    board.restart(8)
    asyncio.run(after())
    assert board.loop.settings.gain == 550


def test_what_it_does_not_take_again_alarms_keeps_no_pit_cold_and_is_tried_again(
    tmp_path: Path, board: BoardOnTerminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(orders, "AGAIN", 0.0)

    async def scene() -> None:
        async with running(tmp_path, board.port) as engine, attached(tmp_path) as client:
            await held(client, board)
            await client.call("order", name="settings", values={"gain": 5.5})
            order = engine.board.order

            async def stubborn(name: str, **arguments: Any) -> Answer:
                if name == "settings":
                    return Answer(0, name, False, "out_of_range")
                return await order(name, **arguments)

            monkeypatch.setattr(engine.board, "order", stubborn)
            board.restart(8)
            shot = await seen(client, lambda s: any("did not take it again" in a.what for a in s.alarms))
            alarm = next(a for a in shot.alarms if "did not take it again" in a.what)
            assert alarm.level == "urgent" and "settings gain: a number is out of the range" in words(alarm.why)
            started = await client.call("order", name="start")
            assert started["ok"] and "It did not take all it had before: settings gain" in words(started["words"])
            await seen(client, lambda s: s.cycle.state != "off")
            monkeypatch.setattr(engine.board, "order", order)
            await seen(client, told_again)
            await client.call("alarm_acknowledge", id=alarm.id)
            await seen(client, lambda s: alarm.id not in {a.id for a in s.alarms})
            board.limit = 0

    asyncio.run(scene())
    assert board.loop.settings.gain == 550


def test_a_board_that_keeps_its_cook_goes_on_by_itself_and_is_told_nothing(tmp_path: Path) -> None:
    board = BoardOnTerminal()
    board.board.folder = str(tmp_path / "flash")
    (tmp_path / "flash").mkdir()
    board.restart(7)  # now with its flash

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await held(client, board)
            await client.call("order", name="band", low=110, high=120)
            await client.call("order", name="settings", values={"gain": 5.5})
            await seen(client, lambda s: s.cycle.low == 110 and s.cycle.pit < 122)
            board.restart(8)
            on = await seen(client, lambda s: s.link.boot == 8 and s.cycle and s.cycle.resume == "resumed" and s.alarms)
            on = await seen(client, lambda s: any(e.kind == "resumed" for e in s.events))
            assert (on.cycle.low, told_again(on)) == (110, []) and board.loop.settings.gain == 550
            assert {"board_restarted", "resumed"} <= {event.kind for event in on.events}
            alarm = next(a for a in on.alarms if a.what.endswith("went on by itself"))
            assert all("holds nothing" not in a.what for a in on.alarms)
            await client.call("alarm_acknowledge", id=alarm.id)  # on the board too, else it would stand for ever
            await seen(client, lambda s: not s.cycle.resume and alarm.id not in {a.id for a in s.alarms})
            board.limit = 0

    try:
        asyncio.run(scene())
    finally:
        board.close()


def test_what_the_board_says_of_its_program_is_logged_and_alarms(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await held(client, board)
            board.loop.talk.notice("the board's program failed: MemoryError()")
            shot = await seen(client, lambda s: any("program has failed" in a.what for a in s.alarms))
            alarm = next(a for a in shot.alarms if "program has failed" in a.what)
            assert alarm.level == "urgent" and "MemoryError" in words(alarm.why) and alarm.checks
            await client.call("alarm_acknowledge", id=alarm.id)
            await seen(client, lambda s: not s.alarms)
            board.limit = 0

    asyncio.run(scene())
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        [said] = [event for event in book.events.of(book.cooks.all()[0].id) if event.kind == "board_says"]
    assert said.text == "the board's program failed: MemoryError()" and said.source.startswith("fake-1/7/")

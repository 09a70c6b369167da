"""A second cook before the same board; what is counted is the cook's; openings and the port are told."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any

import pytest
from engine_kit import attached, running, seen, without_meat
from fake_board import BoardOnTerminal
from tuyere import paths
from tuyere.client.client import Client, EngineError
from tuyere.engine.device import connection as boards
from tuyere.engine.engine import Engine
from tuyere.logbook import Logbook


@pytest.fixture
def board() -> Any:
    made = BoardOnTerminal()
    yield made
    made.close()


async def begin(client: Client, board: BoardOnTerminal) -> None:
    await seen(client, lambda s: s.link.state == "open")
    board.limit = None
    assert (await client.call("order", name="start"))["ok"]


async def another_engine(home: Path, board: BoardOnTerminal) -> None:
    """A later engine reads the same cook on for a while."""
    async with running(home, board.port), attached(home) as client:
        shot = await seen(client, lambda s: s.link.state == "open")
        await seen(client, lambda s: s.cook.cycles > shot.cook.cycles + 100)
        board.limit = 0


def test_a_second_cook_is_not_told_that_the_meat_is_on(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        put_on = without_meat(board.board)
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await begin(client, board)
            put_on(True)
            first = await seen(client, lambda s: s.cook and s.cook.meat_on)
            assert first.link.recorded >= first.cook.cycles > 0
            await client.call("cook_end")
            await client.call("order", name="start")
            second = await seen(client, lambda s: s.cook.id == 2 and s.cook.cycles > 200)
            assert second.cycle.meats[0] is not None and not second.cook.meat_on
            assert second.cook.cycles <= second.link.recorded < second.cook.cycles + 20  # not those of the first
            put_on(False)
            await seen(client, lambda s: s.cycle.meats[0] is None)
            put_on(True)
            there = await seen(client, lambda s: s.cook.meat_on)
            assert there.last_note is None  # nobody noted it, so nobody can take it back
            board.limit = 0

    asyncio.run(scene())


def test_a_piece_that_a_twins_hands_take_out_is_out_once_through_engines(
    tmp_path: Path, board: BoardOnTerminal
) -> None:
    async def first() -> None:
        put_on = without_meat(board.board)
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await begin(client, board)
            await client.call("piece_add", name="Ash", cut="packer", mass=5.0, probe=1)
            await client.call("piece_add", name="Beech", cut="packer", mass=5.0)  # no probe: nobody knows
            put_on(True)
            shot = await seen(client, lambda s: s.cook.meat_on and s.cycle.meats[0] is not None)
            assert [piece.place for piece in shot.pieces] == ["pit", "pit"]
            put_on(False)
            shot = await seen(client, lambda s: s.pieces and s.pieces[0].place == "out")
            out = next(event for event in shot.events if event.kind == "out")
            assert (out.by, out.piece, out.text) == ("twin", shot.pieces[0].id, "taken out by the twin")
            assert shot.cook.meat_on <= out.at <= shot.now and shot.last_note is None
            assert shot.pieces[1].place == "pit"
            with pytest.raises(EngineError, match="no note"):
                await client.call("note_undo", id=out.id)

    asyncio.run(first())
    asyncio.run(another_engine(tmp_path, board))
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        assert [event.kind for event in book.events.of(1)].count("out") == 1


def test_what_a_twin_says_its_hands_do_is_noted_in_its_time_once(tmp_path: Path, board: BoardOnTerminal) -> None:
    nonsense = [7, ["wrapped"], ["burnt", 30, 0, ""], ["wrapped", "soon", 0, "paper"], ["wrapped", 120, 1, "foil"]]
    told = [["spritzed", 100, 0, ""], *nonsense, ["wrapped", 200, 0, "paper"], ["spritzed", 90_000, 0, ""]]
    board.board.hands = told  # the foil is for the first piece of another cook's plan

    async def first() -> None:
        put_on = without_meat(board.board)
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await begin(client, board)
            await client.call("piece_add", name="Ash", cut="packer", mass=5.0, probe=1)
            await client.call("piece_add", name="Beech", cut="packer", mass=5.0)  # not in the twin's pit
            put_on(True)
            shot = await seen(client, lambda s: s.pieces and s.pieces[0].wrap == "paper")
            assert shot.pieces[1].wrap == ""
            wrapped = next(event for event in shot.events if event.kind == "wrapped")
            spritzed = next(event for event in shot.events if event.kind == "spritzed")
            assert (wrapped.by, wrapped.at) == ("twin", shot.cook.meat_on + 200_000)
            assert (spritzed.by, spritzed.at, spritzed.piece) == ("twin", shot.cook.meat_on + 100_000, 0)

    asyncio.run(first())
    asyncio.run(another_engine(tmp_path, board))
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        kinds = [event.kind for event in book.events.of(1)]
        assert (kinds.count("wrapped"), kinds.count("spritzed")) == (1, 1)


@pytest.mark.usefixtures("quick_beat")
def test_counts_and_events_are_those_of_the_cook_through_boots_and_engines(
    tmp_path: Path, board: BoardOnTerminal
) -> None:
    async def first() -> int:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await begin(client, board)
            await seen(client, lambda s: s.cycle and s.cycle.state == "holding")
            await client.call("order", name="opened")
            await seen(client, lambda s: any(e.kind == "opened_told" and e.by == "board" for e in s.events))
            await client.call("order", name="fan", share=0.4, seconds=60)
            shot = await seen(client, lambda s: any(e.kind == "fan_by_hand" for e in s.events))
            return int(shot.link.recorded)

    async def second(before: int) -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            shot = await seen(client, lambda s: s.link.state == "open" and s.link.recorded > before)
            assert shot.link.recorded >= shot.cook.cycles
            board.restart(8)
            shot = await seen(client, lambda s: s.link.boot == 8 and s.cycle and s.cycle.sequence > 20)
            assert shot.link.recorded > before  # a new boot does not begin to count anew
            await seen(client, lambda s: any(e.kind == "board_restarted" for e in s.events))
            board.limit = 0

    asyncio.run(second(asyncio.run(first())))
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        events = [event for event in book.events.of(1)[::-1] if event.source]
        kinds = [event.kind for event in events]
        assert kinds[:2] == ["started", "meat_on"] or kinds[:2] == ["meat_on", "started"]
        for once in ("started", "opened_told", "fan_by_hand", "board_restarted"):
            assert kinds.count(once) == 1
        assert kinds.index("opened_told") < kinds.index("fan_by_hand") < kinds.index("board_restarted")


def test_a_record_the_logbook_refuses_is_an_alarm_of_its_own(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port) as engine, attached(tmp_path) as client:
            await begin(client, board)
            await seen(client, lambda s: s.cook and s.cook.cycles > 50)
            engine.board.intake.record("fake-1", 7, 3, b"\x01" + b"\0" * 40, None)
            shot = await seen(client, lambda s: any("refused a record" in a.what for a in s.alarms))
            assert all("does not fit this program" not in a.what for a in shot.alarms)
            board.limit = 0

    asyncio.run(scene())
    assert json.loads((tmp_path / "refused.jsonl").read_text().splitlines()[0])["sequence"] == 3


def test_what_happens_to_the_port_is_logged_once(tmp_path: Path) -> None:
    """Opened, nobody there, lost, away: each is said, and not again each second."""
    said: list[str] = []
    now = [0.0]
    engine = Engine(tmp_path, port="none", steady=lambda: now[0], log=said.append, forecaster=())
    for _ in range(3):
        engine.board.closed("there is no port none now")
    engine.board.opened("/dev/ttyX")
    for now[0] in (1.0, boards.NOBODY, boards.NOBODY + 1):
        engine.board.tick()
    assert engine.board.link.words == boards.NOBODY_WORDS
    engine.board.closed("another program has the port open, or it was unplugged")
    engine.logbook.close()
    assert [line.split(" ", 2)[2] for line in said] == [
        "the port cannot be opened: there is no port none now",
        "port /dev/ttyX is open: asking who is there",
        f"port /dev/ttyX: {boards.NOBODY_WORDS}",
        "port /dev/ttyX is lost: another program has the port open, or it was unplugged; "
        "it is opened again when it is back",
    ]


def test_no_record_of_a_cook_is_dated_before_it(tmp_path: Path, board: BoardOnTerminal) -> None:
    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None  # it races ahead while the cook begins
            assert (await client.call("order", name="start"))["ok"]
            await seen(client, lambda s: s.cook.cycles > 100)
            board.limit = 0

    asyncio.run(scene())
    with Logbook(paths.logbook_path(tmp_path), owner=False) as book:
        cook = book.cooks.get(1)
        assert book.reading.trend(1).at[0] >= cook.started


def test_a_record_of_before_the_cook_is_not_the_cooks(tmp_path: Path) -> None:
    engine = Engine(tmp_path, forecaster=())
    engine.board.link.simulated = True
    engine.board.session.board, engine.board.session.boot, engine.board.session.held = "b", 7, (5, 6)
    engine.board.clock.hello("b", 7, 60_000, 0.0, simulated=True)
    engine.board.clock.seen(90_000)
    number = engine.cooking.begin("Early")
    asked = [("b", 7, 89_999), ("b", 7, 90_000), ("b", 6, 99_000), ("b", 8, 10), ("other", 3, 10)]
    belongs = [engine.board.hooks.cook_of_records(board, boot, at, True) for board, boot, at in asked]
    engine.logbook.close()
    assert belongs == [None, number, None, number, number]


def test_a_simulated_cook_ends_at_its_last_cycle_when_a_board_comes(tmp_path: Path, board: BoardOnTerminal) -> None:
    real = BoardOnTerminal(board="fake-2", simulated=False)

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await begin(client, board)
            await seen(client, lambda s: s.cook and s.cook.cycles > 20)
            board.limit = 0
        async with running(tmp_path, real.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open" and s.cook is None)

    try:
        asyncio.run(scene())
    finally:
        real.close()
    with Logbook(paths.logbook_path(tmp_path)) as book:
        (cook,) = book.cooks.all()
        assert cook.simulated and cook.ended == book.reading.trend(cook.id).at[-1] > cook.started

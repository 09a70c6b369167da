"""A twin that cooks the kept plan: its clock is the plan's, and what its hands do is noted piece by piece."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
from engine_kit import attached, running, seen, without_meat
from fake_board import BoardOnTerminal
from rendered import words
from tuyere import paths
from tuyere.cook import planned
from tuyere.engine.night.twin_events import TWINS
from tuyere.logbook import Logbook

DAY, MINUTE = 86_400_000, 60_000
# In the hello: kind, s after the first meat went on, piece, paper or kg.
HANDS = [
    ["meat_on", 0, 2, ""], ["meat_on", 120, 1, ""], ["pan_filled", 150, 0, ""], ["wrapped", 240, 2, "paper"],
    ["fuel_added", 300, 0, 2.5], ["wrapped", 360, 1, "foil"],
]  # fmt: skip


@pytest.fixture
def board() -> Iterator[BoardOnTerminal]:
    made = BoardOnTerminal()
    yield made
    made.close()


def kept(home: Path) -> planned.Planned:
    """A plan of two pieces for a day that is still to come. Bramble goes on first, and has no probe."""
    light = time.time_ns() // 1_000_000 + 5 * DAY
    pieces = [
        planned.PlannedPiece(name="Alder", cut="pork ribs", mass=1.3, probe=1, on=light + 7 * MINUTE),
        planned.PlannedPiece(name="Bramble", cut="pork ribs", mass=1.4, on=light + 5 * MINUTE),
    ]
    plan = planned.Planned("Harvest supper", light, light + 5 * MINUTE, light + DAY // 2, pieces)
    planned.write(paths.ensure(home), msgspec.json.encode(plan))
    return plan


@pytest.mark.usefixtures("quick_beat")
def test_its_cook_has_the_plans_day_and_each_piece_its_own_events(tmp_path: Path, board: BoardOnTerminal) -> None:
    plan = kept(tmp_path)
    board.board.hands = HANDS
    board.board.cooks = {"plan": planned.mark(plan), "begins": plan.light, "came_out": [0, 0]}

    async def scene() -> None:
        put_on = without_meat(board.board)
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            assert (await client.call("order", name="start"))["ok"]
            shot = await seen(client, lambda s: s.cook and s.cycle)
            assert shot.cook.name == "Harvest supper" and plan.light <= shot.cook.started < plan.light + 30 * MINUTE
            put_on(True)  # Alder's probe reads: Bramble has been on for two minutes
            alder, bramble = (await seen(client, lambda s: len([p for p in s.pieces if p.on_at]) == 2)).pieces
            assert alder.on_at - bramble.on_at == 2 * MINUTE
            shot = await seen(client, lambda s: s.pieces[0].wrap)
            alder, bramble = shot.pieces
            assert (shot.cook.meat_on, alder.wrap, bramble.wrap) == (bramble.on_at, "foil", "paper")
            by = {(event.kind, event.piece): event for event in shot.events if event.by == "twin"}
            assert by["wrapped", bramble.id].at == bramble.on_at + 4 * MINUTE
            assert by["wrapped", alder.id].at == bramble.on_at + 6 * MINUTE
            assert by["pan_filled", 0].at == bramble.on_at + 150_000
            assert (by["fuel_added", 0].at, by["fuel_added", 0].value) == (bramble.on_at + 5 * MINUTE, 2.5)
            board.board.cooks["came_out"] = [0, bramble.on_at - plan.light + 9 * MINUTE]  # ms since the twin began
            shot = await seen(client, lambda s: s.pieces[1].place == "out")
            out = next(event for event in shot.events if event.kind == "out")
            assert (out.piece, out.at, out.by) == (bramble.id, bramble.on_at + 9 * MINUTE, "twin")
            assert shot.pieces[0].place == "pit"  # its probe still reads
            board.limit = 0

    asyncio.run(scene())
    with Logbook(paths.logbook_path(tmp_path)) as book:
        [taken] = [event for event in book.events.of(1) if event.kind == "plan_taken"]
        assert "twin" not in words(taken.text) and book.cooks.text(1, TWINS) == "1"
        assert [event.kind for event in book.events.of(1)].count("meat_on") == 2


def test_a_twin_with_meat_of_its_own_says_so_and_notes_nothing_of_single_pieces(
    tmp_path: Path, board: BoardOnTerminal
) -> None:
    plan = kept(tmp_path)
    board.board.hands = HANDS
    board.board.cooks = {"plan": "another", "begins": plan.light, "came_out": [0, 1]}

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            assert (await client.call("order", name="start"))["ok"]
            shot = await seen(client, lambda s: s.cook and s.cook.meat_on and s.now > s.cook.meat_on + 8 * MINUTE)
            assert {piece.on_at for piece in shot.pieces} == {shot.cook.meat_on}  # all by the first that reads
            twin = [event.kind for event in shot.events if event.by == "twin"]
            assert sorted(twin) == ["fuel_added", "meat_on", "pan_filled"]
            board.limit = 0

    asyncio.run(scene())
    with Logbook(paths.logbook_path(tmp_path)) as book:
        [taken] = [event for event in book.events.of(1) if event.kind == "plan_taken"]
        assert words(taken.text).endswith("; the twin cooks meat of its own")

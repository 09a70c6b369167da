"""A cook that is begun on the plan's day takes its name, pieces and programme; the board is told as ever."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
from engine_kit import attached, running, seen
from fake_board import BoardOnTerminal
from hearth.core import fields
from rendered import words
from tuyere import paths
from tuyere.client.client import EngineError
from tuyere.cook import planned
from tuyere.engine.night import from_plan
from tuyere.logbook import Logbook

HOUR = 3_600_000
PHASES = [
    planned.Phase("open smoke", 115.0, 130.0, fields.END_BY_HAND),
    planned.Phase("wrapped", 121.1, 135.0, fields.END_MEAT_1, 95.0),
    planned.Phase("hold", 70.0, 80.0, fields.END_BY_HAND),
]
PIECES = [
    planned.PlannedPiece(name="Alder", cut="packer", mass=5.2, flat=0.05, probe=1),
    planned.PlannedPiece(name="Bramble", cut="packer", mass=4.6, probe=2),
]


@pytest.fixture
def board() -> Iterator[BoardOnTerminal]:
    made = BoardOnTerminal()
    yield made
    made.close()


def keep(home: Path, phases: list[planned.Phase] = PHASES, hours: float = 12.0) -> None:
    """A plan to be lit an hour ago and served in so many hours, kept in this home."""
    now = time.time_ns() // 1_000_000
    plan = planned.Planned(
        "Village hall supper",
        now - HOUR,
        now,
        now + round(hours * HOUR),
        [msgspec.structs.replace(piece, on=now + 4 * i * HOUR) for i, piece in enumerate(PIECES)],
        phases,
        planned.Kitchen("drum", 300.0),
    )
    planned.write(paths.ensure(home), msgspec.json.encode(plan))


def begin(home: Path, board: BoardOnTerminal) -> str:
    """Start as a person does; what was said."""

    async def scene() -> str:
        async with running(home, board.port), attached(home) as client:
            await seen(client, lambda s: s.link.state == "open")
            board.limit = None
            answer = await client.call("order", name="start")
            assert answer["ok"], answer
            shot = await seen(client, lambda s: s.phases and s.cycle and s.cycle.state != "off")
            assert shot.cook is not None
            board.limit = 0
            return "|".join(
                [
                    words(answer["words"]),
                    shot.cook.name,
                    *(f"{p.name} {p.low:g}-{p.high:g} {words(p.end)}" for p in shot.phases),
                ]
            )

    return asyncio.run(scene())


def test_name_pieces_and_programme_are_those_of_the_plan(tmp_path: Path, board: BoardOnTerminal) -> None:
    keep(tmp_path)
    said = begin(tmp_path, board).split("|")
    assert "those of the plan, Village hall supper" in said[0] and said[1] == "Village hall supper"
    assert said[2:] == [
        "open smoke 115-130 by hand", "wrapped 121.1-135 when probe 1 reaches 95 C", "hold 70-80 by hand"
    ]  # fmt: skip
    with Logbook(paths.logbook_path(tmp_path)) as book:
        [cook] = book.cooks.all()
        assert [(p.name, p.cut, p.mass, p.probe) for p in book.pieces.of(cook.id)] == [
            ("Alder", "packer", 5.2, 1), ("Bramble", "packer", 4.6, 2)
        ]  # fmt: skip
        assert [(p.flat, p.start, p.target) for p in book.pieces.of(cook.id)] == [(0.05, 5.0, 95.5), (None, 5.0, 95.5)]
        kitchen = json.loads(book.cooks.text(cook.id, "kitchen") or "{}")
        assert kitchen["cooker"] == "drum" and kitchen["altitude"] == 300.0
        [event] = [event for event in book.events.of(cook.id) if event.kind == "plan_taken"]
        assert "2 pieces and the programme, to serve " in words(event.text)
        assert book.cooks.text(cook.id, from_plan.GIVEN) == ""  # given once; what the hands change later stays


def test_without_a_plan_for_now_it_is_a_cook_as_ever(tmp_path: Path, board: BoardOnTerminal) -> None:
    keep(tmp_path, hours=-0.5)  # served already
    said = begin(tmp_path, board).split("|")
    assert said[1].startswith("Cook of ") and "plan" not in said[0] and said[2].startswith("straight through 121.1-135")


def test_a_programme_that_no_board_takes_does_not_keep_the_pit_cold(tmp_path: Path, board: BoardOnTerminal) -> None:
    keep(tmp_path, [planned.Phase("too hot", 200.0, 400.0)])
    said = begin(tmp_path, board).split("|")
    assert said[1] == "Village hall supper" and said[2].startswith("straight through 121.1-135")


def test_a_damaged_or_foreign_file_is_no_plan(tmp_path: Path) -> None:
    for text in (b"", b"[]", b"\xff\xfe", b'{"name": "x", "light": 1, "on": 2, "serve": "soon"}'):
        planned.path(tmp_path).write_bytes(text)
        assert planned.due(tmp_path, 1) is None
    planned.write(tmp_path, b"{}")
    assert planned.path(tmp_path).read_bytes() == b"{}" and list(tmp_path.iterdir()) == [planned.path(tmp_path)]


def test_a_screen_is_told_of_the_plan_and_begins_with_it_under_its_own_name(
    tmp_path: Path, board: BoardOnTerminal
) -> None:
    keep(tmp_path)

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            shot = await seen(client, lambda s: s.link.state == "open")
            assert shot.planned is not None and shot.planned.name == "Village hall supper"
            assert shot.planned.pieces == ["Alder", "Bramble"]
            await client.call("cook_start", name="Harvest supper", plan=True)
            shot = await seen(client, lambda s: len(s.pieces) == 2 and s.serving.at)
            first, second = shot.pieces
            assert second.goes_on - first.goes_on == 4 * HOUR
            [asked] = [one for one in shot.prompts if one.kind == "meat_on" and one.piece == second.id]
            assert asked.due == second.goes_on and words(asked.words).startswith("Put Bramble on at ")
            await client.call("serve_change", at=shot.serving.at + HOUR)
            shot = await seen(client, lambda s: s.pieces[1].goes_on == second.goes_on + HOUR)
            board.limit = None
            assert (await client.call("order", name="start"))["ok"]
            shot = await seen(client, lambda s: s.phases and s.cycle and s.cycle.state != "off")
            assert shot.planned is None and shot.cook is not None and shot.cook.name == "Harvest supper"
            assert [piece.name for piece in shot.pieces] == ["Alder", "Bramble"]
            assert [phase.name for phase in shot.phases] == ["open smoke", "wrapped", "hold"]
            board.limit = 0

    asyncio.run(scene())


def test_a_cook_that_is_begun_without_the_plan_takes_none_of_it(tmp_path: Path, board: BoardOnTerminal) -> None:
    keep(tmp_path)

    async def scene() -> None:
        async with running(tmp_path, board.port), attached(tmp_path) as client:
            await seen(client, lambda s: s.link.state == "open")
            await client.call("cook_start", name="Sausages")
            shot = await seen(client, lambda s: s.cook is not None)
            assert shot.pieces == [] and shot.planned is None
            await client.call("cook_end")
            planned.path(tmp_path).unlink()
            with pytest.raises(EngineError, match="no plan is kept"):
                await client.call("cook_start", name="Too late", plan=True)

    asyncio.run(scene())

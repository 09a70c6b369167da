"""A page of the logbook is damaged under a running engine, or before it starts: tonight's cook goes on."""

from __future__ import annotations

import asyncio
import contextlib
import sqlite3
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from engine_kit import again, attached, seen, started
from fake_board import BoardOnTerminal
from tuyere import paths
from tuyere.client.client import Client, EngineError
from tuyere.engine.engine import Engine
from tuyere.engine.set_aside import carry_on, carrying_on
from tuyere.logbook import Logbook
from tuyere.logbook.errors import NotALogbook
from tuyere.logbook.rows import CallStep

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
WITHIN = 60


@pytest.fixture
def board() -> Iterator[BoardOnTerminal]:
    made = BoardOnTerminal()
    yield made
    made.close()


def damage(path: Path, table: str) -> None:
    """Break the first page of a table in the file, and let the engine's connection look at the file anew."""
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        (root,) = db.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)).fetchone()
        with open(path, "r+b") as file:
            file.seek((root - 1) * 4096)
            file.write(b"\xa5" * 4096)
        db.execute("PRAGMA user_version = 7")
        db.commit()


async def begun(client: Client, board: BoardOnTerminal) -> None:
    await seen(client, lambda s: s.link.state == "open")
    await started(client, board)
    board.limit = 60
    await seen(client, lambda s: s.cook is not None and s.cook.cycles >= 55 and s.cycle is not None)
    await client.call("piece_add", name="flat", mass=4.0)
    await client.call("note", kind="said", text="before")


def test_the_cook_goes_on_in_a_new_logbook_with_all_that_could_be_read(tmp_path: Path, board: BoardOnTerminal) -> None:
    home, said = tmp_path / "home", list[str]()

    def make() -> Engine:
        return Engine(home, port=board.port, forecaster=(), log=said.append)

    async def scene() -> None:
        first = make()
        task = asyncio.create_task(first.run())
        while not paths.engine_file(home).exists():
            await asyncio.sleep(0)
        async with attached(home) as client:
            await begun(client, board)
            damage(first.logbook.path, "events")
            with pytest.raises(EngineError):
                await client.call("note", kind="said", text="lost")
            await asyncio.wait_for(task, WITHIN)
        assert first.replaced and first.logbook.damaged
        carry_on(first.logbook.path, lambda: 1_800_000_000_000, said.append)
        second = carrying_on(first.logbook.path, lambda: 0, make, said.append)
        task = asyncio.create_task(second.run())
        while not paths.engine_file(home).exists():
            await asyncio.sleep(0)
        async with attached(home) as client:
            await again(client, board)
            board.limit = 90
            shot = await seen(client, lambda s: s.cook is not None and s.cook.cycles >= 75 and s.alarms)
            assert [piece.name for piece in shot.pieces] == ["flat"]
            assert "before" in [event.text for event in shot.events]
            [alarm] = [alarm for alarm in shot.alarms if alarm.code == "logbook_set_aside"]
            assert alarm.level == "warning" and "logbook-damaged-1.sqlite" in str(alarm.why)
            await client.call("note", kind="said", text="after")
        second.stop()
        await asyncio.wait_for(task, WITHIN)
        with Logbook(second.logbook.path, owner=False) as book:
            assert book.soundness.all().sound
            assert book.reading.gaps(book.cooks.all()[0].id) == []

    asyncio.run(scene())
    assert any("was set aside as" in line and "goes on in a new logbook" in line for line in said)


def test_damage_met_before_the_first_tick_ends_the_engine_for_the_next_one(tmp_path: Path) -> None:
    said = list[str]()

    async def scene() -> None:
        engine = Engine(tmp_path, forecaster=(), log=said.append)
        engine.logbook.cooks.start("tonight", 5, "board", False)
        damage(engine.logbook.path, "pieces")
        await asyncio.wait_for(engine.run(), WITHIN)
        assert engine.replaced and engine.logbook.damaged
        carry_on(engine.logbook.path, lambda: 9, said.append)
        with Logbook(engine.logbook.path) as book:
            standing = book.cooks.open()
            assert standing is not None and standing.name == "tonight"

    asyncio.run(scene())


@pytest.mark.parametrize("where", ["first page", "cooks"])
def test_a_file_found_damaged_at_the_start_is_set_aside(tmp_path: Path, where: str) -> None:
    path, said = tmp_path / "logbook.sqlite", list[str]()
    with Logbook(path) as book:
        cook = book.cooks.start("tonight", 5, "board", False)
        book.pieces.add(cook, name="flat")
    if where == "cooks":
        damage(path, where)
    else:
        data = path.read_bytes()
        path.write_bytes(b"\x00" * 4096 + data[4096:])
    with carrying_on(path, lambda: 9, lambda: Logbook(path), said.append) as book:
        standing = book.cooks.open()
        assert standing is not None and standing.name == "tonight"
        assert [piece.name for piece in book.pieces.of(standing.id)] == ["flat"]


@pytest.mark.parametrize("where", ["calls", "events", "texts"])
def test_an_engine_comes_up_whatever_page_is_damaged(tmp_path: Path, where: str) -> None:
    """Also where its parts, not the opening of the file, meet the page."""
    path, said = tmp_path / "logbook.sqlite", list[str]()
    with Logbook(path) as book:
        cook = book.cooks.start("tonight", 5, "board", False)
        book.cooks.set_text(cook, "began", "{}")
        book.calls.add([CallStep(cook=cook, code="test", step="raised", at=5, wall=5)])
    damage(path, where)
    engine = carrying_on(path, lambda: 9, lambda: Engine(tmp_path, forecaster=(), log=said.append), said.append)
    standing = engine.logbook.cooks.open()
    engine.logbook.close()
    assert standing is not None and standing.name == "tonight"


def test_a_foreign_file_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"
    path.write_bytes(b"somebody's notes " * 100)
    with pytest.raises(NotALogbook):
        carrying_on(path, lambda: 9, lambda: Logbook(path), print)
    assert path.read_bytes() == b"somebody's notes " * 100 and list(tmp_path.iterdir()) == [
        path, tmp_path / "logbook.sqlite.lock",
    ]  # fmt: skip

"""A note and what follows from it are written together or not at all."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest
from tuyere.cook.errors import Refusal
from tuyere.engine.engine import Engine
from tuyere.logbook.errors import DiskFull


@pytest.fixture
def engine(tmp_path: Path) -> Any:
    """An engine that is not running, with a cook of two pieces."""
    made = Engine(tmp_path, port="none", wall=lambda: 1_778_000_000_000, forecaster=())
    made.board.link.board = "board-1"
    cook = made.cooking.begin("test")
    for name in ("flat", "point"):
        made.logbook.pieces.add(cook, name=name)
    made.cooking.refresh()
    yield made
    made.logbook.close()


def test_the_meat_going_on_reaches_the_cook_and_every_piece(engine: Engine) -> None:
    engine.notes.write("meat_on", 0)
    now = engine.now()
    assert engine.cooking.cook is not None and engine.cooking.cook.meat_on == now
    assert [piece.on_at for piece in engine.cooking.pieces] == [now, now]
    assert [event.kind for event in engine.cooking.events] == ["meat_on"]


def test_a_note_that_cannot_be_finished_leaves_nothing_behind(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    change, scored = engine.logbook.pieces.change, []
    second = engine.cooking.pieces[1].id

    def full(id: int, **fields: Any) -> None:
        if id == second:
            raise DiskFull("the disk is full")
        change(id, **fields)

    monkeypatch.setattr(engine.logbook.pieces, "change", full)
    monkeypatch.setattr(engine.cooking.score, "meat_on", scored.append)
    with pytest.raises(DiskFull):
        engine.notes.write("meat_on", 0)
    engine.cooking.refresh()
    assert engine.cooking.cook is not None and engine.cooking.cook.meat_on == 0
    assert [piece.on_at for piece in engine.cooking.pieces] == [0, 0]
    assert engine.cooking.events == [] and scored == []
    monkeypatch.undo()
    engine.notes.write("meat_on", 0)
    assert [piece.on_at for piece in engine.cooking.pieces] == [engine.now()] * 2


def test_a_flat_of_20_cm_is_refused_with_what_and_why(engine: Engine) -> None:
    async def scene() -> None:
        change, add = (engine.desk.methods()[name] for name in ("piece_change", "piece_add"))
        piece = engine.cooking.pieces[0].id
        await change(id=piece, cut="packer", flat=0.05, point=0.08, start=4.0, intact=False, target=96.0)
        for given in (
            {"flat": 0.2},
            {"point": 0.3},
            {"start": 60.0},
            {"flat": -0.02},
            {"mass": -3.0},
            {"target": 200.0},
        ):
            with pytest.raises(Refusal, match=r"cm thick; that of a packer is|is out of range"):
                await change(id=piece, **given)
        with pytest.raises(Refusal, match=r"The flat of Elder is 20 cm thick; that of a packer is 2.3-10 cm: measure"):
            await add(name="Elder", cut="packer", mass=6.0, flat=0.2)
        assert len(engine.cooking.pieces) == 2 and engine.cooking.pieces[0].flat == 0.05
        await change(id=piece, cut="flat")
        assert engine.cooking.pieces[0].point is None  # that part has gone with the other cut

    asyncio.run(scene())


def test_what_was_never_noted_is_not_withdrawn(engine: Engine) -> None:
    undo = engine.desk.methods()["note_undo"]
    with pytest.raises(Refusal, match=r"^there is no note to withdraw$"):
        asyncio.run(undo())
    with pytest.raises(Refusal, match="this cook has no note 3 by a person; it may have been withdrawn already"):
        asyncio.run(undo(id=3))


def test_a_night_whose_times_have_moved_is_read_anew_once(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    read, again = engine.cooking._read, []

    def refused() -> None:
        raise DiskFull("not now")

    def counted() -> None:
        again.append(1)
        read()

    monkeypatch.setattr(engine.cooking, "_read", refused)
    engine.cooking.read_again()
    monkeypatch.setattr(engine.cooking, "_read", counted)
    for _ in range(3):
        engine.cooking.count()
    assert again == [1]  # with the next count, since it could not be read at once

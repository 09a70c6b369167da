"""A note and what follows from it are written together or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tuyere.engine.keep import Engine
from tuyere.logbook.errors import DiskFull


@pytest.fixture
def engine(tmp_path: Path) -> Any:
    """An engine that is not running, with a cook of two pieces."""
    made = Engine(tmp_path, port="none", wall=lambda: 1_778_000_000_000, forecaster=())
    made.board.link.board = "board-1"
    cook = made.cooking.begin("test")
    for name in ("flat", "point"):
        made.logbook.add_piece(cook, name=name)
    made.refresh()
    yield made
    made.logbook.close()


def test_the_meat_going_on_reaches_the_cook_and_every_piece(engine: Engine) -> None:
    engine.desk.notes.write("meat_on", 0)
    now = engine.now()
    assert engine.cooking.cook is not None and engine.cooking.cook.meat_on == now
    assert [piece.on_at for piece in engine.cooking.pieces] == [now, now]
    assert [event.kind for event in engine.cooking.events] == ["meat_on"]


def test_a_note_that_cannot_be_finished_leaves_nothing_behind(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    change, scored = engine.logbook.change_piece, []
    second = engine.cooking.pieces[1].id

    def full(id: int, **fields: Any) -> None:
        if id == second:
            raise DiskFull("the disk is full")
        change(id, **fields)

    monkeypatch.setattr(engine.logbook, "change_piece", full)
    monkeypatch.setattr(engine.cooking.score, "meat_on", scored.append)
    with pytest.raises(DiskFull):
        engine.desk.notes.write("meat_on", 0)
    engine.refresh()
    assert engine.cooking.cook is not None and engine.cooking.cook.meat_on == 0
    assert [piece.on_at for piece in engine.cooking.pieces] == [0, 0]
    assert engine.cooking.events == [] and scored == []
    monkeypatch.undo()
    engine.desk.notes.write("meat_on", 0)
    assert [piece.on_at for piece in engine.cooking.pieces] == [engine.now()] * 2

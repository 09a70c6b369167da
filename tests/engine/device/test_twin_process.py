"""The twin's meat: what it says of it is what its pit cooks, and what the screen shows."""

from __future__ import annotations

from pathlib import Path

from tuyere.cli.twin import _weighed
from tuyere.engine.device import twin_process
from tuyere.logbook import Logbook
from tuyere.sim.script import Script


def test_the_pieces_of_the_begun_cook_are_those_in_the_simulated_pit(tmp_path: Path) -> None:
    script = Script.draw(11)
    shown = twin_process.pieces([list(_weighed(piece)) for piece in script.pieces])
    assert [piece["name"] for piece in shown] == ["Alder", "Bramble", "Clover"]
    with Logbook(tmp_path / "logbook.sqlite") as book:
        cook = book.cooks.start("c", 1_778_000_000_000, "twin", True)
        for piece in shown:
            book.pieces.add(cook, **piece)
        for row, true in zip(book.pieces.of(cook), script.pieces, strict=True):
            assert row.cut == true.cut and row.mass is not None and abs(row.mass - true.mass_kg) <= 0.05
            assert row.flat is not None and true.flat_m is not None and abs(row.flat - true.flat_m) <= 0.0005
            assert row.point is not None and true.point_m is not None and abs(row.point - true.point_m) <= 0.0005
            assert abs(row.target - true.done_c) <= 0.05
        assert [row.probe for row in book.pieces.of(cook)] == [1, 2, 3]


def test_a_twin_that_says_nothing_of_its_meat_has_pieces_without_a_mass() -> None:
    for said in (None, [], "?"):
        assert [set(piece) for piece in twin_process.pieces(said)] == [{"name", "cut", "probe"}] * 3
    assert twin_process.pieces([["packer", 4.0]]) == [{"name": "Alder", "cut": "packer", "probe": 1}]

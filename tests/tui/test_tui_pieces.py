"""The table of the pieces: where each one is, whole words only, at every width."""

from __future__ import annotations

import re

import msgspec
import pytest
from fake_source import HOUR, MINUTE, snapshot, trend
from hypothesis import given
from hypothesis import strategies as st
from tuyere.cook.snapshot import Piece
from tuyere.tui.view import View
from tuyere.tui.widgets.pieces import pieces_lines

PLACES = {"pit", "oven", "box", "out", "carved", "not on"}


def shown(pieces: list[Piece], width: int, header: bool) -> list[str]:
    shot = msgspec.structs.replace(snapshot(trend(6.0)), pieces=pieces)
    lines = pieces_lines(View(shot=shot, where="open"), width, 6, header)
    return ["".join(part for part, _ in line) for line in lines]


def test_how_long_a_piece_lies_out_is_not_cut_beside_a_piece_that_is_still_cooking() -> None:
    now = snapshot(trend(6.0)).now
    cooking = Piece(
        id=1,
        name="Big flat",
        probe=1,
        temperature=71.0,
        on_at=1,
        finish_early=now,
        finish_likely=now + 2 * HOUR,
        finish_late=now + 4 * HOUR,
    )
    out = Piece(id=2, name="Small one", temperature=96.0, place="out", place_since=now - 25 * MINUTE, on_at=1)
    for width in (40, 41, 60):  # the panel at 80 and at 120 columns
        assert any("out 25 min" in line for line in shown([cooking, out], width, True)), width


def test_where_few_have_room_those_that_cook_are_shown_and_then_those_still_to_go_on() -> None:
    cook = [("Clover", "pit", 1), ("Dogwood", "pit", 0), ("Elder", "oven", 1)]
    placed = [("Alder", "out", 1), ("Bramble", "box", 1), *cook]
    five = [Piece(id=i, name=name, place=place, on_at=on) for i, (name, place, on) in enumerate(placed, 1)]

    def names(most: int) -> list[str]:
        shot = msgspec.structs.replace(snapshot(trend(6.0)), pieces=five)
        lines = pieces_lines(View(shot=shot, where="open"), 58, most, False)
        found = ["".join(part for part, _ in line).split()[0] for line in lines]
        return [name for name in found if name != "and"]

    assert (names(2), names(3), names(4)) == (["Clover"], ["Clover", "Elder"], ["Clover", "Dogwood", "Elder"])
    assert names(5) == [name for name, _, _ in placed]


def test_a_name_has_room_before_a_long_place() -> None:
    now = snapshot(trend(6.0)).now
    cooking = Piece(
        id=1, name="Alder", temperature=71.0, on_at=1, wrap="paper", place="oven", by_hand=True,
        finish_early=now, finish_likely=now + 2 * HOUR, finish_late=now + 4 * HOUR,
    )  # fmt: skip
    out = Piece(id=2, name="Bramble", temperature=96.0, place="out", place_since=now - 25 * MINUTE, on_at=1)
    for pieces in ([cooking, out], [out], [cooking]):
        for width in (40, 41, 60, 80):
            lines = " / ".join(shown(pieces, width, True))
            assert all(piece.name in lines for piece in pieces) and "~" not in lines, lines
            assert out not in pieces or "out 25 min" in lines, lines


@pytest.mark.parametrize("header", [True, False])
@given(
    width=st.integers(40, 78),
    place=st.sampled_from(sorted(PLACES - {"not on"})),
    out_for=st.integers(0, 30 * HOUR),
    by_hand=st.booleans(),
    wrap=st.sampled_from(["", "paper", "foil", "other"]),
    likely=st.integers(0, 40 * HOUR),
)
def test_a_place_is_whole_or_its_last_words_are_left_out(
    width: int, place: str, out_for: int, by_hand: bool, wrap: str, likely: int, header: bool
) -> None:
    now = snapshot(trend(6.0)).now
    two = [
        Piece(id=1, name="A name that is too long", temperature=90.0, place=place, place_since=now - out_for, on_at=1,
              by_hand=by_hand, wrap=wrap),
        Piece(id=2, name="Point", temperature=80.0, on_at=1, finish_early=now, finish_likely=now + likely,
              finish_late=now + likely + HOUR),
    ]  # fmt: skip
    lines = shown(two, width, header)
    assert all(len(line) <= width for line in lines)
    [row] = [line for line in lines if "A nam" in line]
    tail = re.split(r"\s{2,}", row.rstrip())[-1]
    assert re.fullmatch(rf"{place}( \d+ (min|h|s))?(, (paper|foil|other))?(, (by )?hand)?", tail), row

"""Where a piece is follows from its notes; a piece that was divided off has the past of the whole."""

from __future__ import annotations

from tuyere.cook import follows
from tuyere.cook.snapshot import Event, Piece

ON = 1_700_000_000_000
MINUTE = 60_000


def event(kind: str, minute: int, piece: int = 1, value: float | None = None, text: str = "") -> Event:
    at = ON + minute * MINUTE
    return Event(id=minute, at=at, noted=at, kind=kind, piece=piece, value=value, text=text)


def test_held_in_an_oven_keeps_what_it_is_set_to() -> None:
    found = follows.piece_by_events(1, [event("hold_oven", 60, value=75.0), event("meat_on", 0, 0)])
    assert (found["place"], found["held"], found["oven"]) == ("oven", True, 75.0)
    finishing = follows.piece_by_events(1, [event("meat_on", 0, 0), event("in_oven", 60)])
    assert (finishing["place"], finishing["held"]) == ("oven", False)


def test_held_in_the_pit_counts_from_the_note() -> None:
    notes = [event("meat_on", 0, 0), event("hold_pit", 500), event("hold_pit", 520)]
    assert follows.piece_by_events(1, notes)["held"] and follows.place_since(1, notes) == ON + 500 * MINUTE
    assert follows.place_since(1, notes[:1]) == 0


def test_the_last_word_on_tenderness_counts() -> None:
    felt = [event("tender", 500, text="not yet"), event("tender", 530, text="tender")]
    found = follows.piece_by_events(1, felt)
    assert found["tender_at"] == ON + 530 * MINUTE and found["not_tender_at"] == ON + 500 * MINUTE
    assert follows.piece_by_events(1, [*felt, event("tender", 540, text="not yet")])["tender_at"] == 0


def test_a_piece_divided_off_has_the_past_of_the_whole_and_its_own_future() -> None:
    whole, part = Piece(id=1, name="Alder"), Piece(id=2, name="Point", part_of=1, parted_at=ON + 600 * MINUTE)
    notes = [event("wrapped", 400), event("out", 590), event("in_box", 620), event("in_fridge", 640, 2)]
    its = follows.own_events(part, [whole, part], notes)
    found = follows.piece_by_events(2, its)
    assert found["wrap"] == "paper" and found["place"] == "fridge"
    assert {one.kind for one in its if one.piece == 2} == {"wrapped", "out", "in_fridge"}
    assert follows.piece_by_events(1, notes)["place"] == "box"

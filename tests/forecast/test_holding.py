"""The hot hold: how long, where, with the night's evidence. Boxes' numbers are assumptions of `tuyere.meat.hold`."""

from __future__ import annotations

import pytest
from rendered import words
from tuyere.forecast import cooling
from tuyere.forecast.exchange import Columns, Known, KnownPiece, Note

HOUR, MINUTE = 3_600_000, 60_000
ON = 1_700_000_000_000
IN = ON + 12 * HOUR


def boxed(*notes: Note, **changes: object) -> KnownPiece:
    told = [Note(IN, "out"), Note(IN, "in_box"), *notes]
    return KnownPiece(**{"id": 1, "name": "Alder", "mass": 6.0, "place": "box", "on_at": ON, "notes": told, **changes})  # type: ignore[arg-type]


def hours(piece: KnownPiece, after: float = 0.1, **changes: object) -> float:
    known = Known(now=IN + round(after * HOUR), **{"pieces": [piece], **changes})  # type: ignore[arg-type]
    return (cooling.until(known, piece) - IN) / HOUR


def by_hand(after: float, c: float) -> Note:
    return Note(IN + round(after * HOUR), "hand_reading", c)


def test_towels_hold_longer_and_a_higher_limit_comes_sooner() -> None:
    assert 1.5 < hours(boxed()) < hours(boxed(), hold="box with towels")
    assert hours(boxed(), limit=63.0) < hours(boxed()) < hours(boxed(), limit=57.0)
    assert hours(boxed(), room=-5.0) < hours(boxed())


def test_nothing_for_a_piece_that_is_not_held_or_stays_hot() -> None:
    piece = boxed()
    assert cooling.until(Known(now=IN + HOUR, pieces=[piece], hold="low oven"), piece) == 0
    piece.place = "pit"
    assert cooling.until(Known(now=IN + HOUR, pieces=[piece]), piece) == 0
    odd = boxed(mass=90.0)
    assert cooling.until(Known(now=IN + HOUR, pieces=[odd]), odd) == 0 and cooling.words(Known(now=IN), odd) == ""


def test_a_vent_costs_hold_and_counts_from_when_it_came_out() -> None:
    vented = boxed()
    vented.notes[1].at = IN + 15 * MINUTE
    assert hours(vented, after=0.3) < hours(boxed(), after=0.3)


def test_it_begins_with_the_reading_at_the_time_it_came_out() -> None:
    cooler = boxed(Note(IN - 5 * MINUTE, "hand_reading", 85.0))
    assert hours(cooler) < hours(boxed())
    long_before = boxed(Note(IN - 3 * HOUR, "hand_reading", 70.0))
    assert hours(long_before) == hours(boxed())  # of no use now
    columns = Columns([IN], [120.0], [0.0], [121.0], [135.0], [20.0], [[85.0], [None], [None]])
    assert hours(boxed(probe=1), columns=columns) == hours(cooler)


def test_readings_in_the_box_correct_the_loss() -> None:
    plain = hours(boxed(), after=2.0)
    assert hours(boxed(by_hand(2.0, 88.0)), after=2.0) > plain + 0.4
    assert hours(boxed(by_hand(2.0, 66.0)), after=2.0) < plain - 0.2
    assert hours(boxed(by_hand(0.5, 66.0)), after=2.0) == plain  # too soon to tell


def test_two_in_one_box_hold_each_other() -> None:
    one, other = boxed(), boxed(id=2, name="Bramble")
    assert hours(one, pieces=[one, other]) > hours(one)
    other.notes[1].at = IN + 3 * HOUR  # not there yet for most of it
    assert hours(one, pieces=[one, other]) == hours(one)


def test_one_that_lies_there_since_long_before_lends_no_heat() -> None:
    late, early = boxed(), boxed(id=2, name="Bramble")
    early.notes[0].at = early.notes[1].at = IN - 5 * HOUR
    assert hours(late, pieces=[late, early]) == hours(late)


def test_a_hold_of_many_hours_still_has_its_end() -> None:
    pieces = [boxed(id=i) for i in range(1, 5)]
    towels = hours(pieces[0], after=15.0, pieces=pieces, hold="box with towels")
    assert 12.0 < towels <= 24.0
    assert towels == hours(pieces[0], pieces=pieces, hold="box with towels")


def test_the_ways_to_hold_are_compared() -> None:
    piece = KnownPiece(id=1, name="Alder", mass=6.0)
    ways = {(way.place, way.vented): way for way in cooling.compare(Known(now=IN), piece)}
    box, towels, counter = (ways[name, 0.0].hours for name in ("box", "box with towels", "counter"))
    assert counter is not None and box is not None and towels is not None and counter < box < towels
    assert ways["low oven", 0.0].hours is None
    vented = ways["box", 15.0].hours
    assert vented is not None and vented < box  # a vented one loses its hold,
    assert ways["box", 0.0].highest_c > ways["box", 15.0].highest_c  # one straight from the pit goes on cooking
    said = words(cooling.words(Known(now=IN), piece))
    assert "in a cool box with towels" in said and "if vented for 15 min" in said
    assert "12 h and more in a low oven" in said
    with pytest.raises(ValueError, match="20 cm thick"):
        cooling.compare(Known(now=IN), KnownPiece(id=1, name="Alder", mass=6.0, flat=0.2))

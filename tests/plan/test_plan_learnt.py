"""What the user's own real cooks teach, and how far they pull."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan_kit import at, cook, make
from tuyere import paths
from tuyere.cook import earlier
from tuyere.cook.earlier import Night
from tuyere.engine.outlook.shown import Expected
from tuyere.forecast import exchange
from tuyere.logbook import Logbook, LogbookError
from tuyere.logbook.errors import BadEntry
from tuyere.logbook.rows import PieceRow
from tuyere.plan.learnt import WEIGHT, Learnt, learn, pull, usual
from tuyere.plan.practice import SHADE_8_H
from tuyere.plan.times import DAY, HOUR


@pytest.fixture
def book(tmp_path: Path) -> object:
    with Logbook(paths.logbook_path(tmp_path)) as book:
        yield book


def cooked(one: PieceRow, wrap: str, altitude: float = 0.0) -> Night:
    """A piece in a pit of 128 C, wrapped after 7 h."""
    piece = msgspec.structs.replace(one, wrap_with=wrap)
    return Night(cook=1, piece=piece, pit_c=128.0, wrap_h=7.0 * bool(wrap), altitude=altitude)


def test_with_no_cook_the_usual_is_used_and_it_says_so(book: Logbook) -> None:
    found = learn(book, lambda night: 10.0)
    assert found == Learnt() and found.shares()["packer"] == 0.53 and found.pace.used == 1.0
    assert found.words("packer") == [
        "No real cook with notes in the logbook yet: yields, pace and bark are the usual ones."
    ]


def test_real_cooks_pull_and_simulated_ones_or_those_from_elsewhere_never(book: Logbook) -> None:
    for i in range(3):
        cook(book, at(1, "08:00") + i * DAY, carved=5.5 * 0.573, shades=[(4, 5), (6, 8)])
    cook(book, at(5, "08:00"), hours=20.0, simulated=True, carved=1.5, shades=[(4, 1), (6, 2)])
    theirs = cook(book, at(6, "08:00"), hours=20.0, carved=1.5, shades=[(4, 1), (6, 2)])
    with book.together():
        book.writing().execute("UPDATE cooks SET origin = 'foreign' WHERE id = ?", (theirs,))
    found = learn(book, lambda night: 10.0 if night.pit_c == pytest.approx(128.0) else 99.0)
    share = found.cooked["packer"]
    assert share.cooks == 3 and share.own == pytest.approx(0.573)
    assert share.used == pytest.approx((WEIGHT["yield"] * 0.53 + 3 * 0.573) / (WEIGHT["yield"] + 3))
    assert found.pace.own == pytest.approx(1.1, abs=0.01) and 1.0 < found.pace.used < 1.1
    assert found.bark.own == pytest.approx(6.1 / SHADE_8_H, abs=0.01) and found.bark.own < found.bark.used < 1.0
    words = found.words("packer")
    assert words[0] == "Your 3 cooks (the usual counts as 4): yield 43 % of what was bought, usual 40 %, used 41 %."
    assert len(words) == 3 and found.cooked["flat"].cooks == 0


def test_what_is_learnt_changes_the_plan(book: Logbook) -> None:
    for i in range(4):
        cook(book, at(1, "08:00") + i * DAY, hours=13.0, carved=5.5 * 0.6, shades=[(4, 3), (6, 4)])
    found = learn(book, lambda night: 10.0)
    mine, usual = make(found), make()
    assert mine.amounts.bought < usual.amounts.bought  # a better yield needs less
    assert mine.last[1] - mine.on > (usual.last[1] - usual.on) * 1.05  # slower, and pieces a little lighter
    assert mine.wraps[0].window[0] - mine.on > usual.wraps[0].window[0] - usual.on  # a slower bark


@pytest.mark.parametrize(("wrap", "mass", "flat", "altitude"), [("", 5.5, None, 0.0), ("foil", 4.0, 0.06, 1200.0)])
def test_a_cook_that_went_as_forecast_teaches_no_pace(
    book: Logbook, wrap: str, mass: float, flat: float | None, altitude: float
) -> None:
    """Bare, in foil, thick or high up: what is compared is the same piece, wrapped as it was, where it was."""
    one = PieceRow(
        id=1,
        cook=1,
        name="Alder",
        cut="packer",
        mass=mass,
        flat=flat,
        target=93.0 if altitude else 95.5,
        probe=1,
    )
    hours = usual(cooked(one, wrap, altitude))
    number = cook(book, at(1, "08:00"), hours=hours, mass=mass, wrap_h=7.0 if wrap else 0.0, wrap=wrap, ended=False)
    book.pieces.change(book.pieces.of(number)[0].id, flat=flat, target=one.target)
    book.cooks.end(number, at(3, "08:00"))
    found = learn(book, usual, lambda _: altitude)
    assert found.pace.cooks == 1 and found.pace.own == pytest.approx(1.0, abs=0.01)
    if altitude:
        assert learn(book, usual).pace.own != pytest.approx(1.0, abs=0.01)  # as it would be taught at the sea


def test_a_forecast_in_another_wrap_would_teach_another_pace() -> None:
    one = PieceRow(id=1, cook=1, name="Alder", cut="packer", mass=5.5)
    bare, paper, foil = (usual(cooked(one, wrap)) for wrap in ("", "paper", "foil"))
    assert foil < paper < bare


def test_slips_and_what_is_not_known_teach_nothing(book: Logbook) -> None:
    cook(book, at(1, "08:00"), hours=11.0, out=False, shades=[(1, 9)])  # an early shade; never noted as out
    cook(book, at(2, "08:00"), carved=0.2)  # a slip of the scales
    cook(book, at(3, "08:00"), hours=30.0, out=True)  # three times the forecast
    cook(book, at(5, "08:00"), carved=5.5 * 0.6, shades=[(4, 6)], ended=False)  # still open
    assert learn(book, lambda night: 10.0).words("packer") == Learnt().words("packer") or (
        learn(book, lambda night: 10.0).pace.cooks == 1  # that of the second, which was 11 h
    )
    found = learn(book, lambda night: 10.0)
    assert found.cooked["packer"].cooks == 0 and found.bark.cooks == 0 and found.pace.cooks == 1
    assert learn(book, lambda night: float("inf")).pace.cooks == 0
    assert learn(book).pace.cooks == 0


def test_shades_after_the_wrap_do_not_count(book: Logbook) -> None:
    cook(book, at(1, "08:00"), shades=[(4, 4), (9, 9)], wrap_h=6.0)
    assert learn(book).bark.own == pytest.approx(8.0 / SHADE_8_H)


def test_carved_meat_is_weighed_or_not(book: Logbook) -> None:
    number = cook(book, at(1, "08:00"), ended=False)
    piece = book.pieces.of(number)[0].id
    book.events.note(number, "carved", at(2, "08:00"), at(2, "08:00"), piece)  # no weight, as ever
    with pytest.raises(BadEntry, match=r'"carved" 300.0 kg is out of range'):
        book.events.note(number, "carved", at(2, "08:00"), at(2, "08:00"), piece, 300.0)


@given(st.floats(0.3, 0.7), st.lists(st.floats(0.3, 0.8), min_size=1, max_size=20), st.booleans())
def test_what_is_used_lies_between_the_usual_and_ones_own(usual: float, own: list[float], log: bool) -> None:
    found = pull(usual, own, "yield", log=log)
    assert found.own is not None and found.cooks == len(own)
    low, high = sorted((usual, found.own))
    assert low - 1e-9 <= found.used <= high + 1e-9
    more = pull(usual, own * 3, "yield", log=log)
    assert abs(more.used - found.own) <= abs(found.used - found.own) + 1e-9  # more cooks pull harder


def divided(book: Logbook, at_h: float, carved: float = 1.3, part: float = 2.0) -> int:
    """A cook of one piece of 5.5 kg that was done after 11 h; a point of 2 kg was divided off it at that hour."""
    began = at(1, "08:00")
    number = cook(book, began, carved=1.7, shades=[(4, 5), (6, 8)], ended=False)
    [whole] = book.pieces.of(number)
    when = began + round(at_h * HOUR)
    book.events.note(number, "divided", when, when, whole.id, part)
    point = book.pieces.add(number, name="Point", cut="point", mass=part, part_of=whole.id, parted_at=when, on_at=began)
    book.pieces.change(whole.id, mass=5.5 - part)
    if carved:
        book.events.note(number, "carved", began + 12 * HOUR, began, point, carved)
    book.cooks.end(number, began + 13 * HOUR)
    return number


def test_a_divided_piece_teaches_once_and_as_the_whole_that_went_on(book: Logbook) -> None:
    divided(book, 11.0)
    masses = []

    def hours(night: Night) -> float:
        masses.append(night.piece.mass)
        return 10.0

    found = learn(book, hours)
    assert masses == [5.5] and found.pace.cooks == 1 and found.pace.own == pytest.approx(1.1, abs=0.01)
    assert found.cooked["packer"].own == pytest.approx(3.0 / 5.5) and found.cooked["point"].cooks == 0
    assert found.bark.cooks == 1


def test_what_was_divided_before_it_was_done_or_not_weighed_teaches_no_pace_or_yield(book: Logbook) -> None:
    divided(book, 5.0, carved=0.0)
    found = learn(book, lambda night: 10.0)
    assert found.pace.cooks == 0 and found.cooked["packer"].cooks == 0
    assert found.bark.own == pytest.approx(6.4 / SHADE_8_H)  # by 4 h alone: the note at 6 h is of a cut piece


@pytest.mark.parametrize("kind", ["tender", "hold_pit", "hold_oven", "in_box"])
def test_a_piece_is_done_when_it_was_felt_tender_or_first_held(book: Logbook, kind: str) -> None:
    """It took 10 h, though it came out after 11; "not yet" an hour before does not count."""
    number = cook(book, at(1, "08:00"), ended=False)
    [piece] = book.pieces.of(number)
    done = at(1, "18:00")
    book.events.note(number, "tender", done - HOUR, done, piece.id, text="not yet")
    book.events.note(number, kind, done, done, piece.id, 75.0 if kind == "hold_oven" else None)
    book.events.note(number, "in_oven", done + 3 * HOUR, done, piece.id)  # heated again, once it was done
    book.cooks.end(number, done + 5 * HOUR)
    assert learn(book, lambda night: 10.0).pace.own == pytest.approx(1.0, abs=0.01)


def test_the_next_cook_gets_the_nights_of_real_cooks_before_it(book: Logbook) -> None:
    first = cook(book, at(1, "08:00"), hours=11.0, shades=[(4, 5), (6, 8)], wrap_h=7.0, wrap="foil")
    cook(book, at(2, "08:00"), hours=20.0, simulated=True)
    later = cook(book, at(3, "08:00"), hours=9.0)
    nights = list(earlier.nights(book, later))
    assert [[night.cook for night in some] for some in nights] == [[first]]
    told = msgspec.convert(nights[0][0], exchange.Earlier, from_attributes=True)
    assert told.hours == pytest.approx(11.0) and told.wrap_h == pytest.approx(7.0) and told.pit_c == pytest.approx(128)
    assert (told.piece.wrap_with, told.piece.cut, told.piece.mass) == ("foil", "packer", 5.5)
    assert told.shade_h == pytest.approx(6.1, abs=0.1)
    assert [some[0].cook for some in earlier.nights(book, 1 << 40)] == [later, first]  # the newest first


def test_the_engine_reads_one_earlier_cook_at_a_time_and_none_for_a_simulated_one(book: Logbook) -> None:
    before = [cook(book, at(day, "08:00")) for day in (1, 2)]
    tonight, rehearsed = (cook(book, at(3, hour), simulated=hour > "09") for hour in ("08:00", "20:00"))
    said: list[str] = []
    none: Any = None
    outlook = Expected(
        book, none, none, (), task=lambda _: None, steady=lambda: 0.0, log=said.append, on_change=lambda: None
    )
    for number, first, then in ((tonight, before[1:], before[::-1]), (rehearsed, [], [])):
        for wanted in (first, then, then):
            outlook._look_back(book.cooks.get(number))
            assert [night.cook for night in outlook._before] == wanted
    outlook._look_back(book.cooks.get(tonight))
    outlook._unread = failing()
    outlook._look_back(book.cooks.get(tonight))
    assert said == ["an earlier cook was not read: gone"] and [night.cook for night in outlook._before] == before[1:]


def failing() -> Iterator[list[Night]]:
    raise LogbookError("gone")
    yield []

"""Serving moves during a cook: choices with odds, from what the logbook holds."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from plan_kit import LONDON, at, cook
from rendered import words
from tuyere import paths
from tuyere.cli.plan import _running
from tuyere.cook.snapshot import Kitchen
from tuyere.forecast import exchange
from tuyere.logbook import Logbook
from tuyere.plan import joint_odds, move
from tuyere.plan import under_way as running_now
from tuyere.plan.draws import _laid_out
from tuyere.plan.times import HOUR, MINUTE, BadPlan
from tuyere.text import Reader, rendered

ON, NOW = at(28, "06:00"), at(28, "13:00")


def ahead(known: exchange.Known) -> list[exchange.PieceAhead]:
    """Done 11 h after the meat went on, sooner when wrapped, hotter or in an oven; 1 h of 10 to 90 % on each side."""
    found = []
    for piece in known.pieces:
        hours = 11.0 + 0.5 * (piece.id % 2)
        hours -= 1.0 * any(note.kind == "wrapped" for note in piece.notes)
        hours -= 0.7 * (known.low > 125.0)
        hours -= 0.3 * (piece.place == "oven")
        likely = piece.on_at + round(hours * HOUR)
        found.append(exchange.PieceAhead(piece.id, exchange.Range(likely - HOUR, likely, likely + HOUR)))
    return found


@pytest.fixture
def book(tmp_path: Path) -> object:
    with Logbook(paths.logbook_path(tmp_path)) as book:
        yield book


def held(found: move.Moved) -> list[str]:
    return rendered(found.hold, Reader("C", LONDON, found.now))


def running(book: Logbook, pieces: int = 2) -> int:
    number = cook(book, ON, hours=7.0, ended=False, out=False)
    for i in range(pieces - 1):
        book.pieces.add(number, name=f"Bramble {i}", cut="packer", mass=5.0, probe=2, on_at=ON)
    return number


def chosen(book: Logbook, serve: str, oven: bool = False) -> dict[str, move.Choice]:
    found = move.choices(*_running(book, NOW), serve, oven, ahead, LONDON)
    return {one.name: one for one in found.choices}


def test_the_choices_have_odds_that_make_sense(book: Logbook) -> None:
    running(book)
    found = chosen(book, "18:30")
    assert set(found) == {"as it is", "wrap now", "band up", "wrap now, band up", "in waves"}
    assert found["as it is"].odds < found["wrap now"].odds < found["wrap now, band up"].odds
    assert found["band up"].odds > found["as it is"].odds and found["in waves"].odds >= found["as it is"].odds
    assert all(0.0 <= one.odds <= 1.0 for one in found.values())
    assert found["wrap now"].likely == found["as it is"].likely - HOUR
    assert "oven" in chosen(book, "18:30", oven=True)
    later = chosen(book, "21:00")
    assert all(one.odds >= found[name].odds for name, one in later.items())
    assert set(later) == {"as it is"}  # sure as it is: nothing that only makes the hold longer
    assert later["as it is"].odds > 0.95 and "hold the first piece" in words(later["as it is"].words)


def test_a_hold_that_has_passed_is_said_and_is_not_ready(book: Logbook) -> None:
    """Boxed 5 h ago in a cool box, which lasts for 3 to 4 h (computed); serving is moved on for 5 h more."""
    number = cook(book, ON - 5 * HOUR, hours=7.0, ended=False)
    [piece] = book.pieces.of(number)
    book.events.note(number, "in_box", NOW - 5 * HOUR, NOW, piece.id)
    book.pieces.change(piece.id, place="box")
    found = move.choices(*_running(book, NOW), "18:00", False, ahead, LONDON)
    assert found.choices[0].name == "as it is" and found.choices[0].odds == 0.0
    assert "Throw Alder away" in held(found)[0] and "no reading since" in held(found)[0]
    assert [one.name for one in found.choices] == ["as it is"]
    text = " ".join(move.page(found, "F", LONDON))
    assert "stayed at 140 F or above" in text and "h or so" not in text


def lying(book: Logbook, hours: float, pieces: int = 1, wrap: str = "") -> None:
    """The first piece came out so many hours ago, and was not noted into the box."""
    number = running(book, pieces)
    one = book.pieces.of(number)[0].id
    if wrap:
        book.events.note(number, "wrapped", NOW - 4 * HOUR, NOW, one, text=wrap)
    book.events.note(number, "out", NOW - round(hours * HOUR), NOW, one)
    book.events.note(number, "hand_reading", NOW - round(hours * HOUR), NOW, one, 95.0)
    book.pieces.change(one, place="out")


@pytest.mark.parametrize("pieces", [1, 3])
def test_meat_that_has_lain_out_is_never_ready(book: Logbook, pieces: int) -> None:
    """On the counter the surface is at 60 C within an hour (computed): 5 h later no choice may call it ready, and two
    hours below make it waste (USDA)."""
    lying(book, 5.0, pieces)
    for serve in ("18:30", "2026-11-30 18:00"):
        found = move.choices(*_running(book, NOW), serve, True, ahead, LONDON)
        assert [(one.name, one.odds) for one in found.choices] == [("as it is", 0.0)]
        assert held(found)[0].startswith("Throw Alder away")
        text = " ".join(move.page(found, "F", LONDON))
        assert "> 99 %" not in text and "it was below 140 F for 4 h 54 min; the rule allows 2 h." in text


def test_meat_that_lies_below_the_limit_for_less_than_two_hours_is_heated_at_once(book: Logbook) -> None:
    lying(book, 1.5)
    [said] = held(move.choices(*_running(book, NOW), "18:30", False, ahead, LONDON))
    assert "to 75 C at once; past 14:00 throw it away" in said  # its probe was last of the meat at 12:00


def test_meat_just_out_is_boxed_and_then_is_ready(book: Logbook) -> None:
    lying(book, 0.1)
    found = chosen(book, "15:30")
    assert found["as it is"].odds == 0.0 and found["keep it hot"].odds == 1.0
    assert "box it hot by then" in words(found["keep it hot"].words) and list(found) == ["as it is", "keep it hot"]
    long = chosen(book, "23:00")["keep it hot"]  # a cool box lasts for 2 to 4 h (computed)
    assert "an oven at 65 C or in the pit at 70-80 C" in words(long.words) and "box it hot" not in words(long.words)
    assert long.long and "in the oven at 65 C." in words(chosen(book, "23:00", oven=True)["keep it hot"].words)
    assert "too long for a hot hold" in words(chosen(book, "2026-11-30 18:00")["keep it hot"].words)
    [said] = held(move.choices(*_running(book, NOW), "14:00", False, ahead, LONDON))
    assert "at 60 C by Sat 13:" in said


def test_foil_keeps_meat_hot_longer_and_a_cold_reading_ends_the_hold(book: Logbook) -> None:
    lying(book, 0.6, wrap="foil")
    assert (
        "will be" not in words(chosen(book, "13:15")["as it is"].words)
        and chosen(book, "14:30")["keep it hot"].odds == 1.0
    )
    [cook] = book.cooks.all()
    [piece] = book.pieces.of(cook.id)
    book.events.note(cook.id, "hand_reading", NOW, NOW, piece.id, 55.0)
    assert list(chosen(book, "14:30")) == ["as it is"]


def test_a_long_hold_is_on_every_row_and_may_be_made_shorter(book: Logbook) -> None:
    """Sure as it is: a slower band is offered once no piece is lukewarm, a quicker one is not."""

    def slow(known: exchange.Known) -> list[exchange.PieceAhead]:
        late = 3 * HOUR * (known.low < 110.0)
        likely = [(one.id, one.finish.likely + late) for one in ahead(known) if one.finish]
        return [exchange.PieceAhead(one, exchange.Range(at - HOUR, at, at + HOUR)) for one, at in likely]

    running(book, 1)
    found = move.choices(*_running(book, NOW), "23:00", False, slow, LONDON)
    lines = move.page(found, "C", LONDON)
    assert any(line.split()[-4:] == ["5.3", "h", "too", "long"] for line in lines)
    assert "keeps hot" in found.keeps and "box it at" in words(found.choices[0].words)
    [slower] = found.choices[1:]
    assert slower.name == "band down" and slower.hold == pytest.approx(found.choices[0].hold - 3.0)
    book.pieces.add(book.cooks.all()[0].id, name="Clover", cut="packer", mass=5.0, on_at=ON)
    unread = move.choices(*_running(book, NOW), "23:00", False, slow, LONDON)
    assert [one.name for one in unread.choices] == ["as it is"]  # nobody knows how warm that one is
    days = move.choices(*_running(book, NOW), "2026-11-30 18:00", True, slow, LONDON)
    assert "too long for a hot hold" in words(days.choices[0].words) and "What is left goes" in words(
        days.choices[0].words
    )


def test_quicker_together_is_said_in_full(book: Logbook) -> None:
    running(book)
    assert words(chosen(book, "18:30")["wrap now, band up"].words).startswith("Wrap, and raise the band to 129-135 C")


def test_how_long_it_holds_is_that_of_the_cooks_own_place(book: Logbook) -> None:
    number = running(book)
    said = {}
    for place in ("box", "box with towels", "low oven"):
        book.cooks.set_text(number, "kitchen", f'{{"hold": "{place}"}}')
        found = move.choices(*_running(book, NOW), "23:59", False, ahead, LONDON)
        said[place] = f"{found.keeps} {words(found.choices[0].words)}"
    assert "In a cool box it keeps hot" in said["box"] and "too long" in said["box"]
    assert "towels it keeps hot" in said["box with towels"]
    assert "14 h and more" in said["low oven"] and "too long" not in said["low oven"]
    assert "In a low oven" in move.choices(*_running(book, NOW), "23:59", True, ahead, LONDON).keeps


def test_pieces_of_one_pit_are_late_together() -> None:
    """Odds as of a normal number that they share 0.6 of: more than their product, less than the worst of them."""
    assert joint_odds.all_done([0.9] * 3) == pytest.approx(0.80, abs=0.01)  # 0.73 each on its own
    assert 0.5**4 < joint_odds.all_done([0.5] * 4) < 0.5
    assert joint_odds.all_done([0.9, 0.0]) == 0.0 and joint_odds.all_done([1.0, 0.7]) == pytest.approx(0.7, abs=0.005)
    assert joint_odds.all_done([]) == 1.0
    assert joint_odds.waves([0.5, 0.5], [1.0, 1.0], 1) == pytest.approx(
        1.0 - joint_odds.all_done([0.5, 0.5]), abs=0.005
    )
    assert joint_odds.waves([0.2, 0.4], [0.6, 0.7], 0) == pytest.approx(joint_odds.all_done([0.6, 0.7]), abs=1e-9)
    # and as the plan draws them
    marks = [sorted(_laid_out(list(range(4000)), "a", f"a {i}")) for i in range(2)]
    assert marks[0] == marks[1]
    one, two = (_laid_out(list(range(4000)), "a", f"a {i}") for i in range(2))
    both = sum(a < 2800 and b < 2800 for a, b in zip(one, two, strict=True)) / 4000.0
    assert joint_odds.all_done([0.7, 0.7]) == pytest.approx(both, abs=0.03)


def test_the_best_comes_after_leaving_it_as_it_is(book: Logbook) -> None:
    running(book, 3)
    found = move.choices(*_running(book, NOW), "18:30", True, ahead, LONDON)
    odds = [one.odds for one in found.choices[1:]]
    assert found.choices[0].name == "as it is" and odds == sorted(odds, reverse=True)
    lines = move.page(found, "C", LONDON)
    assert max(map(len, lines)) <= 80 and any("wrap now" in line for line in lines)
    assert found.done_by == at(28, "18:30") - 3 * 10 * MINUTE - HOUR  # carving and an hour of rest, `trade`


def test_what_is_wrapped_or_out_or_carved_is_counted_so(book: Logbook) -> None:
    number = running(book)
    one, two = (piece.id for piece in book.pieces.of(number))
    for piece in (one, two):
        book.events.note(number, "wrapped", NOW - HOUR, NOW, piece, text="paper")
    assert "wrap now" not in chosen(book, "18:30")
    book.pieces.change(one, place="box")
    boxed = chosen(book, "15:00")["as it is"]
    assert boxed.odds < 0.01
    later = chosen(book, "17:30")  # a cool box keeps one piece above 60 C for 3 to 4 h (computed)
    assert later["as it is"].odds == 0.0 and "not hot by then" in words(later["as it is"].words)
    assert later["keep it hot"].odds > 0.01 and "to an oven at 65 C or to the pit at 70-80 C." in words(
        later["keep it hot"].words
    )
    book.pieces.change(two, place="carved")
    assert chosen(book, "15:00")["as it is"].odds == 1.0  # what is left is in the box
    book.pieces.change(one, place="carved")
    with pytest.raises(BadPlan, match="carved"):
        chosen(book, "18:30")


def test_a_piece_at_its_target_is_done_though_it_has_no_finish(book: Logbook) -> None:
    number = cook(book, ON, hours=7.0, ended=False, out=False, end_c=96.5)

    def done(known: exchange.Known) -> list[exchange.PieceAhead]:
        return [exchange.PieceAhead(piece.id) for piece in known.pieces]

    found = move.choices(*_running(book, NOW), "15:00", False, done, LONDON)
    assert found.choices[0].odds == 1.0 and found.choices[0].likely == NOW
    [piece] = book.pieces.of(number)
    book.pieces.change(piece.id, probe=0)
    assert move.choices(*_running(book, NOW), "15:00", False, done, LONDON).choices[0].odds == 0.0
    book.events.note(number, "hand_reading", NOW, NOW, piece.id, 96.0)
    assert move.choices(*_running(book, NOW), "15:00", False, done, LONDON).choices[0].odds == 1.0


def test_without_a_cook_or_pieces_or_meat_it_says_what_to_do(book: Logbook) -> None:
    with pytest.raises(BadPlan, match="No cook is open"):
        chosen(book, "18:30")
    number = book.cooks.start("Saturday", ON, "pico", False)
    with pytest.raises(BadPlan, match="no pieces"):
        chosen(book, "18:30")
    book.pieces.add(number, name="Alder", mass=5.5)
    with pytest.raises(BadPlan, match="not on yet"):
        chosen(book, "18:30")
    with pytest.raises(BadPlan, match="has passed"):
        chosen(book, "2026-11-28 12:00")


def test_a_simulated_cook_has_its_own_clock(book: Logbook) -> None:
    cook(book, ON, hours=7.0, simulated=True, ended=False, out=False)
    found = move.choices(*_running(book, NOW + 48 * HOUR), "18:30", False, ahead, LONDON)
    assert found.now == ON + 7 * HOUR and found.serve == at(28, "18:30")


def test_the_odds_of_a_range_go_through_its_tenths() -> None:
    finish = exchange.Range(1_000_000, 2_000_000, 4_000_000)
    for by, odds in ((1_000_000, 0.1), (2_000_000, 0.5), (4_000_000, 0.9)):
        assert joint_odds.chance(finish, by) == pytest.approx(odds, abs=1e-6)
    assert joint_odds.chance(None, 4_000_000) == 0.0
    assert joint_odds.chance(exchange.Range(5, 5, 5), 4) < 0.5 < move.chance(exchange.Range(5, 5, 5), 10)
    marks = [joint_odds.chance(finish, by) for by in range(0, 6_000_000, 100_000)]
    assert marks == sorted(marks)


def test_the_kept_known_is_not_changed_by_what_would_be(book: Logbook) -> None:
    running(book)
    _, known = _running(book, NOW)
    kept = msgspec.json.encode(known)
    running_now.wrapped_now(known)
    running_now.in_an_oven(known)
    assert msgspec.json.encode(known) == kept
    assert len(known.columns.at) == len(known.columns.pit) == len(known.columns.meats[0]) > 30


def test_what_is_held_is_done_and_nothing_hurries_it(book: Logbook) -> None:
    """Held in the pit: it is neither wrapped nor moved, and is taken out before the pit gets hotter."""
    number = running(book)
    one, two = (piece.id for piece in book.pieces.of(number))
    book.pieces.change(one, held=True)
    found = chosen(book, "17:30", oven=True)
    assert "Alder" not in words(found["wrap now"].words)
    assert "Take Alder out first" in words(found["band up"].words) and "Take Alder out" in words(found["oven"].words)
    book.pieces.change(two, held=True)
    assert list(chosen(book, "17:30", oven=True)) == ["as it is"] and chosen(book, "17:30")["as it is"].odds == 1.0
    _, known = _running(book, NOW)
    moved = running_now.in_an_oven(running_now.wrapped_now(known))
    assert [(piece.place, piece.notes) for piece in moved.pieces] == [("pit", []), ("pit", [])]


def test_felt_and_not_tender_is_not_done_at_its_target(book: Logbook) -> None:
    number = cook(book, ON, hours=7.0, ended=False, out=False, end_c=96.5)
    [piece] = book.pieces.of(number)
    assert chosen(book, "15:00")["as it is"].odds == 1.0
    book.events.note(number, "tender", NOW, NOW, piece.id, text="not yet")
    assert chosen(book, "15:00")["as it is"].odds < 0.1
    book.events.note(number, "tender", NOW, NOW, piece.id, text="tender")
    book.pieces.change(piece.id, tender_at=NOW)
    assert chosen(book, "15:00")["as it is"].odds == 1.0


def test_an_oven_that_holds_needs_the_limit_and_five_degrees(book: Logbook) -> None:
    """DIN 10508, as BfR 037/2020 quotes it: an appliance is set 5 K above the limit, here 60 C."""
    number = cook(book, ON, hours=7.0, ended=False, out=False)
    [piece] = book.pieces.of(number)
    book.events.note(number, "hold_oven", NOW - HOUR, NOW, piece.id, 62.0)
    book.pieces.change(piece.id, place="oven", held=True, oven=62.0)
    found = move.choices(*_running(book, NOW), "20:00", True, ahead, LONDON)
    assert held(found) == ["Set the oven that holds Alder to 65 C or more: a cooler one may not keep meat above 60 C."]
    assert found.keeps == "" and [one.name for one in found.choices] == ["as it is"]
    book.events.note(number, "hold_oven", NOW, NOW, piece.id, 75.0)
    assert not move.choices(*_running(book, NOW), "20:00", True, ahead, LONDON).hold


def test_what_is_chilled_is_no_part_of_a_hot_serving(book: Logbook) -> None:
    number = running(book)
    one, two = (piece.id for piece in book.pieces.of(number))
    book.pieces.change(one, place="cooling")
    found = move.choices(*_running(book, NOW), "23:00", False, ahead, LONDON)
    assert held(found)[0] == "Alder is chilled and not counted here: to serve it hot, heat it through to 74 C."
    assert not any("Alder" in said for said in held(found)[1:])
    assert found.choices[0].odds > 0.9
    book.pieces.change(two, place="fridge")
    with pytest.raises(BadPlan, match=r"carved or chilled \(Alder, Bramble 0\)"):
        chosen(book, "23:00")


def test_what_oven_and_pit_keep_is_the_limit_and_their_own_errors(book: Logbook) -> None:
    lying(book, 0.1)
    kitchen = Kitchen(oven_lowest=75.0, oven_error=8.0, pit_error=15.0)
    found = move.choices(*_running(book, NOW), "23:00", False, ahead, LONDON, kitchen=kitchen)
    assert "in an oven at 75 C or in the pit at 75-85 C" in held(found)[0]
    found = move.choices(*_running(book, NOW), "23:00", True, ahead, LONDON, kitchen=Kitchen(oven_error=8.0))
    assert "in the oven at 68 C." in held(found)[0]
    assert max(len(line) for line in move.page(found, "F", LONDON, move.NARROW)) <= move.NARROW

"""The serving time: what it leaves in one line, and what the hands do for it."""

from __future__ import annotations

from typing import Any

import pytest
from tuyere.cook.carving import carve_begins, must_be_done
from tuyere.cook.food_safety import THROW_AWAY
from tuyere.cook.prompts import prompts as all_prompts
from tuyere.cook.serving import prompts, serving
from tuyere.cook.snapshot import Cook, Decision, Event, Piece
from tuyere.text import Clock, Reader, render, text

MINUTE = 60_000
HOUR = 60 * MINUTE
SERVE = 1_700_000_000_000 // HOUR * HOUR


def piece(**changes: Any) -> Piece:
    return Piece(**{"id": 1, "name": "Alder", "cut": "packer", "probe": 1, "on_at": SERVE - 14 * HOUR, **changes})


def line(pieces: list[Piece], now: int) -> str:
    return render(serving(SERVE, pieces, now).words, Reader("F", now=now))


def clock(at: int) -> str:
    return render(text("{at}", at=Clock(at)), Reader("F"))


def test_without_a_time_nothing_is_said() -> None:
    assert serving(0, [piece()], SERVE).words == "" and prompts(serving(0, [], SERVE), [piece()], [], 60.0, SERVE) == []


def test_carving_and_rest_come_off_the_serving_time() -> None:
    cuts = ["packer", "pork shoulder"]
    assert carve_begins(cuts, SERVE) == SERVE - 22 * MINUTE
    assert must_be_done(cuts, SERVE) == SERVE - 82 * MINUTE


def test_the_line_has_time_likely_hold_and_odds() -> None:
    likely = SERVE - 7 * HOUR
    one = piece(finish_early=likely - HOUR, finish_likely=likely, finish_late=likely + HOUR, in_time=0.97)
    said = line([one], SERVE - 9 * HOUR)
    assert said == (
        f"Serve {clock(SERVE)}, likely ready {clock(likely)}, hold 6 h 50 min, odds 97 % (F8 weighs so long a hold)"
    )
    one.finish_likely = likely + 4 * HOUR
    assert line([one], SERVE - 9 * HOUR).endswith("hold 2 h 50 min, odds 97 %")


def test_what_is_chilled_or_thrown_away_is_not_served() -> None:
    one = piece(id=2, place="box", on_at=SERVE - 12 * HOUR)
    for place in ("cooling", "fridge", "thrown"):
        pieces = [piece(place=place, on_at=SERVE - 12 * HOUR), one]
        found = serving(SERVE, pieces, SERVE - HOUR)
        assert found.carve == SERVE - 10 * MINUTE
        assert {ask.piece for ask in prompts(found, pieces, [], 60.0, SERVE - HOUR)} == {2}


def test_reading_and_carving_are_listed_two_hours_ahead() -> None:
    box = [piece(place="box", on_at=SERVE - 12 * HOUR)]
    found = serving(SERVE, box, SERVE - 5 * HOUR)
    assert prompts(found, box, [], 60.0, SERVE - 5 * HOUR) == []
    assert [ask.kind for ask in prompts(found, box, [], 60.0, SERVE - 2 * HOUR)] == ["hand_reading", "carved"]


def test_the_odds_of_several_are_their_product() -> None:
    both = [
        piece(finish_likely=SERVE - 4 * HOUR, in_time=0.9),
        piece(id=2, finish_likely=SERVE - 3 * HOUR, in_time=0.5),
    ]
    found = serving(SERVE, both, SERVE - 6 * HOUR)
    assert found.odds == pytest.approx(0.45) and found.late and found.likely == SERVE - 3 * HOUR
    both[1].in_time = None
    assert serving(SERVE, both, SERVE - 6 * HOUR).odds is None


def test_felt_and_not_tender_the_odds_follow_its_range() -> None:
    """Done by SERVE less 70 min. The forecast's own share is of before somebody felt it."""
    one = piece(in_time=0.97, finish_likely=SERVE - 3 * HOUR, finish_late=SERVE - 2 * HOUR)
    for early, likely, late, odds in ((4, 3, 2, 0.97), (4, 3, 1, 0.9), (4, 1, 0, 0.5), (1, 0, 0, 0.1)):
        one.finish_early, one.finish_likely, one.finish_late = (SERVE - h * HOUR for h in (early, likely, late))
        assert serving(SERVE, [one], SERVE - 5 * HOUR).odds == pytest.approx(odds)


def test_late_says_by_how_much_and_asks_to_move_it() -> None:
    now = SERVE - 3 * HOUR
    one = piece(finish_likely=SERVE - 30 * MINUTE, in_time=0.2)
    found = serving(SERVE, [one], now)
    assert "40 min late, odds 20 % (F8 weighs what helps)" in render(found.words, Reader("F", now=now))
    (late,) = [p for p in prompts(found, [one], [], 60.0, now) if p.kind == "serving"]
    assert late.due == 0


def test_near_serving_it_is_read_carved_and_served() -> None:
    carve, boxed = SERVE - 10 * MINUTE, piece(place="box", hold_until=SERVE + HOUR, temperature=75.0)
    cook = Cook(id=1, name="c", started=SERVE - 16 * HOUR, meat_on=SERVE - 14 * HOUR)

    def due(now: int, events: list[Event]) -> dict[str, tuple[int, str]]:
        found = all_prompts(cook, [boxed], events, now, serving=serving(SERVE, [boxed], now))
        return {p.kind: (p.due, render(p.words, Reader("F", now=now))) for p in reversed(found)}

    early = due(carve - HOUR, [])
    assert early["hand_reading"][0] == carve - 15 * MINUTE and "140 F or more" in early["hand_reading"][1]
    assert early["carved"][0] == carve and "across the grain" in early["carved"][1]
    read = Event(id=1, at=carve - 12 * MINUTE, noted=0, kind="hand_reading", piece=1, value=72.0)
    assert "hand_reading" not in due(carve - 10 * MINUTE, [read])
    assert "carve now" in line([boxed], carve)


def test_a_hold_that_ends_before_carving_is_said() -> None:
    short = piece(place="box", hold_until=SERVE - HOUR, temperature=75.0)
    assert f"hot only until {clock(SERVE - HOUR)}" in line([short], SERVE - 3 * HOUR)


def test_after_the_time_and_after_carving() -> None:
    assert "5 min ago" in line([piece()], SERVE + 5 * MINUTE)
    assert line([piece(place="carved")], SERVE + 5 * MINUTE).endswith("nothing is left to carve")


def test_what_must_be_thrown_away_is_not_served() -> None:
    bad = piece(place="out", decision=Decision(verdict=THROW_AWAY))
    found = serving(SERVE, [bad], SERVE - HOUR)
    assert "nothing is left" in render(found.words, Reader("F")) and not prompts(found, [bad], [], 60.0, SERVE)


def test_a_piece_at_its_target_counts_as_ready_now() -> None:
    now = SERVE - 3 * HOUR
    assert serving(SERVE, [piece(temperature=96.0)], now).likely == now


def test_a_piece_that_goes_on_later_by_the_plan_does_not_hide_what_is_known_of_the_others() -> None:
    likely = SERVE - 3 * HOUR
    one = piece(finish_early=likely - HOUR, finish_likely=likely, finish_late=likely + HOUR, in_time=0.8)
    later = piece(id=2, name="Clover", on_at=0, goes_on=SERVE - 6 * HOUR)
    said = line([one, later], SERVE - 9 * HOUR)
    assert said.endswith(f"odds 80 %; Clover goes on at {clock(later.goes_on)}")
    late = piece(finish_likely=SERVE + HOUR, in_time=0.1)
    assert serving(SERVE, [late, later], SERVE - 9 * HOUR).late
    forgotten = piece(id=2, name="Clover", on_at=0)
    assert line([one, forgotten], SERVE - 9 * HOUR).endswith("no forecast yet")

"""What goes first: danger, meat that is done, the wrap, and the rounds last."""

from __future__ import annotations

from typing import Any

from tuyere.cook import ranks
from tuyere.cook.prompts import prompts
from tuyere.cook.ranks import ordered
from tuyere.cook.snapshot import Cook, Cycle, Piece, Prompt
from tuyere.text import Reader, render

MINUTE = 60_000
HOUR = 60 * MINUTE
ON = 1_700_000_000_000
COOK = Cook(id=1, name="c", started=ON - HOUR, meat_on=ON)


def kinds(pieces: list[Piece], now: int, **given: Any) -> list[str]:
    return [one.kind for one in prompts(COOK, pieces, [], now, Cycle(state="holding"), **given)]


def said(prompt: Prompt) -> str:
    return render(prompt.words, Reader("C"))


def test_a_wrap_in_minutes_goes_before_a_pan_that_is_overdue() -> None:
    best = ON + 7 * HOUR
    one = Piece(
        id=1, name="Alder", on_at=ON, probe=1, temperature=68.0, wrap_from=best, wrap_best=best, wrap_until=best + HOUR
    )
    found = kinds([one], best - 10 * MINUTE)
    assert found[0] == "wrapped" and {"pan_filled", "spritzed", "shade"} <= set(found[1:])
    assert kinds([one], best - HOUR)[0] != "wrapped"


def test_the_order_is_that_of_the_table() -> None:
    now = ON + 9 * HOUR
    done = Piece(id=1, name="Alder", on_at=ON, probe=1, temperature=95.5, wrap="paper")
    bare = Piece(id=2, name="Bramble", on_at=ON, probe=2, temperature=70.0, shade=8, shade_at=now)
    boxed = Piece(id=3, name="Clover", on_at=ON, place="box", hold_until=now + 20 * MINUTE, temperature=70.0)
    found = kinds([boxed, bare, done], now, fuel_ends=now + 30 * MINUTE)
    wanted = ["tender", "wrapped", "carved", "fuel_added", "pan_filled", "spritzed", "shade"]
    assert [kind for kind in found if kind in wanted] == wanted


def test_danger_goes_before_all() -> None:
    done = Piece(id=1, name="Alder", on_at=ON, probe=1, temperature=95.5, wrap="paper")
    found = prompts(COOK, [done], [], ON + 9 * HOUR, Cycle(state="fading"))
    assert found[0].rank == ranks.DANGER and "fading" in said(found[0])


def test_what_is_to_come_is_sorted_by_time() -> None:
    shade = Prompt("shade", "b", ON + 2 * HOUR, 0, ranks.SHADE)
    wrap = Prompt("wrapped", "a", ON + 3 * HOUR, 0, ranks.WRAP)
    now = Prompt("pan_filled", "c", 0, 0, ranks.PAN)
    assert ordered([wrap, shade, now], ON) == [now, shade, wrap]


def test_a_shade_past_the_wanted_one_says_wrap_now() -> None:
    dark = Piece(id=1, name="Alder", on_at=ON, probe=1, temperature=68.0, shade=9, shade_at=ON + 6 * HOUR)
    (wrap,) = [one for one in prompts(COOK, [dark], [], ON + 6 * HOUR) if one.kind == "wrapped"]
    assert wrap.due == 0 and "Wrap Alder in paper now: its shade 9" in said(wrap)


def test_a_piece_put_on_later_has_its_own_hours() -> None:
    late = Piece(id=2, name="Bramble", on_at=ON + 5 * HOUR, probe=2, temperature=40.0)
    found = {one.kind: one.due for one in prompts(COOK, [late], [], ON + 6 * HOUR)}
    assert found["spritzed"] == ON + 8 * HOUR and found["shade"] == ON + 9 * HOUR


def test_tender_ends_the_wait_at_whatever_temperature() -> None:
    one = Piece(id=1, name="Alder", on_at=ON, probe=1, temperature=91.0, wrap="paper", tender_at=ON + 10 * HOUR)
    found = prompts(COOK, [one], [], ON + 10 * HOUR)
    assert found[0].kind == "out" and "is tender" in said(found[0])
    assert not [one for one in found if one.kind == "tender"]


def test_not_yet_asks_again_in_25_minutes() -> None:
    felt = ON + 10 * HOUR
    one = Piece(id=1, name="Alder", on_at=ON, probe=1, temperature=96.0, wrap="paper", not_tender_at=felt)
    (again,) = [one for one in prompts(COOK, [one], [], felt + MINUTE) if one.kind == "tender"]
    assert again.due == felt + 25 * MINUTE and "again" in said(again)


def test_a_held_piece_is_neither_felt_for_nor_wrapped() -> None:
    held = Piece(id=1, name="Alder", on_at=ON, probe=1, temperature=80.0, held=True, finish_early=ON, shade=9)
    assert not {"tender", "wrapped", "shade"} & set(kinds([held], ON + 12 * HOUR))
    cool = Piece(id=1, name="Alder", on_at=ON, place="oven", held=True, oven=62.0, place_since=ON + 11 * HOUR)
    found = prompts(COOK, [cool], [], ON + 12 * HOUR)
    assert found[0].kind == "hold_oven" and "65 C or more" in said(found[0])

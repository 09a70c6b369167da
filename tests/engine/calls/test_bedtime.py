"""The test before bed: when it is asked for, what it brings, and for how long it counts."""

from __future__ import annotations

from datetime import datetime

import pytest
from calls_kit import NIGHT, route
from rendered import words
from tuyere.cook import woken
from tuyere.cook.snapshot import Waking
from tuyere.engine.calls.bedtime import AFTER, LASTS, VALID, Bedtime, Woken, asks, sounding
from tuyere.engine.calls.routes import Routes

HOUR = 3_600_000


@pytest.mark.parametrize(
    ("clock", "hours", "in_h"),
    [
        ("19:00", "23:00-06:00", 3.0),  # an hour before the sleep
        ("22:00", "23:00-06:00", 0),
        ("22:30", "23:00-06:00", 0),
        ("03:00", "23:00-06:00", 0),  # it was missed
        ("06:00", "23:00-06:00", 16.0),  # slept: the next evening
        ("23:30", "00:30-07:00", 0),
        ("12:00", "00:30-07:00", 11.5),
        ("20:00", "none", None),
        ("20:00", "", None),
    ],
)
def test_the_plans_hours_of_sleep_ask_for_it_in_the_evening(clock: str, hours: str, in_h: float | None) -> None:
    now = round(datetime.fromisoformat(f"2026-11-30 {clock}").timestamp() * 1000)
    found = asks(now, hours)
    assert found == (-1 if in_h is None else now + round(in_h * HOUR) if in_h else 0)


def test_each_route_brings_digits_of_its_own_two_minutes_later_and_for_half_an_hour() -> None:
    drawn = iter(["1111", "1111", "2222"])
    test, book = Bedtime(lambda: next(drawn)), Routes(routes=[route("phone"), route("sister")])
    test.ask(NIGHT)
    assert test.step(NIGHT + AFTER - 1, book) == [] and not test.waits(NIGHT)
    sent = NIGHT + AFTER
    assert test.step(sent, book) == [("phone", "1111"), ("sister", "2222")] and test.step(sent, book) == []
    assert test.answer(" 2222 ", sent) == "sister" and test.answer("3333", sent) == ""
    assert test.answer("1111", sent + VALID) == ""
    test.end()
    assert test.answer("1111", sent) == ""


def test_it_counts_for_18_hours_of_this_fire() -> None:
    done = Woken("phone", NIGHT, NIGHT)
    assert done.counts(NIGHT + LASTS - 1, NIGHT - HOUR) and not done.counts(NIGHT + LASTS, NIGHT - HOUR)
    assert not done.counts(NIGHT + HOUR, NIGHT + 1)  # another fire has been lit since
    assert not done.counts(NIGHT + HOUR, 0) and not done.counts(NIGHT - 1, NIGHT - HOUR)
    assert Woken.read("no json") == Woken() and not Woken().counts(NIGHT, NIGHT)


def test_a_mail_alone_wakes_nobody() -> None:
    mail = route("mail", address="mailto://me@example.org", kind="mailto")
    assert sounding(Routes(routes=[mail])) == [] and sounding(Routes(routes=[mail, route("phone")])) == ["phone"]


@pytest.mark.parametrize(
    ("waking", "kind", "said"),
    [
        (Waking(asked=True, ask_at=NIGHT), "look", "add a route"),
        (Waking(asked=True, routes=1, ask_at=NIGHT), "wake", "Before bed: test that a call wakes you (F7)"),
        (Waking(asked=True, routes=1, ask_at=0, test_waits=True), "wake", "Type the digits"),
        (Waking(asked=True, routes=1, ask_at=0, test_in=60), None, "on its way"),
        (Waking(asked=True, routes=1, ask_at=-1), None, "no call has been tested"),  # no sleep is planned
        (Waking(asked=True, routes=1, ask_at=0, watched=True), None, ""),
        (Waking(), None, ""),
        (Waking(asked=True, trouble="wake.json cannot be read"), None, "wake.json cannot be read"),
    ],
)
def test_what_the_hands_and_the_header_say(waking: Waking, kind: str | None, said: str) -> None:
    asked = woken.prompt(waking)
    assert (asked.kind if asked else None) == kind
    assert said in f"{words(woken.why(waking))} {words(asked.words) if asked else ''}"
    assert bool(woken.header(waking)) == (waking.asked and not waking.watched)

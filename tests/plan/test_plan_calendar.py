"""The calendar, read back by a library and looked at as bytes (RFC 5545: folding, CRLF, alarms, UIDs)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache

import icalendar
import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_kit import LONDON, at, make
from rendered import words
from tuyere.plan.calendar import ONLY, calendar
from tuyere.plan.result import Plan, Row
from tuyere.text import Span, band, text


@cache
def hall() -> Plan:
    """The village hall's supper."""
    return make()


def events(written: bytes) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(written).walk("VEVENT"))


def test_it_is_read_back_with_every_line_that_needs_hands() -> None:
    found = events(calendar(hall(), "C", LONDON))
    rows = [row for row in hall().rows if row.kind not in ONLY]
    assert [str(event["summary"]) for event in found] == [words(row.what) for row in rows]
    for event, row in zip(found, rows, strict=True):
        begin = event.decoded("dtstart")
        assert begin == datetime.fromtimestamp(row.at // 1000, UTC) and begin.tzinfo is not None
        assert event.decoded("dtend") > begin
        [alarm] = event.walk("VALARM")
        assert alarm["action"] == "DISPLAY" and str(alarm["description"])
        assert timedelta(hours=-2) <= alarm.decoded("trigger") < timedelta(0)
        assert event.decoded("dtstamp") == datetime.fromtimestamp(hall().made // 1000, UTC)


def test_the_supper_is_at_six_in_london_whatever_the_computer_thinks() -> None:
    serve = events(calendar(hall(), "C", LONDON))[-1]
    assert serve.decoded("dtstart").astimezone(LONDON).strftime("%a %d %b %H:%M") == "Sat 28 Nov 18:00"
    summer = make(now=at(20, "12:00", 7), serve=at(25, "18:00", 7))
    serve = events(calendar(summer, "C", LONDON))[-1]
    assert serve.decoded("dtstart").hour == 17 and serve.decoded("dtstart").astimezone(LONDON).hour == 18


def test_planned_again_the_events_are_the_same_ones_and_newer() -> None:
    one, two = (events(calendar(plan, "C", LONDON)) for plan in (hall(), make(now=at(26, "09:00"), oven=True)))
    assert len({str(event["uid"]) for event in one}) == len(one)
    both = {str(event["uid"]) for event in one} & {str(event["uid"]) for event in two}
    assert len(both) >= len(one) - 3  # a round more or less
    assert two[0]["sequence"] > one[0]["sequence"]
    other = msgspec.structs.replace(hall(), name="Another supper")
    assert not {str(event["uid"]) for event in events(calendar(other, "C", LONDON))} & both


def test_its_degrees_are_those_of_the_page() -> None:
    said = text("Phase `hold` ({held}), off by {off}", held=band(70.0, 80.0, fives=True), off=Span(3.0))
    plan = msgspec.structs.replace(hall(), rows=[Row(hall().on, "done", "Feel", said)])
    [hot], [cold] = (events(calendar(plan, units, LONDON)) for units in "FC")
    assert "(160-175 F), off by 5 F" in hot["description"] and "(70-80 C)" in cold["description"]


def named(words: str) -> Plan:
    row = Row(hall().on, "round", words, words, hall().on + 600_000)
    return msgspec.structs.replace(hall(), name=words, rows=[row])


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet=st.characters(exclude_categories=("Cs",)), max_size=200))
def test_any_text_is_folded_and_comes_back(text: str) -> None:
    written = calendar(named(text), "C", LONDON)
    assert written.endswith(b"\r\n")
    lines = written.split(b"\r\n")
    assert all(len(line) <= 75 for line in lines), max(lines, key=len)
    assert all(b"\n" not in line and b"\r" not in line for line in lines)
    [event] = events(written)
    assert event["uid"] and event.decoded("dtstart") == datetime.fromtimestamp(hall().on // 1000, UTC)
    plain = " ".join(text.split())
    if plain == text and text.isprintable():
        assert str(event["summary"]) == text
    for line in lines:
        line.decode()  # no letter is cut in two by a fold

"""The plan as a calendar (RFC 5545): an event for all that the hands do, each with an alarm. Times are in UTC.

UTC is clear also in a night in which the clocks change, and needs no table of zones. Calendars show local time.
An event keeps its UID when the same supper is planned again, so that a calendar moves it instead of adding one.
"""

from __future__ import annotations

import re
import uuid
from datetime import UTC, datetime, timedelta, tzinfo

import icalendar

from tuyere.plan.result import Plan, Row
from tuyere.plan.times import local
from tuyere.text import Reader, render

ROOT = uuid.UUID("6b0f2a5e-6a2c-5d0a-9b57-3a4c5d2f8e11")  # the name space of all our UIDs; drawn once
MOMENT = timedelta(minutes=10)  # the length of an event that has none
EARLIER = {"trim": 30, "light": 30, "on": 15, "wrap": 15, "carve": 15, "serve": 60}  # min before; else 5
ONLY = ("asleep", "hold")  # nothing that needs hands at a time


def calendar(plan: Plan, units: str = "C", zone: tzinfo | None = None) -> bytes:
    """The file; units: F or C; lines folded at 75 octets and ended by CRLF."""
    made = icalendar.Calendar()
    made.add("prodid", "-//Tuyere//plan//EN")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("method", "PUBLISH")
    made.add("x-wr-calname", _line(plan.name))
    count: dict[str, int] = {}
    reader = Reader(units.upper(), zone)
    for row in plan.rows:
        if row.kind in ONLY:
            continue
        count[row.kind] = count.get(row.kind, 0) + 1
        made.add_component(_event(plan, row, count[row.kind], reader))
    return made.to_ical()


def _event(plan: Plan, row: Row, number: int, reader: Reader) -> icalendar.Event:
    day = f"{local(plan.serve, reader.zone):%Y-%m-%d}"
    event = icalendar.Event()
    event.add("uid", f"{uuid.uuid5(ROOT, f'{plan.name}/{day}/{row.kind}/{number}')}@tuyere")
    event.add("dtstamp", _utc(plan.made))
    event.add("sequence", plan.made // 60_000 % (1 << 31))  # minutes: a later plan counts as a later edition
    begin = _utc(row.at)
    event.add("dtstart", begin)
    event.add("dtend", _utc(row.until) if row.until > row.at else begin + MOMENT)
    where = f"Pit {row.pit}: " if row.pit and len(plan.pits) > 1 else ""
    what = _line(where + render(row.what, reader))
    event.add("summary", what)
    about = " ".join([f"{plan.name}.", *(render(said, reader) for said in (row.detail, row.more) if said)])
    event.add("description", _line(about))
    event.add("transp", "OPAQUE" if row.hands else "TRANSPARENT")
    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", what)
    alarm.add("trigger", -timedelta(minutes=EARLIER.get(row.kind, 5)))
    event.add_component(alarm)
    return event


def _utc(at: int) -> datetime:
    return datetime.fromtimestamp(at // 1000, UTC)


def _line(text: str) -> str:
    """Without control characters, which a calendar may not carry."""
    return re.sub(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]", " ", text)

"""Calls as the steps in the logbook leave them: an engine that starts again goes on where the last one was."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.cook.faults import URGENT
from tuyere.engine.calls.call import MINUTE, Call
from tuyere.engine.calls.message import AGAIN, OVER, Cause
from tuyere.engine.calls.routes import Routes
from tuyere.logbook.rows import CallStep

Read = tuple[dict[str, Call], dict[str, tuple[str, str]], dict[str, int]]


def read(steps: Sequence[CallStep], book: Routes) -> Read:
    """(calls by code, attempts of which nobody knows yet what became, when a code that is over was last sent)."""
    calls: dict[str, Call] = {}
    flights: dict[str, tuple[str, str]] = {}
    told: dict[str, int] = {}
    for one in steps:
        if one.step == "silenced":
            _silenced(calls, one)
        elif one.step == "raised":
            _raised(calls, one, told.get(one.code, 0), book)
        elif (call := calls.get(one.code)) is not None:
            if one.step == "sending":
                flights[one.attempt] = (one.code, one.route)
                _sent(call, one, book)
            elif one.step in ("accepted", "failed"):
                flights.pop(one.attempt, None)
                call.answered(one.route, one.step == "accepted", one.wall)
            elif one.step == "over":
                told[one.code] = max(call.told_at, told.get(one.code, 0))
                call.rest()
                call.over = True
            else:
                _changed(call, one, book)
    return calls, flights, told


def _silenced(calls: dict[str, Call], one: CallStep) -> None:
    until = one.wall + round(float(one.words.split()[0]) * MINUTE)
    for call in calls.values():
        if call.urgent and not call.over:
            call.hush(until)


def _raised(calls: dict[str, Call], one: CallStep, last: int, book: Routes) -> None:
    """A new alarm, or the same one whose cause is back."""
    call = calls.get(one.code)
    if call is None or call.alarm != one.alarm:
        last = max(last, call.told_at if call is not None else 0)
        urgent = one.words == URGENT
        call = calls[one.code] = Call(code=one.code, alarm=one.alarm, urgent=urgent, cause=Cause("", one.at))
        call.begin(one.wall, last, book)
    elif call.over:
        call.back(one.wall, book)


def _changed(call: Call, one: CallStep, book: Routes) -> None:
    if one.step == "escalated":
        call.ring.append(one.route)
        call.pending.append(one.route)
        call.since[one.route] = one.wall
    elif one.step == "unheard":
        call.unheard, call.raced_at = True, one.wall
    elif one.step == "acknowledged":
        call.acked = one.wall
        call.rest()
        call.kind, call.due = AGAIN, one.wall + round(book.again * MINUTE)


def _sent(call: Call, one: CallStep, book: Routes) -> None:
    """A message was on its way; "repeat 3" is the third round."""
    kind, _, count = one.words.partition(" ")
    waking = call.urgent and kind != OVER
    if (kind, int(count)) != (call.kind, call.count):
        call.kind, call.count, call.pending = kind, int(count), []
        call.round_at = call.raced_at = one.wall
        call.accepted = not waking
        call.silent = 0
        call.every = round((book.again if kind == AGAIN else book.repeat) * MINUTE)
        call.due = one.wall + call.every if waking else 0
    if one.route not in call.pending:
        call.pending.append(one.route)
    if waking and one.route not in call.ring:
        call.ring.append(one.route)
    call.since.setdefault(one.route, one.wall)
    call.flight[one.route] = one.attempt

"""Each guard that needs a person: it calls at once, by real HTTP and SMTP, with words that fit a phone."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from calls_kit import NIGHT
from receivers import Mail, Web, mail, web
from tuyere.cook import faults as guards
from tuyere.cook.care import PAST, SPOILT, UNKEPT, Care, Need
from tuyere.cook.snapshot import Alarm, Cycle
from tuyere.engine.calls.call import Given
from tuyere.engine.calls.life import Calls
from tuyere.engine.calls.message import MOST, Now
from tuyere.engine.calls.post import Letter, deliver
from tuyere.engine.calls.routes import Route, Routes
from tuyere.engine.night import conditions as conditions_of
from tuyere.engine.night.alarms import Alarms
from tuyere.engine.night.conditions import FADING, Facts, conditions
from tuyere.logbook.errors import DiskFull

HOUR = 3_600_000
CYCLES = {
    **{f"trip {name}": Cycle(pit=190.0, state="tripped", trip=name) for name in guards.TRIPS},
    **{f"fan {code}": Cycle(pit=110.0, state="tripped", trip="fan", fan_fault=code) for code in guards.FAN_FAULTS},
    **{
        name: Cycle(pit=110.0, state="fading" if name == "probe_doubted" else "holding", reason=name)
        for name, guard in guards.REASONS.items()
        if guard.level == guards.URGENT
    },
    "fading": Cycle(pit=112.0, state="fading"),
}
HELD = Cycle(pit=128.0, state="holding", reason="in_band", fan=0.3)
NEED = Need(1, "Alder", 52.0, NIGHT + HOUR)
ROWS: dict[str, dict[str, Any]] = {
    **{name: {"cycle": cycle} for name, cycle in CYCLES.items()},
    "a piece's probe fails": {"cycle": msgspec.structs.replace(HELD, lost=1), "lost_piece": "Alder"},
    "restarted, nothing held": {"cycle": Cycle(pit=110.0), "restarted": True},
    "the board's program failed": {"notice": "ValueError in loop.py"},
    "the board does not fit": {"refused": "It has another layout of records."},
    "told again and not taken": {"untold": "its band"},
    "the logbook is gone": {"gone": "The folder /x is not there."},
    "the logbook is full": {"trouble": "The disk is full."},
    "meat that nobody keeps": {"cycle": Cycle(pit=60.0), "care": Care([NEED], now=NIGHT)},
    "meat past its time": {"care": Care([msgspec.structs.replace(NEED, past=True)], now=NIGHT)},
    "meat to be thrown away": {"care": Care(spoilt=["Alder"])},
    "too cool": {"cycle": msgspec.structs.replace(HELD, pit=90.0)},
    "too hot": {"cycle": msgspec.structs.replace(HELD, pit=160.0)},
    "hot without the fan": {"cycle": msgspec.structs.replace(HELD, pit=160.0, fan=0.0)},
    "leaking": {"cycle": msgspec.structs.replace(HELD, pit=140.0, fan=0.0, reason="leaking")},
}


def facts(row: str, now: int) -> Facts:
    return Facts(
        **{"now": now, "cooking": True, "cycle": HELD, "silent": 1.0, "beat": 1.0, "arrived": True, **ROWS[row]}
    )


class Full:
    """A logbook on a full disk: an alarm that cannot be written calls as well."""

    def add(self, *given: object, **more: object) -> int:
        raise DiskFull("the disk is full")

    def change(self, *given: object, **more: object) -> None:
        raise DiskFull("the disk is full")


@pytest.fixture(scope="module")
def services() -> Iterator[tuple[Web, Mail, str]]:
    with web() as http, mail() as (smtp, address):
        yield http, smtp, address


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.parametrize("row", ROWS)
def test_a_guard_that_needs_a_person_calls_one_within_ten_seconds(row: str, services: tuple[Web, Mail, str]) -> None:
    http, smtp, address = services
    book = Routes(routes=[
        Route(name="phone", address=http.address("x"), kind="json", units="F"),
        Route(name="mail", address=address, kind="mailto", units="C"),
    ])  # fmt: skip
    alarms, calls = Alarms(Full()), Calls(lambda steps: None)
    before = len(http.got), len(smtp.got)
    jobs, now = [], NIGHT
    for _ in range(25 * 4):  # quarters of a minute; a cause that has to stand for a while is raised later
        alarms.update(facts(row, now))
        if alarms.unwritten:
            break
        now += 15_000
    raised: list[Alarm] = alarms.fresh(alarms.unwritten)
    assert raised and all(alarm.raised == now for alarm in raised)
    given = Given(
        now=now, minute=180, clock=now, cook=1, standing=raised, present=alarms.present, routes=book,
        seen=Now(now, 127.5, [("Alder", 74.0), ("Bramble", 71.5), ("The neighbours' big one", None)]),
    )  # fmt: skip
    jobs = calls.step(given)  # in the tick in which the alarm was raised
    assert {job.route.name for job in jobs} == {"phone", "mail"}
    for job in jobs:
        route = job.route
        letter = Letter(address=route.address, kind=route.kind, title=job.title, body=job.body, limit=9.0)
        outcome = deliver(letter)
        assert outcome.ok, outcome
        calls.outcome(job.attempt, outcome.ok, outcome.why, now)
        assert len(job.title) + 1 + len(job.body) <= MOST
        assert "First: " in job.body and "Pit " in job.body
        assert (" F," in job.body or " F." in job.body) == (route.units == "F")
    assert (len(http.got), len(smtp.got)) == (before[0] + len(raised), before[1] + len(raised))
    assert calls.step(given) == []


def test_every_urgent_alarm_has_its_row() -> None:
    """But the lost link: it has a minute to come back (`test_life`)."""
    found = {one.code for row in ROWS for one in conditions(facts(row, NIGHT)) if one.level == guards.URGENT}
    text = Path(conditions_of.__file__).read_text() + Path(guards.__file__).read_text()
    declared = set(re.findall(r'URGENT,\s*\n?\s*"([a-z_]+)"', text)) | {"too_cool", "too_hot", "too_hot_fed", FADING}
    declared |= {UNKEPT, PAST, SPOILT, *(guards.trip(name, 0, 0).code for name in guards.TRIPS)}
    declared |= {one.code for one in (*guards.REASONS.values(), *guards.BOARD.values(), guards.PROBE_LOST)
                 if one.level == guards.URGENT}  # fmt: skip
    assert declared - found == {"link_lost"} - found


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_services_that_refuse_and_come_back_have_the_call_once(services: tuple[Web, Mail, str]) -> None:
    """HTTP 500 and SMTP 451 for 70 s: nothing is lost, everything that can sound does, then each has one message."""
    http, smtp, address = services
    book = Routes(routes=[
        Route(name="phone", address=http.address("x"), kind="json"), Route(name="mail", address=address, kind="mailto")
    ])  # fmt: skip
    alarms, steps = Alarms(Full()), []
    calls = Calls(steps.extend)
    before = len(http.got), len(smtp.got)
    http.answer, smtp.answer = 500, "451 not now"
    heard = []
    for second in range(0, 181, 5):
        now = NIGHT + second * 1000
        if second == 70:
            http.answer, smtp.answer = 200, "250 OK"
        alarms.update(facts("trip flare", now))
        given = Given(
            now=now, minute=180, clock=now, cook=1, standing=alarms.fresh(alarms.unwritten), present=alarms.present,
            routes=book, seen=Now(now, 190.0),
        )  # fmt: skip
        for job in calls.step(given):
            outcome = deliver(
                Letter(address=job.route.address, kind=job.route.kind, title=job.title, body=job.body, limit=9.0)
            )
            calls.outcome(job.attempt, outcome.ok, outcome.why, now)
        heard.append((second, calls.unheard))
    assert (len(http.got), len(smtp.got)) == (before[0] + 1, before[1] + 1)
    assert {second for second, unheard in heard if unheard} <= set(range(60, 105))
    assert any(unheard for second, unheard in heard if 60 <= second < 70) and not heard[-1][1]
    failed = [one for one in steps if one.step == "failed"]
    assert any("HTTP 500" in one.words for one in failed) and {one.route for one in failed} == {"phone", "mail"}

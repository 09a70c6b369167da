"""Each guard that needs a person: it calls at once, by real HTTP and SMTP, with words that fit a phone."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from calls_kit import NIGHT
from receivers import Mail, Web, mail, web
from tuyere.cook import faults as guards
from tuyere.cook.snapshot import Alarm, Cycle
from tuyere.engine.calls.call import Given
from tuyere.engine.calls.life import Calls
from tuyere.engine.calls.message import MOST, Now
from tuyere.engine.calls.post import Letter, deliver
from tuyere.engine.calls.routes import Route, Routes
from tuyere.engine.night.alarms import Alarms
from tuyere.engine.night.conditions import Facts
from tuyere.logbook.errors import DiskFull

ROWS = {
    **{f"trip {name}": Cycle(pit=190.0, state="tripped", trip=name) for name in guards.TRIPS},
    **{f"fan {code}": Cycle(pit=110.0, state="tripped", trip="fan", fan_fault=code) for code in guards.FAN_FAULTS},
    **{
        name: Cycle(pit=110.0, state="fading" if name == "probe_doubted" else "holding", reason=name)
        for name, guard in guards.REASONS.items()
        if guard.level == guards.URGENT
    },
    "fading": Cycle(pit=112.0, state="fading"),
}


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
    for _ in range(40 * 15):  # in quarters of a minute; a cause that has to stand for a while is raised later
        facts = Facts(now=now, cooking=True, cycle=ROWS[row], silent=1.0, beat=1.0, arrived=True)
        alarms.update(facts)
        if alarms.unwritten:
            break
        now += 250
    raised: list[Alarm] = alarms.fresh(alarms.unwritten)
    assert raised and all(alarm.raised == now for alarm in raised)
    given = Given(
        now=now, minute=180, clock=now, cook=1, standing=raised, present=alarms.present, routes=book,
        seen=Now(now, ROWS[row].pit, [("Alder", 74.0), ("Bramble", 71.5), ("The neighbours' big one", None)]),
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

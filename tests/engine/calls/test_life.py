"""The life of a call, with clocks handed in and services that take, refuse, hang and come back."""

from __future__ import annotations

from itertools import pairwise

import pytest
from calls_kit import MINUTE, Night, route
from hypothesis import given
from hypothesis import strategies as st
from tuyere.engine.calls.call import GONE, Call
from tuyere.engine.calls.message import MOST, Cause


def test_an_urgent_cause_calls_at_once_and_every_three_minutes_until_acknowledged() -> None:
    night = Night()
    night.stand("trip_hot")
    night.go(10)
    assert night.times() == pytest.approx([0, 3, 6, 9])
    night.acknowledge("trip_hot")
    assert night.go(20) == []
    assert night.steps()[:3] == ["raised", "sending", "accepted"] and "acknowledged" in night.steps()
    titles = [job.title for _, job in night.sent]
    assert titles == ["The cause trip_hot", *3 * ["Still: the cause trip_hot"]]


def test_acknowledged_and_unchanged_it_calls_again_after_half_an_hour() -> None:
    night = Night()
    night.stand("too_cool")
    night.go(1)
    night.acknowledge("too_cool")
    night.go(65)
    assert night.times() == pytest.approx([0, 31, 61], abs=0.1)
    assert night.steps().count("again") == 2


def test_awake_is_silence_for_a_quarter_of_an_hour_and_no_acknowledgement() -> None:
    night = Night()
    night.stand("trip_hot")
    night.go(1)
    assert night.calls.calling(night.now) == ["trip_hot"]
    assert night.calls.awake(night.now, 15) == night.now + 15 * MINUTE
    assert night.calls.calling(night.now) == [] and night.calls.silent_until(night.now)
    assert night.go(14) == []
    assert night.go(2) == ["phone Still: the cause trip_hot"]
    assert "acknowledged" not in night.steps()


def test_a_route_that_took_a_message_is_retried_after_its_next_failure_as_after_a_first_one() -> None:
    call = Call(alarm=1, code="trip_hot", urgent=True, cause=Cause("too hot", 0), every=180_000)
    call.due, call.pending = 1, ["phone"]
    waits = []
    for ok in (False, False, True, False):
        call.retry.clear()
        call.answered("phone", ok, 0)
        waits.append(call.retry.get("phone"))
    assert waits == [5_000, 10_000, None, 5_000]


def test_another_cause_calls_through_the_silence() -> None:
    night = Night()
    night.stand("trip_hot")
    night.go(1)
    night.calls.awake(night.now, 15)
    night.stand("link_deaf_x")
    assert night.go(1) == ["phone The cause link_deaf_x"]


def test_nobody_answers_so_the_next_is_called() -> None:
    night = Night(
        route("phone", next="sister", after=9), route("sister", next="neighbour", after=5), route("neighbour")
    )
    night.stand("trip_hot")
    night.go(16)
    assert night.times("sister")[0] == pytest.approx(9, abs=0.1)
    assert night.times("neighbour")[0] == pytest.approx(14, abs=0.1)
    assert night.times("phone")[:4] == pytest.approx([0, 3, 6, 9])
    assert night.steps().count("escalated") == 2


def test_no_route_accepts_for_a_minute() -> None:
    night = Night(route("phone", next="sister", after=30), route("sister"))
    night.takes = {"phone": "the service refused it (HTTP 500)", "sister": "no answer"}
    night.stand("trip_hot")
    night.go(0.9)
    assert not night.calls.unheard and not night.times("sister")
    night.go(0.3)
    assert night.calls.unheard and night.times("sister")[0] == pytest.approx(1, abs=0.1)
    night.takes = {"phone": "the service refused it (HTTP 500)"}
    night.go(1)
    assert not night.calls.unheard
    failed = [one.words for one in night.written if one.step == "failed" and one.route == "phone"]
    assert failed and set(failed) == {"the service refused it (HTTP 500)"}


def test_a_service_that_comes_back_gets_the_call_once() -> None:
    night = Night()
    night.takes = {"phone": "it could not be reached"}
    night.stand("trip_hot")
    night.go(0.5)
    tries = len(night.times())
    assert tries >= 3
    night.takes = {}
    night.go(1)
    assert len(night.times()) == tries + 1


def test_a_cause_that_goes_is_told_once_and_one_that_flaps_is_not() -> None:
    night = Night()
    night.stand("fading")
    night.go(1)
    for _ in range(20):  # flaps for 40 min
        night.present = set()
        night.go(1)
        night.present = {"fading"}
        night.go(1)
    assert not any("Over" in job.title for _, job in night.sent)
    assert len(night.times()) <= 41 / 3 + 1  # no more often than a cause that stands
    night.present = set()
    night.go(30)
    assert [job.title for _, job in night.sent].count("Over: the cause fading") == 1
    assert not night.sent[-1][1].urgent and night.sent[-1][1].title.startswith("Over")
    night.present = {"fading"}  # the alarm still stands: it is back
    assert night.go(1) == ["phone Still: the cause fading"]


def test_a_storm_of_a_thousand_conditions_is_one_message_a_cause() -> None:
    night = Night(route("phone", wants="all"))
    codes = [f"cause_{i}" for i in range(20)]
    for turn in range(1000):
        code = codes[turn % 20]
        if code in night.standing and turn % 3:
            night.present.discard(code)
            if night.standing[code].level == "warning":  # it goes by itself, and comes again as another alarm
                del night.standing[code]
        else:
            level = "warning" if int(code[6:]) % 2 else "urgent"
            if code not in night.standing:
                night.stand(code, level=level)
                night.standing[code].id = turn + 1
            night.present.add(code)
        night.go(0.001, each=60)
    assert (night.now - 1_900_000_000_000) / MINUTE < 2.5
    about = [job.code for _, job in night.sent]
    assert len(about) == len(set(about)) == 20


def test_repeats_of_several_causes_are_one_message_about_the_worst() -> None:
    night = Night()
    for code in ("fading", "meat_past_time", "trip_hot"):
        night.stand(code)
    night.go(2)
    assert len(night.sent) == 3
    assert len(night.go(2)) == 1
    assert "2 more causes" in night.sent[-1][1].body


def test_a_warning_is_one_message_to_who_wants_all() -> None:
    night = Night(route("phone"), route("mail", wants="all", kind="mailto"))
    night.stand("link_deaf", level="warning")
    night.go(60)
    assert [job.route.name for _, job in night.sent] == ["mail"]
    assert not night.sent[0][1].urgent


def test_hours_of_a_route() -> None:
    night = Night(route("phone", begin=22 * 60, end=7 * 60))
    night.minute = 12 * 60
    night.stand("trip_hot")
    assert night.go(30) == [] and not night.calls.unheard
    night.minute = 22 * 60
    assert night.go(1) == ["phone The cause trip_hot"]


def test_shelved_is_silent_until_then() -> None:
    night = Night()
    night.stand("trip_hot")
    night.go(1)
    night.standing["trip_hot"].shelved = night.now + 20 * MINUTE
    assert night.go(19.5) == []
    assert len(night.go(1)) == 1


def test_a_lost_link_has_a_minute_to_come_back() -> None:
    night = Night()
    night.stand("link_lost")
    assert night.go(0.9) == []
    night.present = set()
    assert night.go(2) == []
    night.present = {"link_lost"}
    assert night.go(0.5) == ["phone The cause link_lost"]


@pytest.mark.parametrize("when", [0.0, 0.5, 1.5, 4.0, 9.2, 12.0])
def test_killed_and_started_nothing_is_lost_or_doubled(when: float) -> None:
    def play(kills: bool) -> list[tuple[float, str]]:
        night = Night(route("phone", next="sister", after=9), route("sister"))
        night.stand("trip_hot")
        night.go(when)
        if kills:
            night.killed()
        night.go(14 - when)
        night.acknowledge("trip_hot")
        if kills:
            night.go(0)
            night.killed()
        night.go(40)
        return [(round(at, 1), job.route.name) for at, job in night.sent]

    assert play(True) == play(False)


def test_killed_while_it_was_on_its_way() -> None:
    night = Night()
    night.takes = {"phone": "wait"}
    night.stand("trip_hot")
    night.go(0.1)
    [job] = night.open
    night.killed()
    assert night.calls.flights == [job.attempt]
    assert night.go(0.3) == []  # nobody knows yet what became of it
    night.calls.outcome(job.attempt, True, "", night.now)
    assert night.go(2) == [] and len(night.sent) == 1
    night.takes = {}
    assert len(night.go(1)) == 1  # the repeat


def test_silence_and_its_end_outlive_a_restart() -> None:
    night = Night()
    night.stand("trip_hot")
    night.go(1)
    night.calls.awake(night.now, 15)
    night.killed()
    assert night.go(14) == []
    assert len(night.go(2)) == 1


@given(
    st.lists(
        st.sampled_from(["go", "gone", "back", "ack", "awake", "fail", "take", "kill", "clear", "clock"]), max_size=30
    )
)
def test_whatever_happens_no_cause_calls_more_often_than_its_repeat(acts: list[str]) -> None:
    night = Night(route("phone", next="sister", after=5), route("sister"))
    night.stand("trip_hot")
    for act in acts:
        if act == "gone":
            night.present = set()
        elif act == "back" and night.standing:
            night.present = set(night.standing)
        elif act == "ack" and night.standing:
            night.acknowledge("trip_hot")
        elif act == "awake":
            night.calls.awake(night.now, 15)
        elif act in ("fail", "take"):
            night.takes = {"phone": "no answer"} if act == "fail" else {}
        elif act == "kill":
            night.killed()
        elif act == "clear":
            if night.standing and not night.present and night.standing["trip_hot"].acknowledged:
                night.standing.clear()
            elif not night.standing:
                night.stand("trip_hot")
                night.standing["trip_hot"].id = len(night.written) + 10
        night.go(2)
    taken = {one.attempt for one in night.written if one.step == "accepted"}
    sent = [one for one in night.written if one.attempt in taken and one.step == "sending"]
    rounds = [(one.route, one.alarm, one.words) for one in sent]
    assert len(rounds) == len(set(rounds))  # nothing is sent twice
    calls = [at for at, job in night.sent if job.route.name == "phone" and job.attempt in taken and job.urgent]
    assert all(later - at >= 3 - 0.1 for at, later in pairwise(calls)), calls
    for _, job in night.sent:
        assert len(job.title) + 1 + len(job.body) <= MOST


def test_gone_is_longer_than_a_repeat() -> None:
    assert GONE >= 3 * MINUTE

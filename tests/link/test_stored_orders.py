"""Orders that the loop itself carries out: what it refuses, and what it has stored when it accepts."""

from __future__ import annotations

import json
from typing import Any

from hearth.core import fields
from hearth.link import messages
from hearth.link.lines import decode
from night_kit import Night


def said(night: Night) -> dict[str, Any]:
    """The last answer to an order."""
    lines = [json.loads(payload) for kind, payload in map(decode, night.loop.talk._first) if kind == messages.ANSWER]  # type: ignore[misc]
    return lines[-1]  # type: ignore[no-any-return]


def ordered(night: Night, name: str, **arguments: object) -> dict[str, Any]:
    """Give an order and let it be carried out."""
    del night.loop.talk._first[:]
    night.board.between = lambda serve: None
    night.order(name, **arguments)
    night.loop.step()
    while night.loop.talk.orders:  # a full block of records goes first
        night.loop.step()
    return said(night)


def test_settings_that_contradict_the_band_in_force_are_refused_with_both_numbers(night: Night) -> None:
    night.order("programme", rows=[[12110, 13500, 0, 0], [14000, 15000, 0, 0]])
    night.order("start")
    night.cycles(3)
    answer = ordered(night, "settings", values={"pit_limit": 16900})  # fits 135 C; the second phase goes to 150
    assert answer == {"id": 1, "ok": False, "why": "over_limit", "numbers": {"high": 15000, "pit_limit": 16900}}
    answer = ordered(night, "settings", values={"rest_above": 2600})
    assert answer["why"] == "over_limit"
    assert answer["numbers"] == {"high": 15000, "rest_above": 2600, "pit_limit": 17500}
    assert night.loop.settings.pit_limit == 17500 and night.loop.settings_number == 0
    assert ordered(night, "settings", values={"pit_limit": 17000})["ok"]
    assert ordered(night, "settings", values={"pit_limit": 15400})["numbers"]["high"] == 15000
    night.order("stop")
    night.cycles(1)
    assert ordered(night, "settings", values={"pit_limit": 15600})["ok"]  # nothing is held, and its own band fits
    answer = ordered(night, "start")
    assert answer["why"] == "over_limit" and answer["numbers"] == {"high": 15000, "pit_limit": 15600}
    assert night.loop.memory.mode == fields.MODE_OFF
    answer = ordered(night, "settings", values={"pit_limit": 15400})
    assert answer["numbers"] == {"high": 13500, "pit_limit": 15400}


def test_a_band_or_a_programme_against_the_limit_is_refused_with_both_numbers(night: Night) -> None:
    night.loop.talk.orders.append({"id": 7, "name": "band", "code": fields.ORDER_BAND, "first": 12000, "second": 16000})
    night.board.between = lambda serve: None
    night.loop.step()
    assert said(night) == {"id": 7, "ok": False, "why": "over_limit", "numbers": {"high": 16000, "pit_limit": 17500}}
    assert night.loop.out.high == 13500
    answer = ordered(night, "programme", rows=[[12110, 13500, 0, 0], [12110, 15600, 0, 0]])
    assert answer["numbers"] == {"high": 15600, "pit_limit": 17500} and night.loop.memory.phases == 0


def test_settings_that_are_in_force_already_are_accepted_and_cost_nothing(night: Night) -> None:
    assert ordered(night, "settings", values={"gain": 444})["ok"]
    number, records = night.loop.settings_number, night.loop.ring.next
    for _ in range(40):
        assert ordered(night, "settings", values={"gain": 444})["ok"]
    assert night.loop.settings_number == number and night.loop.ring.next == records + 40  # one record a cycle


def test_what_was_accepted_is_on_the_flash(night: Night) -> None:
    for i in range(8):
        assert ordered(night, "settings", values={"gain": 500 + i})["ok"]
        assert b'"gain": %d' % (500 + i) in (night.folder / "kept-settings").read_bytes()


def test_orders_that_write_are_rationed_and_those_of_safety_are_not(night: Night) -> None:
    why = [ordered(night, "settings", values={"gain": 500 + i})["why"] for i in range(messages.WRITES + 5)]
    assert why == ["accepted"] * messages.WRITES + ["too_soon"] * 5
    assert night.loop.settings.gain == 500 + messages.WRITES - 1
    for name in ("band", "start", "phase", "fan", "programme"):
        assert ordered(night, name, rows=[])["why"] == "too_soon", name
    for name in ("stop", "acknowledge", "opened", "looked"):
        assert ordered(night, name)["why"] != "too_soon", name
    night.cycles(messages.FORGIVEN)
    assert [ordered(night, "settings", values={"gain": 600 + i})["why"] for i in range(2)] == ["accepted", "too_soon"]


def test_a_demand_by_hand_may_be_changed_as_often_as_one_likes(night: Night) -> None:
    night.order("start")
    night.cycles(1)
    for i in range(60):
        night.loop.talk.orders.append(
            {"id": i, "name": "fan", "code": fields.ORDER_FAN, "first": 2000 + 10 * i, "second": 60}
        )
        night.cycles(1)
        assert night.loop.out.answer == fields.ACCEPTED


def test_one_order_of_the_loop_a_cycle_in_the_order_they_came(night: Night) -> None:
    for gain in (500, 501):
        night.order("settings", values={"gain": gain})
    night.order("start")
    night.order("settings", values={"gain": 502})
    seen = []
    for _ in range(4):
        night.cycles(1)
        seen.append((night.loop.settings.gain, night.loop.memory.mode))
    assert seen == [(500, 0), (501, 0), (502, 2), (502, 2)]


def test_a_long_hold_acknowledges_what_calls_and_else_says_that_somebody_looked(night: Night) -> None:
    night.order("start")
    night.cycles(3)
    night.board.button_held = True
    night.cycles(1)
    assert night.loop.now.order == fields.NO_ORDER
    night.board.button_let_go = True
    night.cycles(1)
    assert night.loop.now.order == fields.ORDER_LOOKED and night.loop.out.answer == fields.ACCEPTED
    night.board.faults = fields.PROBE_OPEN
    night.cycles(40)
    assert night.loop.out.trip == fields.TRIP_PROBE
    night.board.button_held = True
    night.cycles(1)
    assert night.loop.now.order == fields.ORDER_ACKNOWLEDGE
    night.board.button_let_go = True
    night.cycles(1)
    assert night.loop.now.order == fields.NO_ORDER  # that hold has said what it meant


def test_a_programme_says_where_the_phase_in_force_stands_in_it(night: Night) -> None:
    first, second = [12110, 13500, 0, 0], [10700, 12100, 0, 0]
    assert ordered(night, "programme", rows=[first, second])["ok"]
    ordered(night, "start")
    ordered(night, "phase", row=1)
    night.cycles(5)
    memory = night.loop.memory
    held = memory.phase_cycles
    assert ordered(night, "programme", rows=[second, first], row=0)["ok"]
    assert (memory.phase, memory.low) == (0, 10700) and memory.phase_cycles >= held
    assert ordered(night, "programme", rows=[second, first], row=1, afresh=True)["ok"]
    assert (memory.phase, memory.low) == (1, 12110) and memory.phase_cycles <= 1
    for row, why in ((2, "no_such_phase"), (-1, "no_such_phase"), ("1", "bad_arguments"), (1.0, "bad_arguments")):
        assert ordered(night, "programme", rows=[first, second], row=row)["why"] == why, row
    assert ordered(night, "programme", rows=[first])["ok"]  # without a row it keeps its number, or begins again
    assert memory.phase == 0


def test_a_programme_outlives_a_power_cut_from_the_moment_it_is_accepted(night: Night) -> None:
    assert ordered(night, "programme", rows=[[12110, 13500, 1, 60], [9000, 10000, 0, 0]], row=1)["ok"]
    memory = night.power_up().memory
    assert (memory.phases, memory.phase, memory.low, memory.high) == (2, 1, 9000, 10000)


def test_another_band_in_the_settings_is_in_force_at_once_only_where_nothing_else_was_said(night: Night) -> None:
    wider = {"band_low": 11000, "band_high": 14000}
    assert ordered(night, "settings", values=wider)["ok"] and night.loop.memory.low == 11000
    assert ordered(night, "programme", rows=[[12110, 13500, 0, 0]])["ok"]
    assert ordered(night, "settings", values={"band_low": 11500})["ok"]
    assert (night.loop.memory.phases, night.loop.memory.low) == (1, 12110)  # the programme's


def test_a_message_that_makes_no_sense_is_told(night: Night) -> None:
    night.board.between = lambda serve: None
    for kind, payload in ((messages.KEEP, b"short"), (messages.ORDER, b"{")):
        night.loop.talk._take(kind, payload)
        told = [payload for found, payload in map(decode, night.loop.talk._first) if found == messages.NOTICE]  # type: ignore[misc]
        assert told[-1] == b"a message of kind %s made no sense" % kind.encode()

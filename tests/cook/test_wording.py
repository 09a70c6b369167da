"""Words: every state has them, and temperatures in them can be turned into F."""

from __future__ import annotations

import itertools
import re
from typing import Any

import pytest
from hearth.core import fields
from hearth.link import messages
from rendered import words
from tuyere import codes, measures
from tuyere.cook import care, lessons, wording
from tuyere.cook.care import Care, Need
from tuyere.cook.snapshot import Cycle, Link


def test_names_stand_where_the_boards_codes_are() -> None:
    assert codes.STATES[fields.HOLDING] == "holding" and codes.STATES[fields.TRIPPED] == "tripped"
    assert codes.REASONS[fields.OPENED_TOLD] == "opened_told"
    assert codes.REASONS[fields.TRIPPED_SETTINGS] == "tripped_settings"
    assert len(codes.STATES) == fields.TRIPPED + 1 and len(codes.REASONS) == fields.EXPERIMENTING + 1
    assert len(codes.TRIPS) == fields.TRIP_SUPPLY + 1 and codes.TRIPS[fields.TRIP_FLARE] == "flare"
    assert codes.TRIPS[fields.TRIP_HOT] == "hot" and codes.TRIPS[fields.NO_TRIP] == ""


def stands(*given: Any, **named: Any) -> list[str]:
    """How the pit stands, as a reader of C has it."""
    return [words(said) for said in wording.stands(*given, **named)]


def test_every_refusal_of_the_board_has_words() -> None:
    assert {*messages.WHY, *messages.OWN_WHY} - {"", "accepted"} <= set(wording.REFUSALS)


def test_what_contradicts_the_limit_is_said_with_both_numbers() -> None:
    said = wording.refusal("over_limit", {"high": 15000, "pit_limit": 16900})
    assert words(said) == "Not done: the band goes up to 150 C, and the board trips at 169 C; 20 C must lie between."
    assert (
        words(said, "F") == "Not done: the band goes up to 302 F, and the board trips at 336 F; 36 F must lie between."
    )
    rests = words(wording.refusal("over_limit", {"high": 13500, "rest_above": 4100, "pit_limit": 17500}))
    assert "up to 135 C" in rests and "rest from 176 C on" in rests and "trips at 175 C" in rests
    assert words(wording.refusal("over_limit")) == f"Not done: {wording.REFUSALS['over_limit']}."


def test_every_state_and_reason_says_something() -> None:
    for state, reason, pit in itertools.product(codes.STATES, codes.REASONS, (None, 20.0, 126.4, 180.0)):
        said = stands(Cycle(pit=pit, state=state, reason=reason, fan=0.4, lost=2), 1)
        assert 1 <= len(said) <= 3
        assert all(line and len(line) < 110 for line in said)
        assert "_" not in " ".join(said) and "None" not in " ".join(said)


def test_a_headline_for_three_in_the_morning() -> None:
    assert stands(Cycle(pit=126.4, state="holding", reason="in_band"))[0] == "Holding 126 C, in the band"
    opened = stands(Cycle(pit=110, state="opened", reason="opened_felt"))
    assert opened[0] == "Opened: the fan does not answer the fall" and "felt" in opened[1]
    hot = stands(Cycle(pit=190, state="tripped", reason="tripped_hot", trip="hot"))
    assert "190 C" in hot[0] and "Close every vent" in hot[2]


@pytest.mark.parametrize("reason", ["below_band", "braking", "in_band"])
def test_a_pit_that_climbs_within_its_band_is_not_on_the_way_to_it(reason: str) -> None:
    below, inside = (stands(Cycle(pit=pit, state="climbing", reason=reason))[0] for pit in (110.0, 123.3))
    assert below.endswith("to 121-135 C") and "in the band" not in below
    assert "123 C, in the band" in inside and inside.endswith("and still rising")


@pytest.mark.parametrize("trip", [trip for trip in codes.TRIPS if trip])
def test_every_trip_says_what_why_and_what_to_do(trip: str) -> None:
    for fan_fault in range(6):
        cycle = Cycle(pit=126.4, state="tripped", reason=f"tripped_{trip}", trip=trip, fan_fault=fan_fault)
        said = stands(cycle, 1)
        assert len(said) == 3 and said[0].startswith("Tripped: ") and "126 C, fan off" in said[0]
        assert all(len(line) < 110 and ".." not in line for line in said)


def test_after_a_restart_the_headline_says_so() -> None:
    assert stands(Cycle(pit=100, resume="waiting"))[0] == "The board has restarted: 100 C, fan off"
    off = stands(Cycle(pit=60, reason="not_resumed", resume="refused"))
    assert "since the board restarted" in off[0] and "start again" in off[2]
    low = stands(Cycle(pit=120, state="holding", reason="supply_low", supply=10.24))
    assert "supply is too low" in low[0] and "10.2 V" in low[1]


def test_after_an_opening_the_fan_is_called_held_only_if_it_is() -> None:
    def why(fan: float, pull: float) -> str:
        cycle = Cycle(pit=101, state="holding", reason="recovering", fan=fan, pull=pull, owed=0.3, low=121, high=135)
        return stands(cycle)[1]

    assert "held at 50 %, less than the fall asks for" in why(0.5, 0.6)
    assert "held" not in why(1.0, 0.9) and "The fan is at 100 %" in why(1.0, 0.9)
    assert "held" not in why(0.3, 0.0)


def test_nobody_is_told_to_feed_the_fire_of_an_empty_pit() -> None:
    fading = Cycle(pit=110, state="fading", fan=1.0)
    assert "add lit charcoal" in stands(fading)[2]
    doubted = Cycle(pit=110, state="fading", reason="probe_doubted", fan=0.2)
    assert "before you feed the fire" in stands(doubted)[2] and "charcoal" not in " ".join(stands(doubted))
    empty = stands(fading, care=Care(empty=True))[2]
    assert empty == "The pit is empty and its fire is no longer needed: close every vent."


ALDER = Need(1, "Alder", 69.0)


@pytest.mark.parametrize("state", ["off", "burnout"])
def test_meat_that_nobody_keeps_warm_is_the_headline(state: str) -> None:
    said = stands(Cycle(pit=118, state=state), care=Care([ALDER]))
    assert said == [
        "Meat in the pit, and its fire is not being held: 118 C, fan off",
        "Alder, 69 C: still hot; 2 h to decide from when it is below 60 C.",
        "Light again and start (s), use an oven, or throw it away.",
    ]


def test_a_trip_and_a_fading_fire_are_named_before_the_meat_until_its_time_is_over() -> None:
    tripped = Cycle(pit=118, state="tripped", reason="tripped_fire", trip="fire")
    fading = Cycle(pit=118, state="fading", fan=0.9)
    for cycle in (tripped, fading):
        plain = stands(cycle)
        said = stands(cycle, care=Care([ALDER]))
        assert said[0] == plain[0] and said[1].startswith("Alder, 69 C: still hot") and said[2] == plain[2]
    gone = Care([Need(1, "Alder", 20.0, past=True)])
    for cycle in (tripped, fading, Cycle(pit=100, state="climbing", fan=1.0), Cycle(pit=30, state="off")):
        said = stands(cycle, care=gone)
        assert said[0].startswith(f"{care.LOST_TIME}: ") and "throw it away" in said[1]
    assert "fan 100 %" in stands(Cycle(pit=100, state="climbing", fan=1.0), care=gone)[0]


def test_the_fire_of_an_empty_pit_is_to_go_out_and_the_cook_goes_on() -> None:
    for state in ("off", "burnout", "fading"):
        said = " ".join(stands(Cycle(pit=118, state=state), care=Care(empty=True)))
        assert "no longer needed: close every vent" in said and "end the cook" not in said
        assert "Start when" not in said and "charcoal" not in said


def test_a_probe_that_came_out_with_its_piece_is_not_said() -> None:
    lost = Cycle(pit=128, state="holding", reason="in_band", lost=2)
    assert len(stands(lost, care=Care(probe_out=True))) == 2
    assert stands(lost, care=Care(changes=False))[-1] == "Probe 2 gives no reading: look at its plug."


def test_a_phase_that_waits_for_a_lost_probe_is_said() -> None:
    said = stands(Cycle(pit=128, state="holding", reason="in_band", lost=2))
    assert said[-1].startswith("Probe 2 gives no reading")


def test_without_a_cycle_the_link_speaks() -> None:
    for state in ("searching", "asking", "open", "lost", "none", "?"):
        said = wording.without_cycle(Link(state=state, words="no board found: plug it in."))
        assert words(said[1]) == "No board found: plug it in."


def test_one_is_not_many() -> None:
    assert [measures.count(n, "piece") for n in (0, 1, 2, 12_345)] == [
        "0 pieces",
        "1 piece",
        "2 pieces",
        "12,345 pieces",
    ]


def test_no_headline_shows_another_readers_units_or_its_own_source() -> None:
    """Every state and reason for a reader of F: a typed value in an f-string would be metric."""
    wrong = re.compile(r"\d C\b|\(c=| 0 %, what the fire usually needs")
    for state, reason, pit in itertools.product(codes.STATES, codes.REASONS, (None, 20.0, 126.4, 180.0)):
        for fan in (0.0, 0.4):
            said = wording.stands(Cycle(pit=pit, state=state, reason=reason, fan=fan), 1)
            shown = " ".join(words(one, "F") for one in said)
            assert not wrong.search(shown), (state, reason, shown)


@pytest.mark.parametrize(
    ("witness", "wanted"),
    [
        ("waits", "Probe 2 hangs beside the pit probe; the two are compared once the pit has warmed up."),
        ("agrees", "Probe 2 agrees with the pit probe within 4 C."),
        ("low", "Probe 2 reads 4 C less: it hangs out of the pit's air, or the pit probe lies over the fire."),
    ],
)
def test_what_a_second_probe_says_stands_below(witness: str, wanted: str) -> None:
    cycle = Cycle(pit=90.0, state="climbing", reason="below_band", witness=witness, beside=2, differs=4.0)
    assert [words(one) for one in stands(cycle)][2] == wanted


def test_a_pit_probe_that_a_second_one_shows_to_be_off_says_by_how_much() -> None:
    cycle = Cycle(pit=70.0, state="fading", reason="probe_doubted", fan=0.2, witness="pit_low", beside=1, differs=-45.0)
    head, why, act = (words(one) for one in stands(cycle))
    assert head.startswith("The pit probe reads too cool: 70")
    assert why == "Probe 1 beside it reads 45 C more; the pit is held by that one."
    assert act.startswith("Put the pit probe right")


@pytest.mark.parametrize(
    ("lesson", "share", "wanted"),
    [
        ("swung", 0.64, "more gently, with 64 % of its set gain, because the pit swung."),
        ("sluggish", 1.15, "more firmly, with 115 % of its set gain, because the pit came back late."),
        ("carried", 0.82, "more gently, with 82 % of its set gain, from what it learned in the last cook."),
        ("strong", 0.4, "more gently, with 40 % of its set gain, because the fan is strong for this pit."),
        ("swung", 1.0, ""),
        ("unlearned", 1.0, ""),
        ("", 1.0, ""),
    ],
)
def test_what_the_board_learned_stands_below_while_it_holds(lesson: str, share: float, wanted: str) -> None:
    said = stands(Cycle(pit=128.0, state="holding", reason="in_band", fan=0.2, lesson=lesson, share=share))
    assert said[2:] == ([f"The board moves the fan {wanted}"] if wanted else [])


def test_each_lesson_has_its_sentence_in_the_log_from_what_to_what() -> None:
    assert set(lessons.SEEN) == set(codes.LESSONS[1:]) == {*lessons.BECAUSE, "unlearned"}
    for lesson, seen in lessons.SEEN.items():
        assert words(lessons.changed(lesson, 0.8, 0.64)) == f"{seen}: from 80 % to 64 % of the set gain"

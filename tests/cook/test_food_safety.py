"""The one rule of food safety. Readings are invented; each limit has its source beside it."""

from __future__ import annotations

import pytest
from food_kit import COOKED, HOUR, MINUTE, ON, OUT, columns, decided, event, known, looked, straight, words
from tuyere.cook import food_safety
from tuyere.cook.food_history import history
from tuyere.cook.food_safety import COOKING, DOUBT, HEAT, HOT, MEASURE, THROW_AWAY
from tuyere.cook.snapshot import Kitchen, Piece
from tuyere.meat import safety
from tuyere.text import Reader, render, rendered

# USDA, advice to consumers, as several pages quote it: hot food at 60 C (140 F) or above; what has been between 4 and
# 60 C for more than 2 h is thrown away, 1 h in air above 32 C (90 F). The UK allows one period of up to 2 h below 63 C
# (Food Standards Agency, guidance on temperature control). Both agree on the 2 h.
TWO_HOURS = 2 * HOUR


@pytest.mark.parametrize("place", ["out", "box"])
@pytest.mark.parametrize("hours", [2.0, 3.0, 18.0])
def test_meat_that_lay_unread_for_longer_than_the_rule_is_thrown_away(place: str, hours: float) -> None:
    """A note that it was boxed is no temperature."""
    left = event({"out": "out", "box": "in_box"}[place], OUT)
    found = decided(COOKED, left, now=OUT + round(hours * HOUR), place=place)
    assert found.verdict == THROW_AWAY
    assert "Throw Alder away" in words(found) and "stayed at 140 F or above; the rule allows 2 h" in words(found, "F")


def test_only_a_reading_shows_that_it_stayed_hot() -> None:
    """Nothing heats it in a box: hot at the end, it was hot all the time before."""
    late = OUT + 5 * HOUR
    box, hot, cold = event("in_box", OUT), event("hand_reading", late, 66.0), event("hand_reading", late, 59.0)
    assert decided(COOKED, box, now=late, place="box").verdict == THROW_AWAY
    assert decided(COOKED, box, hot, now=late, place="box").verdict == HOT
    assert decided(COOKED, box, cold, now=late, place="box").verdict == THROW_AWAY
    heated = event("in_oven", late - HOUR)  # hot because the oven heated it: what was before nobody knows
    assert decided(COOKED, box, heated, hot, now=late, place="oven").verdict == THROW_AWAY


def test_unread_within_the_rule_it_is_to_be_measured_and_until_when() -> None:
    found = decided(COOKED, event("out", OUT), now=OUT + 90 * MINUTE, place="out")
    assert found.verdict == MEASURE and found.by == OUT + TWO_HOURS and found.since == OUT
    assert "Take the temperature of Alder: it was" in words(found) and "165 F" in words(found, "F")
    assert decided(COOKED, event("out", OUT), now=OUT + 30 * MINUTE, place="out").verdict == HOT
    never = decided([None] * 661, event("out", OUT), now=OUT + MINUTE, place="out")
    assert never.verdict == MEASURE and never.by == OUT + TWO_HOURS


def test_a_reading_below_the_limit_counts_from_the_last_one_above_it() -> None:
    out, cold = event("out", OUT), event("hand_reading", OUT + 90 * MINUTE, 58.0)
    found = decided(COOKED, out, cold, now=OUT + 100 * MINUTE, place="out")
    assert found.verdict == HEAT and found.by == OUT + TWO_HOURS and "to 74 C at once" in words(found)
    assert decided(COOKED, out, cold, now=OUT + TWO_HOURS, place="out").verdict == THROW_AWAY
    warm = [event("hand_reading", OUT + HOUR, 72.0), event("hand_reading", OUT + 100 * MINUTE, 58.0)]
    again = decided(COOKED, out, *warm, now=OUT + TWO_HOURS, place="out")
    assert again.verdict == HEAT and again.by == OUT + 3 * HOUR


def test_spells_below_the_limit_add_up_and_heating_again_does_not_undo_them() -> None:
    """USDA's 2 h are for all of it. That heating again does not undo what grew: Washington State University Extension
    ("mishandled foods cannot be made safe by reheating"), University of Nebraska-Lincoln on S. aureus ("thorough
    cooking destroys the bacteria, but the toxin is very resistant to heat")."""
    fell = [*COOKED, *[50.0] * 70, *[80.0] * 60]
    once = decided(fell)
    assert once.verdict == HOT and "1 h 10 min in all; the rule allows 2 h" in words(once)
    twice = [*fell, *[50.0] * 70, *[95.0] * 600]
    assert decided(twice).verdict == THROW_AWAY
    assert "withstands cooking" in words(decided(twice)) and "Washington State" in words(decided(twice))


def test_meat_that_was_hot_and_then_stood_at_45_is_not_told_that_its_heat_was_had() -> None:
    for minutes, verdict in ((30, HEAT), (180, THROW_AWAY)):
        found = looked([*COOKED, *[45.0] * minutes])
        said = " ".join(rendered(found.safe, Reader("C")))
        assert found.decision.verdict == verdict and "killed (6.5" not in said
    assert "killed (6.5 logs) at once" in " ".join(rendered(looked(COOKED).safe, Reader("C")))
    warmed = looked([*COOKED, *[45.0] * 60, *[61.0] * 7])  # 12 min at 60 C for 6.5 logs: FSIS Appendix A
    assert "not killed yet" in " ".join(rendered(warmed.safe, Reader("C"))) and warmed.decision.verdict == HOT


def test_the_time_after_the_first_hot_peak_counts_apart_from_the_come_up() -> None:
    """FSIS 2021, from memory: 10 to 54.4 C within 6 h. This one took 5.9 h, and none of that is in the 2 h."""
    slow = [*straight(5.0, 54.4, 6.6), *straight(54.4, 80.0, 2.0)]
    had = known(slow)
    assert had.counted == 0 and decided(slow).verdict == HOT
    assert known([*slow, *[50.0] * 61]).counted == pytest.approx(HOUR, abs=1.5 * MINUTE)


def test_a_come_up_longer_than_its_rule_says_what_to_do_with_the_meat() -> None:
    """FSIS 2021, from memory. Of whole muscle the bacteria are outside, of needled or injected meat inside as well:
    9 CFR 317.2(e)(3)."""
    slow = [*straight(5.0, 60.5, 9.0), 60.5]
    whole, needled = decided(slow), decided(slow, intact=False)
    assert whole.verdict == DOUBT and needled.verdict == THROW_AWAY
    assert "throw it away if in doubt" in words(whole) and "ask your local authority" in words(whole)
    assert "it took 7 h 1" in words(whole) and "from 50 F to 130 F" in words(whole, "F")
    assert words(needled).startswith("Throw Alder away: it is not whole muscle") and "withstands" in words(needled)
    assert decided(straight(5.0, 45.0, 8.0)).verdict == DOUBT  # not there yet, and past its rule
    assert decided(straight(5.0, 45.0, 5.0)).verdict == COOKING
    cold = decided([*slow, *[50.0] * 60])
    assert cold.verdict == HEAT and "No rule calls Alder safe" in words(cold)  # what is worse goes first


def test_a_come_up_that_nobody_read_is_not_taken_for_a_good_one() -> None:
    late = [*[None] * 420, *straight(70.0, 80.0, 1.0)]
    assert decided(late).verdict == HOT and decided(late, intact=False).verdict == DOUBT
    unread = decided([None] * 421, probe=0)
    assert unread.verdict == MEASURE and "no reading shows that it came to 130 F within 6 h" in words(unread, "F")
    assert decided([None] * 300, probe=0).verdict == COOKING
    early = [*[None] * 240, *straight(62.0, 80.0, 1.0)]  # 4 h at most
    assert decided(early, intact=False).verdict == HOT


def test_a_fire_that_dies_names_the_time_that_is_left() -> None:
    pit = [*[128.0] * 300, *straight(128.0, 40.0, 1.0), *[40.0] * 600]
    meat = [*straight(5.0, 70.0, 5.0), *straight(70.0, 30.0, 8.0)]  # 5 C an hour; at 60 C after 7 h
    soon = decided(meat[: 6 * 60], pit=pit[: 6 * 60])
    assert soon.verdict == HOT and soon.by == pytest.approx(ON + 9 * HOUR, abs=5 * MINUTE)
    below = decided(meat[: 8 * 60], pit=pit[: 8 * 60])
    assert below.verdict == HEAT and below.by == pytest.approx(ON + 9 * HOUR, abs=5 * MINUTE)
    assert decided(meat[: 9 * 60 + 3], pit=pit[: 9 * 60 + 3]).verdict == THROW_AWAY
    raw = [*straight(5.0, 40.0, 5.0), *[40.0] * 90]
    cold = decided(raw, pit=pit[: len(raw)])
    assert cold.verdict == HEAT and "get it into the heat at once" in words(cold)
    assert cold.by == pytest.approx(ON + 43 * MINUTE + 6 * HOUR, abs=2 * MINUTE)  # 10 C after 43 min, and 6 h
    assert "past" in words(cold) and decided(raw, pit=pit[: len(raw)], intact=False).by == cold.by


def test_a_pit_keeps_meat_hot_only_if_it_reads_the_limit_and_its_error_more() -> None:
    """The error of the place is asked for in plan and kitchen: by how much meat may lie cooler than the pit reads."""
    read = event("hand_reading", ON + 5 * HOUR, 62.0)
    held = [*[128.0] * 400, *[67.0] * 500]
    for error, verdict in ((10.0, THROW_AWAY), (5.0, COOKING)):
        assert decided([None] * 900, read, pit=held, probe=0, pit_error=error).verdict == verdict
    there = columns([None] * 900, held)
    piece = Piece(id=1, name="Alder", mass=5.0, on_at=ON, place="pit")
    for error, verdict in ((10.0, THROW_AWAY), (5.0, COOKING)):
        found = food_safety.look(piece, there, [read], there.at[-1], Kitchen(pit_error=error))
        assert found.decision.verdict == verdict


def test_in_the_heat_a_piece_without_a_probe_is_not_thrown_away() -> None:
    pit = [128.0] * 900
    assert decided([None] * 900, event("hand_reading", ON + 5 * HOUR, 62.0), pit=pit, probe=0).verdict == COOKING
    dead = [*[128.0] * 400, *[40.0] * 500]
    assert decided([None] * 900, event("hand_reading", ON + 5 * HOUR, 62.0), pit=dead, probe=0).verdict == THROW_AWAY
    oven = event("in_oven", ON + 390 * MINUTE)
    found = decided([None] * 900, event("hand_reading", ON + 5 * HOUR, 62.0), oven, pit=dead, probe=0, place="oven")
    assert found.verdict == COOKING  # a pit that is out is not its oven


def test_in_hot_air_the_rule_is_one_hour() -> None:
    """USDA: 1 h in air above 32 C (90 F)."""
    out = event("out", OUT)
    assert decided(COOKED, out, now=OUT + 61 * MINUTE, place="out", room=35.0).verdict == THROW_AWAY
    assert decided(COOKED, out, now=OUT + 61 * MINUTE, place="out", room=32.0).verdict == MEASURE
    with pytest.raises(ValueError, match="left_out_hours: nan is no temperature"):
        decided(COOKED, room=float("nan"))


@pytest.mark.parametrize(("limit", "verdict"), [(57.0, HOT), (60.0, HEAT), (63.0, HEAT)])
def test_the_limit_is_that_of_the_place(limit: float, verdict: str) -> None:
    """57 C: FDA Food Code 3-501.16, as WAC 246-215-03525 has it; 60 C: USDA; 63 C: UK, Food Standards Agency."""
    assert decided([*COOKED, *[59.0] * 10], limit=limit).verdict == verdict


def test_a_carved_piece_keeps_what_was_decided_when_it_was_carved() -> None:
    out = event("out", OUT)
    late = looked(COOKED, out, event("carved", OUT + 3 * HOUR), now=OUT + 9 * HOUR, place="carved")
    assert late.decision.verdict == THROW_AWAY
    good = looked(COOKED, out, event("carved", OUT + HOUR), now=OUT + 9 * HOUR, place="carved")
    assert good.decision.verdict == "" and not good.decision.said


def test_past_the_rule_the_words_end_with_the_local_rules_and_name_the_source() -> None:
    found = decided(COOKED, event("out", OUT), now=OUT + 18 * HOUR, place="out")
    assert found.said[-1] == safety.LOCAL and "USDA" in render(found.why, Reader("C"))
    assert sum("Staphylococcus" in one for one in rendered(found.said, Reader("C"))) == 1


def test_what_it_asks_is_said_in_one_sentence_that_stands_by_itself() -> None:
    for verdict in food_safety.ASKS:
        assert verdict in food_safety.VERDICTS
    asked = [
        decided(COOKED, event("out", OUT), now=OUT + hours * MINUTE, place="out") for hours in (90, 130)
    ] + [decided([*COOKED, *[50.0] * 30]), decided([*straight(5.0, 60.5, 9.0), 60.5])]  # fmt: skip
    assert [one.verdict for one in asked] == [MEASURE, THROW_AWAY, HEAT, DOUBT]
    assert all("Alder" in render(one.said[0], Reader("F")) for one in asked)


def test_a_probe_that_was_moved_tells_nothing_of_what_it_read_before() -> None:
    """From a piece that is done, by way of the room, into one that is still at 50 C; its seating was noted."""
    meat = [*COOKED, *[22.0] * 10, *[50.0] * 180]
    moved = decided(meat, event("probe_seated", OUT + 11 * MINUTE))
    assert moved.verdict == DOUBT  # of this piece only that it is not at 54.4 C after so many hours
    assert decided(meat, event("probe_seated", OUT + 11 * MINUTE), intact=False).verdict == THROW_AWAY
    assert decided(meat).verdict == THROW_AWAY  # nobody noted it: the readings are its own
    gone = [*COOKED, *straight(94.0, 45.0, 1.0), *[45.0] * 180, *[22.0] * 3, *[60.0] * 30]
    assert decided(gone, event("probe_seated", ON + len(gone) * MINUTE - 30 * MINUTE)).verdict == THROW_AWAY


def test_a_piece_set_out_to_cool_must_be_in_the_fridge_by_the_rule() -> None:
    """USDA, advice to consumers: into the fridge within the same 2 h."""
    cooling, fridge = event("cooling", OUT), event("in_fridge", OUT + HOUR)
    soon = looked(COOKED, cooling, now=OUT + 30 * MINUTE, place="cooling").decision
    assert soon.verdict == food_safety.CHILL and OUT < soon.by <= OUT + TWO_HOURS and "fridge" in words(soon)
    late = looked(COOKED, cooling, now=OUT + 3 * HOUR, place="cooling").decision
    assert late.verdict == THROW_AWAY
    assert looked(COOKED, cooling, fridge, now=OUT + 30 * HOUR, place="fridge").decision.verdict == ""
    forgotten = event("in_fridge", OUT + 3 * HOUR)
    assert looked(COOKED, cooling, forgotten, now=OUT + 9 * HOUR, place="fridge").decision.verdict == THROW_AWAY


def test_an_oven_that_holds_is_in_the_heat() -> None:
    held = event("hold_oven", OUT, 70.0)
    assert looked(COOKED, held, now=OUT + 5 * HOUR, place="oven").decision.verdict != THROW_AWAY


@pytest.mark.parametrize("limit", [float("nan"), float("inf"), -float("inf")])
def test_a_limit_that_is_no_number_is_refused(limit: float) -> None:
    with pytest.raises(
        ValueError, match=r"history: a hot-hold limit of \S+ C is none; give that of the place, such as 60 C"
    ):
        history(ON, 1, 1, columns(COOKED), [], OUT, limit)

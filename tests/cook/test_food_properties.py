"""What must hold of the rule of food safety whatever the readings are; drawn anew each time from the same seed."""

from __future__ import annotations

from food_kit import COOKED, HOUR, MINUTE, ON, OUT, columns, decided, event, known
from hypothesis import given, settings
from hypothesis import strategies as st
from tuyere.cook import food_safety
from tuyere.cook.food_history import history
from tuyere.cook.food_safety import COOKING, HOT, MEASURE, THROW_AWAY, VERDICTS, decision
from tuyere.cook.snapshot import Decision, Event

steady = settings(derandomize=True, deadline=None, max_examples=150)
WORSE = {verdict: i for i, verdict in enumerate(VERDICTS)}
LEGS = st.lists(st.tuples(st.integers(1, 150), st.floats(5.0, 95.0)), min_size=1, max_size=6)
UNREAD = st.none() | st.floats(-10.0, 130.0)
PLACED = st.sampled_from(["out", "in_box", "in_oven", "meat_on", "probe_seated", "wrapped", "carved"])
EVENTS = st.lists(st.tuples(PLACED, st.integers(0, 1500)), max_size=5)
HANDS = st.lists(st.tuples(st.integers(0, 1500), st.floats(-10.0, 120.0)), max_size=5)


def after(legs: list[tuple[int, float]], more: float = 0.0) -> list[float | None]:
    """Cooked, then stretches of minutes at one temperature each, `more` C warmer."""
    return [*COOKED, *[c + more for minutes, c in legs for _ in range(minutes)]]


def noted(events: list[tuple[str, int]], hands: list[tuple[int, float]]) -> list[Event]:
    found = [event(kind, ON + at * MINUTE) for kind, at in events]
    return found + [event("hand_reading", ON + at * MINUTE, c) for at, c in hands]


@given(LEGS, st.integers(0, 300), st.integers(1, 300))
@steady
def test_time_makes_nothing_better(legs: list[tuple[int, float]], wait: int, longer: int) -> None:
    """The same readings, later: what counts only grows, and what was to be thrown away stays so."""
    meat = after(legs)
    there = columns(meat)
    out = [event("out", there.at[-1])]
    verdicts, counted = [], []
    for at in (0, wait, wait + longer):
        had = history(ON, 1, 1, there, out, there.at[-1] + at * MINUTE, 60.0, "out")
        verdicts.append(WORSE[decision(had, "Alder", True).verdict])
        counted.append(had.counted)
    assert verdicts == sorted(verdicts) and counted == sorted(counted)


@given(LEGS, st.integers(1, 2000))
@steady
def test_what_is_to_be_thrown_away_stays_so_whatever_is_read_later(legs: list[tuple[int, float]], part: int) -> None:
    meat = after(legs)
    cut = len(COOKED) + part % (len(meat) - len(COOKED))
    if decided(meat[:cut]).verdict == THROW_AWAY:
        assert decided(meat).verdict == THROW_AWAY


@given(LEGS, st.floats(0.0, 5.0))
@steady
def test_warmer_after_it_was_hot_is_never_worse(legs: list[tuple[int, float]], more: float) -> None:
    cool, warm = known(after(legs)), known(after(legs, more))
    assert warm.counted <= cool.counted
    one, other = decision(cool, "Alder", True), decision(warm, "Alder", True)
    assert (other.verdict == THROW_AWAY) <= (one.verdict == THROW_AWAY)
    assert WORSE[other.verdict] <= WORSE[one.verdict]


@given(LEGS, st.floats(20.0, 50.0))
@steady
def test_hotter_air_is_never_better(legs: list[tuple[int, float]], room: float) -> None:
    meat = after(legs)
    assert WORSE[decided(meat, room=20.0).verdict] <= WORSE[decided(meat, room=room).verdict]


@given(LEGS)
@steady
def test_meat_that_is_not_whole_muscle_is_never_better_off(legs: list[tuple[int, float]]) -> None:
    meat: list[float | None] = [c for minutes, c in legs for _ in range(minutes)]
    assert WORSE[decided(meat).verdict] <= WORSE[decided(meat, intact=False).verdict]


@given(LEGS, st.integers(0, 10_000), st.integers(16, 400))
@steady
def test_readings_that_are_missing_make_nothing_better(legs: list[tuple[int, float]], where: int, gap: int) -> None:
    """Once it was hot, and the meat is out: a gap in its readings is never worth more than the readings."""
    meat = after(legs)
    first = len(COOKED) + where % (len(meat) - len(COOKED))
    holed = [None if first <= i < first + gap else c for i, c in enumerate(meat)]
    seat = event("probe_seated", OUT)
    full, less = (
        known(read, event("out", OUT), seat, place="out", now=ON + len(meat) * MINUTE) for read in (meat, holed)
    )
    later = [c for c in holed[first:] if c is not None]
    if not later or later[0] < 60.0:  # else a hot reading shows that it was hot all the time before
        assert less.counted >= full.counted - 16 * MINUTE  # within GAP it is taken to be as it last was


@given(st.lists(UNREAD, min_size=2, max_size=60), EVENTS, HANDS, st.integers(0, 1500), st.booleans())
@steady
def test_nothing_is_called_hot_without_a_reading_of_the_last_hour(
    shape: list[float | None], events: list[tuple[str, int]], hands: list[tuple[int, float]], now: int, intact: bool
) -> None:
    meat = [c for c in shape for _ in range(20)]
    when = ON + now * MINUTE
    found = decided(meat, *noted(events, hands), now=when, intact=intact)
    had = known(meat, *noted(events, hands), now=when)
    assert found.verdict in VERDICTS and (not found.by or found.by > had.now)
    assert found.said or found.verdict in (COOKING, HOT)
    if found.verdict == HOT:
        assert had.last is not None and had.last[1] >= 60.0 and had.now - had.last[0] <= food_safety.ASK
    if had.out and (had.last is None or had.last[1] < 60.0 or had.now - had.last[0] > HOUR):
        assert WORSE[found.verdict] >= WORSE[MEASURE]
    assert had.counted >= had.known >= 0 and had.counted <= had.now - had.on_at


@given(st.integers(1, 1200), st.sampled_from(["out", "in_box"]))
@steady
def test_the_decision_comes_when_it_was_said_to_come(minutes: int, kind: str) -> None:
    """`by` is the moment from which it is to be thrown away, if nothing is read any more."""

    def at(when: int) -> Decision:
        return decided(COOKED, event(kind, OUT), now=when, place="out")

    found = at(OUT + minutes * MINUTE)
    if found.by:
        assert at(found.by).verdict == THROW_AWAY and at(found.by - MINUTE).verdict != THROW_AWAY


@given(LEGS, EVENTS, HANDS)
@steady
def test_the_order_of_noting_does_not_matter(
    legs: list[tuple[int, float]], events: list[tuple[str, int]], hands: list[tuple[int, float]]
) -> None:
    notes = noted([(kind, 2 * at) for kind, at in events], [(2 * at + 1, c) for at, c in hands])
    if len({note.at for note in notes}) == len(notes):
        assert decided(after(legs), *notes) == decided(after(legs), *notes[::-1])

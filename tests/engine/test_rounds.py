"""The rounds: what the hands must do, and when. Hours are those of the job's table; shades are invented."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from tuyere.cook import programme
from tuyere.cook.follows import place_since
from tuyere.cook.prompts import HOUR, MINUTE, prompts
from tuyere.cook.snapshot import Cook, Cycle, Event, Piece, Prompt
from tuyere.logbook.kinds import KINDS

START = 1_700_000_000_000
ON = START + HOUR


def cook(**changes: object) -> Cook:
    return Cook(**{"id": 1, "name": "c", "started": START, "meat_on": ON, **changes})


def piece(**changes: object) -> Piece:
    return Piece(**{"id": 1, "name": "Alder", "probe": 1, "on_at": ON, **changes})


def event(kind: str, at: int, value: float | None = None, piece: int = 0, text: str = "") -> Event:
    return Event(at, at, at, kind, piece, value, text)


def of(kind: str, found: list[Prompt]) -> list[Prompt]:
    return [prompt for prompt in found if prompt.kind == kind]


def test_nothing_without_a_cook_or_after_it() -> None:
    assert prompts(None, [], [], START) == []
    assert prompts(cook(ended=ON), [piece()], [], ON) == []


def test_before_the_meat_the_setup() -> None:
    found = prompts(cook(meat_on=0), [], [], START)
    assert [p.kind for p in found] == ["look", "probe_seated", "pan_filled", "meat_on"]
    assert found[-1].due == START + HOUR
    holding = prompts(cook(meat_on=0), [], [event("probe_seated", START)], START, Cycle(state="holding"))
    assert of("meat_on", holding)[0].due == 0 and not of("probe_seated", holding)


def test_damp_from_hour_three_then_hourly() -> None:
    assert of("spritzed", prompts(cook(), [piece()], [], ON))[0].due == ON + 3 * HOUR
    done = event("spritzed", ON + 3 * HOUR + 5 * MINUTE)
    assert of("spritzed", prompts(cook(), [piece()], [done], ON))[0].due == ON + 4 * HOUR + 5 * MINUTE
    assert not of("spritzed", prompts(cook(), [piece(wrap="paper")], [], ON))


def test_a_bark_note_hourly_from_hour_four_for_each_unwrapped_piece() -> None:
    pieces = [piece(), piece(id=2, name="Bramble", wrap="foil"), piece(id=3, name="Clover", on_at=ON + HOUR)]
    found = of("shade", prompts(cook(), pieces, [event("shade", ON + 4 * HOUR, 3, 1)], ON + 4 * HOUR))
    assert {p.piece: p.due for p in found} == {1: ON + 5 * HOUR, 3: ON + 5 * HOUR}


def test_the_wrap_is_said_for_the_best_of_its_window() -> None:
    one = piece(wrap_from=ON + 6 * HOUR, wrap_best=ON + 7 * HOUR, wrap_until=ON + 8 * HOUR, wrap_with="foil")
    early = of("wrapped", prompts(cook(), [one], [], ON + 5 * HOUR))
    assert early[0].due == ON + 7 * HOUR and "in foil" in early[0].words and "shade 8" in early[0].words
    late = of("wrapped", prompts(cook(), [one], [], ON + 8 * HOUR))
    assert late[0].due == 0 and "now" in late[0].words
    assert not of("wrapped", prompts(cook(), [piece(wrap="paper", wrap_until=ON)], [], ON + 8 * HOUR))
    assert not of("wrapped", prompts(cook(), [piece(wrap_until=ON + HOUR, wrap_with="")], [], ON + 8 * HOUR))


def test_no_wrap_without_a_window() -> None:
    assert not of("wrapped", prompts(cook(), [piece()], [], ON + 8 * HOUR))


def test_it_is_felt_from_the_earliest_finish_on() -> None:
    one = piece(temperature=80.0, finish_early=ON + 9 * HOUR, finish_likely=ON + 10 * HOUR, finish_late=ON + 12 * HOUR)
    assert of("out", prompts(cook(), [one], [], ON + 7 * HOUR))[0].due == ON + 9 * HOUR
    assert of("out", prompts(cook(), [piece(finish_early=ON + HOUR)], [], ON + 7 * HOUR)) == []


def test_fuel_is_asked_for_before_it_may_end() -> None:
    def fuel(ends: int, now: int) -> Prompt:
        return of("fuel_added", prompts(cook(), [piece()], [], now, fuel_ends=ends))[0]

    assert fuel(ON + 20 * HOUR, ON).due == ON + 4 * HOUR  # the usual look comes first
    soon = fuel(ON + 3 * HOUR, ON + HOUR)
    assert soon.due == ON + 3 * HOUR - 45 * MINUTE and "may end from" in soon.words
    assert "any moment" in fuel(ON + HOUR, ON + 2 * HOUR).words


def test_a_held_piece_is_eaten_or_reheated_by_its_limit() -> None:
    box = event("in_box", ON, piece=1)
    held = prompts(cook(), [piece(place="box", temperature=75.0, hold_until=ON + 4 * HOUR)], [box], ON + HOUR)
    assert of("carved", held)[0].due == ON + 4 * HOUR - 30 * MINUTE and "at 60 C" in of("carved", held)[0].words
    trade = prompts(cook(), [piece(place="box", temperature=64.0)], [box], ON + HOUR, limit=63.0)
    assert of("carved", trade)[0].due == 0 and "63 C" in of("carved", trade)[0].words
    past = prompts(cook(), [piece(place="box", probe=0, hold_until=ON)], [box], ON + HOUR)
    assert "reheat" in of("carved", past)[0].words and of("carved", past)[0].due == 0


def test_the_finish_is_felt_for() -> None:
    assert of("out", prompts(cook(), [piece(temperature=95.5)], [], ON))[0].due == 0
    assert of("out", prompts(cook(), [piece(temperature=93.5)], [], ON))[0].due == ON + 15 * MINUTE
    assert not of("out", prompts(cook(), [piece(temperature=90.0)], [], ON))


def test_a_piece_is_felt_from_a_little_below_its_own_target() -> None:
    low = of("out", prompts(cook(), [piece(temperature=89.5, target=87.0)], [], ON))[0]
    assert low.due == 0 and "87 C" in low.words
    assert of("out", prompts(cook(), [piece(temperature=85.5, target=87.0)], [], ON))[0].due == ON + 15 * MINUTE
    assert not of("out", prompts(cook(), [piece(temperature=84.5, target=87.0)], [], ON))
    assert not of("out", prompts(cook(), [piece(temperature=95.0, target=98.0)], [], ON))


def test_nobody_is_to_feed_the_fire_of_an_empty_pit() -> None:
    found = prompts(cook(), [piece(place="box")], [], ON, Cycle(state="fading"))
    assert not of("fuel_added", found) and any("The pit is empty" in p.words for p in found)


def test_out_then_vented_then_boxed_and_held_hot() -> None:
    out = piece(place="out", place_since=ON + 12 * HOUR)
    vents = of("in_box", prompts(cook(), [out], [], ON + 12 * HOUR))[0]
    assert vents.due == ON + 12 * HOUR + 10 * MINUTE and "vent" in vents.words
    cool = prompts(cook(), [piece(place="box", temperature=61.0)], [], ON)
    assert of("carved", cool)[0].due == 0
    by_hand = prompts(cook(), [piece(place="box", probe=0)], [event("in_box", ON, piece=1)], ON)
    assert of("hand_reading", by_hand)[0].due == ON + HOUR
    assert any("empty" in p.words for p in by_hand)


def test_meat_that_grows_cold_goes_before_the_vents_of_an_empty_pit() -> None:
    out = [piece(place="out", place_since=ON + 12 * HOUR), piece(id=2, place="box", probe=0)]
    boxed = event("in_box", ON + 11 * HOUR + 40 * MINUTE, piece=2)
    kinds = [p.kind for p in prompts(cook(), out, [boxed], ON + 12 * HOUR + 30 * MINUTE)]
    assert kinds == ["in_box", "look", "hand_reading"]  # the box's reading is not due yet
    kinds = [p.kind for p in prompts(cook(), out, [boxed], ON + 12 * HOUR + 45 * MINUTE)]
    assert kinds == ["in_box", "hand_reading", "look"]
    late = prompts(cook(), out, [boxed], ON + 15 * HOUR)
    assert [p.kind for p in late] == ["hand_reading", "hand_reading", "look"]
    assert late[0].piece == 1 and late[0].due == 0 and "out since" in late[0].words and "60 C" in late[0].words


def test_what_a_reading_of_meat_that_lies_out_says_decides() -> None:
    out, since = [piece(place="out", place_since=ON + 12 * HOUR)], ON + 12 * HOUR

    def first(now: int, *readings: tuple[int, float]) -> Prompt:
        return prompts(cook(), out, [event("hand_reading", at, value, 1) for at, value in readings], now)[0]

    assert first(since + 2 * HOUR, (since - HOUR, 95.0)).kind == "hand_reading"  # of before it came out: says nothing
    hot = first(since + 2 * HOUR, (since + 90 * MINUTE, 72.0))
    assert hot.kind == "in_box" and "while it is hot" in hot.words
    again = first(since + 3 * HOUR, (since + 90 * MINUTE, 72.0))
    assert again.kind == "hand_reading" and "again, hot at" in again.words
    cold = first(since + 3 * HOUR, (since + 90 * MINUTE, 72.0), (since + 150 * MINUTE, 58.0))
    assert cold.kind == "carved" and cold.due == 0 and "reheat" in cold.words and "2 h" in cold.words


def test_since_when_a_piece_lies_out() -> None:
    out, twice = event("out", ON + HOUR, piece=1), event("out", ON + 2 * HOUR, piece=1)
    on, box = event("meat_on", ON), event("in_box", ON + 3 * HOUR, piece=1)
    assert place_since(1, [twice, out, on]) == out.at  # noted twice: the first time is when it cooled
    assert place_since(1, [on, out, box]) == box.at
    assert place_since(2, [on, out, event("out", ON + HOUR, piece=0)]) == 0
    assert place_since(1, [on, out, event("meat_on", ON + 2 * HOUR, piece=1)]) == 0  # back in the pit


def test_an_open_lid_and_a_fading_fire_come_first() -> None:
    assert prompts(cook(), [piece()], [], ON, Cycle(state="opened"))[0].words.startswith("Shut the lid")
    assert prompts(cook(), [piece()], [], ON, Cycle(state="fading"))[0].kind == "fuel_added"
    doubted = prompts(cook(), [piece()], [], ON, Cycle(state="fading", reason="probe_doubted"))
    assert doubted[0].kind == "look" and "before you feed" in doubted[0].words
    assert not [one for one in doubted if one.kind == "fuel_added" and one.due == 0 and "fading" in one.words]


EVENTS = st.builds(
    event,
    st.sampled_from(sorted(KINDS)),
    st.integers(START, START + 30 * HOUR),
    st.none() | st.floats(0, 10),
    st.integers(0, 3),
)
PIECES = st.builds(
    piece,
    id=st.integers(1, 3),
    place=st.sampled_from(["pit", "oven", "box", "out", "carved"]),
    wrap=st.sampled_from(["", "paper"]),
    temperature=st.none() | st.floats(0, 110),
    probe=st.integers(0, 3),
)


@given(st.lists(EVENTS, max_size=12), st.lists(PIECES, max_size=4), st.integers(0, 30 * HOUR), st.booleans())
def test_prompts_are_sorted_and_answerable(events: list[Event], pieces: list[Piece], after: int, on: bool) -> None:
    found = prompts(cook(meat_on=ON if on else 0), pieces, events, START + after)
    due = [p.due for p in found if not p.words.startswith("The pit is empty")]
    assert due == sorted(due)
    assert all(p.kind == "look" or p.kind in KINDS for p in found)
    assert found == prompts(cook(meat_on=ON if on else 0), pieces, events[::-1], START + after)


PHASES = programme.default()


def test_the_next_phase_says_what_becomes_of_the_band() -> None:
    row = Cycle(state="holding", phase=0, low=107.0, high=121.0)
    notes = [event("wrapped", ON + 5 * HOUR, piece=1)]
    found = of("phase", prompts(cook(), [piece(wrap="paper")], notes, ON + 6 * HOUR, row, PHASES, ON))
    assert "(the band becomes 121-135 C)" in found[0].words


def asked(pieces: list[Piece], notes: list[Event], row: int = 0, since: int = ON) -> list[Prompt]:
    at = ON + 6 * HOUR
    return of("phase", prompts(cook(), pieces, notes, at, Cycle(state="holding", phase=row), PHASES, since))


def test_a_phase_that_ends_at_the_wrap_asks_for_the_next_once_all_is_wrapped() -> None:
    both = [piece(wrap="paper"), piece(id=2, name="Bramble", wrap="paper")]
    notes = [event("wrapped", ON + 5 * HOUR, piece=1), event("wrapped", ON + 6 * HOUR, piece=2)]
    [found] = asked(both, notes)
    assert found.due == 0 and found.words.endswith("go on to the next phase, wrapped (the band stays)?")
    assert not asked([both[0], piece(id=2, name="Bramble")], notes[:1])  # one still smokes bare
    assert asked([both[0], piece(id=2, name="Bramble", place="oven")], notes[:1])  # one that is out does not wait
    assert not asked(both, notes, row=1)  # ends by a probe
    assert not asked(both, notes, row=2)  # the last
    assert not asked(both, notes, since=ON + 7 * HOUR)  # wrapped in an earlier phase: this one ends otherwise
    assert not asked([], [])

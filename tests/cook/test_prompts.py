"""The rounds: what the hands must do, and when. Hours are those of the job's table; shades are invented."""

from __future__ import annotations

from collections.abc import Sequence

from hearth.core import fields
from hypothesis import given
from hypothesis import strategies as st
from tuyere.cook import food_safety, programme, ranks
from tuyere.cook.care import Care, Need
from tuyere.cook.follows import place_since
from tuyere.cook.prompts import HOUR, MINUTE, prompts
from tuyere.cook.snapshot import Cook, Cycle, Event, Kitchen, Phase, Piece, Prompt
from tuyere.forecast.exchange import Columns
from tuyere.logbook.kinds import KINDS, PLACES
from tuyere.text import Clock, Reader, render, text

START = 1_700_000_000_000
ON = START + HOUR


def cook(**changes: object) -> Cook:
    return Cook(**{"id": 1, "name": "c", "started": START, "meat_on": ON, **changes})


def piece(**changes: object) -> Piece:
    return Piece(**{"id": 1, "name": "Alder", "probe": 1, "on_at": ON, **changes})


def event(kind: str, at: int, value: float | None = None, piece: int = 0, text: str = "") -> Event:
    return Event(id=at, at=at, noted=at, kind=kind, piece=piece, value=value, text=text)


def said(prompt: Prompt) -> str:
    return render(prompt.words, Reader("C"))


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
    assert early[0].due == ON + 7 * HOUR and "in foil" in said(early[0]) and "shade 8" in said(early[0])
    inside = of("wrapped", prompts(cook(), [one], [], ON + 6 * HOUR))
    assert said(inside[0]).startswith("Wrap Alder in foil by ") and inside[0].due == ON + 7 * HOUR
    late = of("wrapped", prompts(cook(), [one], [], ON + 8 * HOUR))
    assert late[0].due == 0 and "now" in said(late[0])
    assert not of("wrapped", prompts(cook(), [piece(wrap="paper", wrap_until=ON)], [], ON + 8 * HOUR))
    assert not of("wrapped", prompts(cook(), [piece(wrap_until=ON + HOUR, wrap_with="")], [], ON + 8 * HOUR))


def test_no_wrap_without_a_window() -> None:
    assert not of("wrapped", prompts(cook(), [piece()], [], ON + 8 * HOUR))


def test_it_is_felt_from_the_earliest_finish_on() -> None:
    one = piece(temperature=80.0, finish_early=ON + 9 * HOUR, finish_likely=ON + 10 * HOUR, finish_late=ON + 12 * HOUR)
    assert of("tender", prompts(cook(), [one], [], ON + 7 * HOUR))[0].due == ON + 9 * HOUR
    one.temperature = 61.0  # nobody is sent to feel that at the earliest end of a wide range
    [far] = of("tender", prompts(cook(), [one], [], ON + 9 * HOUR))
    assert far.due == ON + 10 * HOUR and said(far) == "Feel Alder: by its forecast it is done then"
    begins = piece(probe=0, finish_early=ON + 9 * HOUR, finish_likely=ON + 10 * HOUR)
    assert of("tender", prompts(cook(), [begins], [], ON + 9 * HOUR - 5 * MINUTE))[0].due == 0
    [there] = of("tender", prompts(cook(), [begins], [], ON + 10 * HOUR))
    assert there.due == 0 and said(there) == "Feel Alder: by its forecast it is done about now"


def test_fuel_is_asked_for_before_it_may_end() -> None:
    def fuel(ends: int, now: int) -> Prompt:
        return of("fuel_added", prompts(cook(), [piece()], [], now, fuel_ends=ends))[0]

    def look(*events: Event) -> int:
        return of("fuel_looked", prompts(cook(), [piece()], events, ON, fuel_ends=ON + 20 * HOUR))[0].due

    assert look() == ON + 4 * HOUR  # the usual look comes first
    assert look(event("fuel_looked", ON + 3 * HOUR)) == look(event("fuel_added", ON + 3 * HOUR)) == ON + 7 * HOUR
    soon = fuel(ON + 3 * HOUR, ON + HOUR)
    assert soon.due == ON + 3 * HOUR - 45 * MINUTE and "may end from" in said(soon)
    assert "any moment" in said(fuel(ON + HOUR, ON + 2 * HOUR))


def test_a_held_piece_is_eaten_or_reheated_by_its_limit() -> None:
    box = event("in_box", ON, piece=1)
    held = prompts(cook(), [piece(place="box", temperature=75.0, hold_until=ON + 4 * HOUR)], [box], ON + HOUR)
    assert of("carved", held)[0].due == ON + 4 * HOUR - 30 * MINUTE and "at 60 C" in said(of("carved", held)[0])
    trade = prompts(cook(), [piece(place="box", temperature=64.0)], [box], ON + HOUR, limit=63.0)
    assert of("carved", trade)[0].due == 0 and "63 C" in said(of("carved", trade)[0])
    past = prompts(cook(), [piece(place="box", probe=0, hold_until=ON)], [box], ON + HOUR)
    assert "take its temperature there" in said(of("hand_reading", past)[0]) and of("hand_reading", past)[0].due == 0


def test_the_finish_is_felt_for() -> None:
    assert of("tender", prompts(cook(), [piece(temperature=95.5)], [], ON))[0].due == 0
    assert of("tender", prompts(cook(), [piece(temperature=93.5)], [], ON))[0].due == ON + 15 * MINUTE
    assert not of("tender", prompts(cook(), [piece(temperature=90.0)], [], ON))


def test_a_piece_is_felt_from_a_little_below_its_own_target() -> None:
    low = of("tender", prompts(cook(), [piece(temperature=89.5, target=87.0)], [], ON))[0]
    assert low.due == 0 and "87 C" in said(low)
    assert of("tender", prompts(cook(), [piece(temperature=85.5, target=87.0)], [], ON))[0].due == ON + 15 * MINUTE
    assert not of("tender", prompts(cook(), [piece(temperature=84.5, target=87.0)], [], ON))
    assert not of("tender", prompts(cook(), [piece(temperature=95.0, target=98.0)], [], ON))


def test_nobody_is_to_feed_the_fire_of_an_empty_pit() -> None:
    found = prompts(cook(), [piece(place="box")], [], ON, Cycle(state="fading"))
    assert not of("fuel_added", found) and any("no longer needed" in said(p) for p in found)


def test_out_then_vented_then_boxed_and_held_hot() -> None:
    out = piece(place="out", place_since=ON + 12 * HOUR)
    vents = of("in_box", prompts(cook(), [out], [], ON + 12 * HOUR))[0]
    assert vents.due == ON + 12 * HOUR + 10 * MINUTE and "vent" in said(vents)
    cool = prompts(cook(), [piece(place="box", temperature=61.0)], [], ON)
    assert of("carved", cool)[0].due == 0
    by_hand = prompts(cook(), [piece(place="box", probe=0)], [event("in_box", ON, piece=1)], ON)
    assert of("hand_reading", by_hand)[0].due == ON + HOUR
    assert any("no longer needed" in said(p) for p in by_hand)


def judged(place: str, kind: str, at: int, now: int, *notes: Event, id: int = 1, name: str = "Alder") -> Piece:
    """A piece that was not read by a probe and came out, as the engine shows it at `now`."""
    one = piece(id=id, name=name, place=place, place_since=at, probe=0)
    left = Event(id=at, at=at, noted=at, kind=kind, piece=id)
    one.decision = food_safety.look(one, Columns(meats=[[], [], []]), [left, *notes], now, Kitchen()).decision
    return one


def test_meat_that_grows_cold_goes_before_the_vents_of_an_empty_pit() -> None:
    boxed = event("in_box", ON + 11 * HOUR + 40 * MINUTE, piece=2)

    def at(now: int) -> list[Prompt]:
        out = judged("out", "out", ON + 12 * HOUR, now)
        box = judged("box", "in_box", boxed.at, now, id=2, name="Bramble")
        return prompts(cook(), [out, box], [boxed], now)

    kinds = [p.kind for p in at(ON + 12 * HOUR + 30 * MINUTE)]
    assert kinds == ["in_box", "look", "hand_reading"]  # the box's reading is not due yet
    kinds = [p.kind for p in at(ON + 12 * HOUR + 45 * MINUTE)]
    assert kinds == ["hand_reading", "in_box", "look"]
    late = at(ON + 13 * HOUR + 20 * MINUTE)
    assert [p.kind for p in late] == ["hand_reading", "hand_reading", "look"]
    assert late[0].piece == 1 and late[0].due == 0 and "not read since" in said(late[0]) and "60 C" in said(late[0])
    past = at(ON + 15 * HOUR)
    assert [p.kind for p in past] == ["thrown_away", "thrown_away", "look"] and said(past[0]).startswith(
        "Throw Alder away"
    )


def test_what_a_reading_of_meat_that_lies_out_says_decides() -> None:
    since = ON + 12 * HOUR

    def first(now: int, *readings: tuple[int, float]) -> Prompt:
        notes = [event("hand_reading", at, value, 1) for at, value in readings]
        return prompts(cook(), [judged("out", "out", since, now, *notes)], notes, now)[0]

    assert first(since + 90 * MINUTE, (since - HOUR, 95.0)).kind == "hand_reading"  # nobody read it since it came out
    hot = first(since + 2 * HOUR, (since + 90 * MINUTE, 72.0))
    assert hot.kind == "in_box" and "while it is hot and note it" in said(hot)
    again = first(since + 3 * HOUR, (since + 90 * MINUTE, 72.0))
    assert again.kind == "hand_reading" and "not read since" in said(again)
    cold = first(since + 3 * HOUR, (since + 90 * MINUTE, 72.0), (since + 150 * MINUTE, 58.0))
    assert cold.kind == "in_oven" and cold.due == 0 and "75 C at once" in said(cold)
    assert first(since + 4 * HOUR, (since + 90 * MINUTE, 72.0), (since + 150 * MINUTE, 58.0)).kind == "thrown_away"


def test_a_piece_that_comes_out_says_at_once_until_when_it_must_be_read() -> None:
    since = ON + 12 * HOUR
    notes = [event("hand_reading", since - MINUTE, 95.0, 1)]
    for after in (MINUTE, 30 * MINUTE):
        there = judged("out", "out", since, since + after, *notes)
        found = prompts(cook(), [there], notes, since + after)[0]
        by = render(text("{by}", by=Clock(since + 2 * HOUR)), Reader("C"))
        assert found.kind == "in_box" and f"Read it by {by}: unread past that, it must be thrown away" in said(found)


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
    assert doubted[0].kind == "look" and "before you feed" in said(doubted[0])
    assert not [one for one in doubted if one.kind == "fuel_added" and one.due == 0 and "fading" in said(one)]
    assert not [one for one in doubted if "If cold meat" in said(one)]
    unnoted = prompts(cook(), [piece(on_at=0)], [], ON, Cycle(state="fading", reason="probe_doubted"))
    assert unnoted[1].kind == "meat_on" and "If cold meat went on, note it" in said(unnoted[1])


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
    place=st.sampled_from(PLACES),
    held=st.booleans(),
    tender_at=st.sampled_from([0, ON + 9 * HOUR]),
    not_tender_at=st.sampled_from([0, ON + 8 * HOUR]),
    shade=st.none() | st.integers(0, 10),
    wrap=st.sampled_from(["", "paper"]),
    temperature=st.none() | st.floats(0, 110),
    probe=st.integers(0, 3),
    **dict.fromkeys(("wrap_from", "wrap_best", "wrap_until", "finish_early", "finish_likely", "finish_late",
                     "hold_until", "goes_on"), st.sampled_from([0, *(ON + hour * HOUR for hour in range(4, 24, 4))])),
    wrap_with=st.sampled_from(["", "paper"]),
    on_at=st.sampled_from([0, ON]),
    oven=st.none() | st.floats(50, 120),
    place_since=st.sampled_from([0, ON + 10 * HOUR]),
)  # fmt: skip


@given(st.lists(EVENTS, max_size=12), st.lists(PIECES, max_size=4), st.integers(0, 30 * HOUR), st.booleans())
def test_prompts_are_sorted_and_answerable(events: list[Event], pieces: list[Piece], after: int, on: bool) -> None:
    now = START + after
    found = prompts(cook(meat_on=ON if on else 0), pieces, events, now)
    due, later = [p for p in found if p.due <= now], [p for p in found if p.due > now]
    assert [p.rank for p in due] == sorted(p.rank for p in due)
    ahead = [p for p in later if any(p is one for one in found[: len(due)])]
    assert all(p.rank <= ranks.CARVE and p.due <= now + ranks.SOON for p in ahead)  # urgent and near
    far = [p.due for p in later if p.due > now + ranks.SOON]
    assert far == sorted(far)
    assert all(p.kind == "look" or p.kind in KINDS for p in found)
    assert found == prompts(cook(meat_on=ON if on else 0), pieces, events[::-1], START + after)


# one band in all: going on changes nothing
PHASES = [
    programme.phase("open smoke", 121.1, 135.0),
    programme.phase("wrapped", 121.1, 135.0, fields.END_MEAT_1, 95.0),
    programme.phase("finish by feel", 121.1, 135.0),
]


def test_the_next_phase_says_what_becomes_of_the_band() -> None:
    row = Cycle(state="holding", phase=0, low=107.0, high=121.0)
    notes = [event("wrapped", ON + 5 * HOUR, piece=1)]
    found = of("phase", prompts(cook(), [piece(wrap="paper")], notes, ON + 6 * HOUR, row, PHASES, ON))
    assert "(the band becomes 121-135 C)" in said(found[0])


# every phase with a band of its own, so that going on is worth a question
APART = [
    programme.phase("smoke", 107.0, 121.0),
    programme.phase("wrapped", 121.0, 135.0, fields.END_MEAT_1, 95.0),
    programme.phase("keep", 70.0, 80.0),
]


def asked(
    pieces: list[Piece], notes: list[Event], row: int = 0, since: int = ON, phases: Sequence[Phase] = APART
) -> list[Prompt]:
    at, now = ON + 6 * HOUR, phases[row]
    cycle = Cycle(state="holding", phase=row, low=now.low, high=now.high)
    return of("phase", prompts(cook(), pieces, notes, at, cycle, phases, since))


def test_a_phase_that_ends_at_the_wrap_asks_for_the_next_once_all_is_wrapped() -> None:
    both = [piece(wrap="paper"), piece(id=2, name="Bramble", wrap="paper")]
    notes = [event("wrapped", ON + 5 * HOUR, piece=1), event("wrapped", ON + 6 * HOUR, piece=2)]
    [found] = asked(both, notes)
    assert found.due == 0 and said(found).endswith("go on to the next phase, wrapped (the band becomes 121-135 C)?")
    assert not asked([both[0], piece(id=2, name="Bramble")], notes[:1])  # one still smokes bare
    assert asked([both[0], piece(id=2, name="Bramble", place="oven")], notes[:1])  # one that is out does not wait
    assert not asked(both, notes, row=1)  # ends by a probe
    assert not asked(both, notes, row=2)  # the last
    assert not asked(both, notes, since=ON + 7 * HOUR)  # wrapped in an earlier phase: this one ends otherwise
    assert not asked([], [])


def test_a_programme_whose_phases_share_one_band_asks_for_nothing() -> None:
    both = [piece(wrap="paper"), piece(id=2, name="Bramble", wrap="paper")]
    notes = [event("wrapped", ON + 5 * HOUR, piece=1), event("wrapped", ON + 6 * HOUR, piece=2)]
    assert not asked(both, notes, phases=PHASES)
    assert not asked([piece(place="out"), piece(id=2, probe=0)], [], row=1, phases=PHASES)


def test_a_phase_that_a_piece_ends_by_its_probe_follows_that_piece() -> None:
    out = piece(place="out", place_since=ON)
    [found] = asked([out, piece(id=2, name="Bramble", probe=0)], [], row=1)
    assert said(found).startswith("Alder is out, whose probe ends this phase: go on to the next phase, keep")
    assert not asked([out, piece(id=2, name="Bramble", probe=2)], [], row=1)  # its probe ends it then
    assert not asked([piece(), piece(id=2, name="Bramble", probe=0)], [], row=1)
    assert not asked([out], [], row=1)  # the pit is empty: the fire is not needed at all


def test_the_cook_stays_open_while_pieces_are_in_the_oven() -> None:
    oven = [piece(place="oven", temperature=80.0), piece(id=2, name="Bramble", place="box", temperature=75.0)]

    def fire(pieces: list[Piece], cycle: Cycle | None) -> list[str]:
        found = prompts(cook(), pieces, [], ON + 9 * HOUR, cycle)
        assert not [p for p in found if "end the cook" in said(p)] or all(p.place == "carved" for p in pieces)
        return [said(p) for p in found if p.kind == "look"]

    burning = fire(oven, Cycle(pit=130, state="holding"))
    assert burning == [
        "The fire is no longer needed: stop it (x) and close every vent; the cook stays open until all is carved"
    ]
    stopped = fire(oven, Cycle(pit=130, state="off"))
    assert stopped == [
        "The fire is no longer needed: close every vent to put it out; the cook stays open until all is carved"
    ]
    assert fire(oven, Cycle(pit=40, state="off")) == []
    done = fire([piece(place="carved"), piece(id=2, place="carved")], Cycle(pit=130, state="holding"))
    assert done == ["All is carved: close every vent, and end the cook (e)"]


def test_meat_that_nobody_keeps_warm_comes_before_all_else() -> None:
    need = Need(1, "Alder", 69.0, by=ON + 8 * HOUR)
    meat = Care([need], now=ON + 6 * HOUR)
    for state, first in (
        ("off", "Light again"),
        ("burnout", "Light again"),
        ("tripped", "See to the fire, acknowledge"),
    ):
        cycle = Cycle(pit=90, state=state, trip="fire" if state == "tripped" else "")
        found = prompts(cook(), [piece(temperature=69.0)], [], ON + 6 * HOUR, cycle, APART, ON, meat=meat)
        assert said(found[0]).startswith(f"{first} and start (s), use an oven, or throw it away.")
        assert "Alder, 69 C: food safety asks for a decision by" in said(found[0]) and "in 2 h." in said(found[0])
        assert not {p.kind for p in found} & {"phase", "pan_filled", "fuel_added", "spritzed", "shade", "wrapped"}
    fading = prompts(cook(), [piece(temperature=69.0)], [], ON, Cycle(pit=110, state="fading"), meat=meat)
    assert fading[0].kind == "fuel_added" and "Alder, 69 C: food safety asks for a decision by" in said(fading[0])


def test_what_no_probe_reads_in_oven_and_box_is_read_by_hand() -> None:
    """Its probe stayed in the pit, or was pulled on the way."""
    for place, note in (("oven", "in_oven"), ("box", "in_box")):
        notes = [event(note, ON + 9 * HOUR, piece=1)]
        for unread in (piece(place=place, temperature=None), piece(place=place, temperature=80.0, by_hand=True)):
            [found] = of("hand_reading", prompts(cook(), [unread], notes, ON + 11 * HOUR))
            assert found.due == ON + 10 * HOUR and found.piece == 1
        assert not of("hand_reading", prompts(cook(), [piece(place=place, temperature=80.0)], notes, ON + 11 * HOUR))


def test_each_piece_goes_on_at_its_own_planned_time_and_is_asked_for_until_it_is_on() -> None:
    later = piece(id=2, name="Bramble", on_at=0, goes_on=ON + 4 * HOUR)
    before = of("meat_on", prompts(cook(meat_on=0), [piece(on_at=0, goes_on=ON), later], [], START, Cycle()))
    assert [(p.piece, p.due) for p in before] == [(1, ON), (2, ON + 4 * HOUR)]
    assert said(before[0]) == "Put Alder on once the pit holds its band"
    [ahead] = of("meat_on", prompts(cook(), [piece(), later], [], ON + HOUR))
    assert (ahead.piece, ahead.due) == (2, later.goes_on) and said(ahead).startswith("Put Bramble on at ")
    for hours in (4, 6):
        found = prompts(cook(), [piece(), later], [], ON + hours * HOUR)
        [due] = of("meat_on", found)
        assert due.due == later.goes_on and said(due).startswith("Put Bramble on now: it was planned for ")
        assert found[0] is due
    [cold] = of("meat_on", prompts(cook(), [piece(), later], [], ON + 5 * HOUR, Cycle(state="tripped", trip="flare")))
    assert "once the pit holds its band again" in said(cold)
    later.on_at = ON + 6 * HOUR
    assert not of("meat_on", prompts(cook(), [piece(), later], [], ON + 6 * HOUR))
    alike = [piece(on_at=0, goes_on=ON), piece(id=2, on_at=0, goes_on=ON)]
    [both] = of("meat_on", prompts(cook(meat_on=0), alike, [], START, Cycle()))
    assert both.piece == 0
    holding = Cycle(state="holding")
    when = render(text("{at}", at=Clock(ON)), Reader("C"))
    [ready] = of("meat_on", prompts(cook(meat_on=0), alike, [], ON - HOUR, holding))  # before the time of the plan
    assert ready.due == ON and said(ready) == f"Put the meat on at {when}, as planned: the pit is ready"
    [now] = of("meat_on", prompts(cook(meat_on=0), alike, [], ON, holding))
    assert now.due == 0 and said(now) == "The pit is ready: put the meat on"


def test_an_oven_that_holds_is_judged_by_its_own_error() -> None:
    one = piece(place="oven", held=True, oven=64.0)
    assert of("hold_oven", prompts(cook(), [one], [], ON + HOUR, limit=60.0))
    assert not of("hold_oven", prompts(cook(), [one], [], ON + HOUR, limit=60.0, oven_error=3.0))

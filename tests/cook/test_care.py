"""Meat in the pit that nobody keeps warm: who it is, until when, and what is said. Names and readings are invented."""

from __future__ import annotations

import itertools

import pytest
from hearth.core import fields
from hypothesis import given
from hypothesis import strategies as st
from tuyere import codes
from tuyere.cook import care, food_safety, programme
from tuyere.cook.snapshot import Cook, Cycle, Decision, Event, Forecast, Link, Phase, Piece, Snapshot
from tuyere.text import Reader, Said, render

ON = 1_700_000_000_000
HOUR, MINUTE = 3_600_000, 60_000
NOW = ON + 5 * HOUR
LIMIT = 60.0
OPEN = Cook(id=1, name="c", started=ON - HOUR, meat_on=ON)
OFF = Cycle(pit=90, state="off")


def rule(by: int = 0, past: bool = False) -> Decision:
    return Decision(food_safety.THROW_AWAY if past else food_safety.HOT, by)


def piece(**changes: object) -> Piece:
    return Piece(**{"id": 1, "name": "Alder", "probe": 1, "on_at": ON, "temperature": 69.0, **changes})


def needs(
    *pieces: Piece,
    cycle: Cycle | None = OFF,
    rules: dict[int, Decision] | None = None,
    highest: dict[int, float] | None = None,
    events: tuple[Event, ...] = (),
    cook: Cook = OPEN,
) -> list[care.Need]:
    for one in pieces:
        one.decision = (rules or {}).get(one.id, one.decision)
    return care.needs(cook, cycle, pieces, events, highest or {}, limit=LIMIT, now=NOW)


def words(said: Said) -> str:
    return render(said, Reader("F"))


@pytest.mark.parametrize(
    "cycle",
    [
        OFF,
        Cycle(pit=90, state="burnout", reason="cook_over"),
        Cycle(pit=90, state="tripped", trip="fire"),
        Cycle(pit=90, state="off", reason="not_resumed", resume="refused"),
        Cycle(pit=110, state="fading"),
    ],
)
def test_meat_in_the_pit_of_a_fire_that_nobody_keeps_needs_somebody(cycle: Cycle) -> None:
    assert [need.name for need in needs(piece(), cycle=cycle)] == ["Alder"]


def test_every_state_of_the_board_is_either_kept_or_not() -> None:
    kept = {state for state in codes.STATES if not care.unkept(Cycle(state=state))}
    assert kept == {"manual", "climbing", "holding", "opened"}
    assert not care.unkept(Cycle(resume="waiting")) and not care.unkept(None)
    assert not care.unkept(Cycle(pit=90, state="fading", reason="probe_doubted"))  # it may be far hotter
    assert care.at_rest(OFF) and not care.at_rest(Cycle(state="fading")) and not care.at_rest(None)


def test_meat_that_is_out_or_was_never_on_or_of_a_closed_cook_needs_nobody() -> None:
    for place in ("oven", "box", "out", "carved"):
        assert needs(piece(place=place)) == []
    assert needs(piece(on_at=0)) == []
    assert needs(piece(), cook=Cook(id=1, name="c", started=ON, ended=NOW, meat_on=ON)) == []
    assert needs(piece(), cook=Cook(id=1, name="c", started=ON)) == []
    assert needs(piece(), cycle=Cycle(pit=128, state="holding")) == []


def test_done_and_hot_needs_nobody_until_it_is_no_longer_hot() -> None:
    assert needs(piece(temperature=94.0)) == []  # felt from 2 C below its target on
    assert needs(piece(temperature=70.0), highest={1: 95.0}) == []  # was done, and is hot
    assert needs(piece(temperature=59.0), highest={1: 95.0})
    assert needs(piece(temperature=92.0), highest={1: 92.0})  # hot, not done


def test_a_reading_by_hand_counts_for_an_hour() -> None:
    by_hand = piece(probe=0, temperature=95.0, by_hand=True)
    assert (
        needs(by_hand, events=(Event(id=1, at=NOW - HOUR, noted=NOW, kind="hand_reading", piece=1, value=95.0),)) == []
    )
    assert needs(
        by_hand, events=(Event(id=1, at=NOW - HOUR - MINUTE, noted=NOW, kind="hand_reading", piece=1, value=95.0),)
    )


def test_meat_without_a_piece_in_the_list_is_not_forgotten() -> None:
    [need] = needs()
    assert words(care.said(need, care.Care(now=NOW))) == "The meat has no reading: measure it now."
    [need] = needs(cycle=Cycle(pit=90, state="off", meats=[70.0, None, 40.0]))
    assert words(care.said(need, care.Care(now=NOW))) == "The meat, 104 F: food safety asks for a decision now."


def test_the_most_pressing_comes_first() -> None:
    heats = (("Late", 69.0), ("Soon", 50.0), ("Blind", None), ("Past", 20.0), ("Hot", 70.0))
    pieces = [piece(id=i, name=name, temperature=heat) for i, (name, heat) in enumerate(heats, 1)]
    rules = {1: rule(NOW + 3 * HOUR), 2: rule(NOW + HOUR), 4: rule(NOW - HOUR, past=True)}
    assert [need.name for need in needs(*pieces, rules=rules)] == ["Past", "Blind", "Soon", "Late", "Hot"]


def test_each_says_how_long_food_safety_gives_it() -> None:
    def of(heat: float | None, its: Decision | None = None) -> str:
        [need] = needs(piece(temperature=heat), rules={1: its} if its else {})
        return words(care.said(need, care.Care(now=NOW)))

    assert of(50.0, rule(NOW + 130 * MINUTE)).startswith("Alder, 122 F: food safety asks for a decision by ")
    assert of(50.0, rule(NOW + 130 * MINUTE)).endswith("in 2 h 10 min.")
    assert of(50.0, rule(NOW)) == "Alder, 122 F: food safety asks for a decision now."
    assert of(20.0, rule(NOW - HOUR, past=True)) == "Alder (68 F) is past its time: throw it away."
    assert of(69.0) == "Alder, 156 F: still hot; 2 h to decide from when it is below 140 F."
    assert of(50.0) == "Alder, 122 F: food safety asks for a decision now."


def test_its_time_over_stays_said_when_the_fire_burns_again_and_when_it_is_hot() -> None:
    gone = {1: rule(past=True)}
    for cycle in (Cycle(pit=128, state="holding"), OFF):
        [need] = needs(piece(temperature=96.0), cycle=cycle, rules=gone)
        assert need.past
    assert needs(piece(place="out"), rules=gone) == []  # elsewhere its own prompt says so


def test_an_old_reading_is_none() -> None:
    [need] = needs(piece(by_hand=True), rules={1: Decision(food_safety.MEASURE, NOW + HOUR)})
    assert need.heat is None and "measure it now" in words(care.said(need, care.Care(now=NOW)))


def test_the_choices_are_to_light_again_an_oven_and_throwing_away() -> None:
    def of(*found: care.Need, again: Said = care.LIGHT) -> list[str]:
        return [words(choice) for choice in care.choices(found, again)]

    hot, blind = care.Need(1, "Alder", 69.0), care.Need(2, "Bramble", None)
    past = care.Need(3, "Clover", 20.0, NOW - HOUR, past=True)
    light, oven, throw, local = of(hot)
    assert (
        light == "Light again: fresh lit charcoal, start (s)"
        and "oven at 250-275 F" in oven
        and "throw" in throw
        and "Local" in local
    )
    assert of(hot, again="")[0].startswith("Or an oven")
    assert of(hot, again=care.AFTER_TRIP)[0] == "When the fire is right: acknowledge and start (s)"
    assert of(blind)[0].startswith("Measure")
    assert of(past) == ["Throw it away", "Local rules go first"]
    assert render(care.choices([hot])[0], Reader("F", keys=(("start", "y"),))).endswith("start (y)")
    assert words(care.do([hot, past])) == "Light again and start (s), use an oven, or throw it away."
    assert care.do([past]) == "" and words(care.do([hot], True)).startswith("See to the fire, acknowledge and start")
    assert care.headline([hot]) == care.WHAT and care.headline([past, hot]) == care.LOST_TIME


HEATS = st.none() | st.floats(-10, 110)


@given(
    st.lists(st.tuples(HEATS, st.integers(0, 8) | st.none(), st.booleans()), max_size=5),
    st.sampled_from(["off", "burnout", "tripped"]),
)
def test_whatever_stands_something_is_said_of_it_within_reason(
    given_: list[tuple[float | None, int | None, bool]], state: str
) -> None:
    pieces = [piece(id=i, name=f"Piece {i}", temperature=heat) for i, (heat, _, _) in enumerate(given_, 1)]
    rules = {i: rule(ON + h * HOUR, past) for i, (_, h, past) in enumerate(given_, 1) if h is not None}
    found = needs(*pieces, cycle=Cycle(state=state), rules=rules)
    if not found:
        return
    first = found[0]
    said = words(care.why(care.Care(found, now=NOW)))
    assert (first.name in said or first.piece == 0) and len(said) < 240 and "None" not in said
    assert all(said.count(need.name) <= 1 for need in found)
    assert care.choices(found) and (words(care.do(found)) or all(need.past for need in found))
    if any(need.past for need in found):
        assert first.past


def test_without_a_fire_the_forecast_says_what_it_depends_on() -> None:
    lit = {"finish_early": NOW, "finish_likely": NOW, "finish_late": NOW, "wrap_from": NOW, "wrap_best": NOW,
           "wrap_until": NOW, "expected": ["Ready about 15:28"]}  # fmt: skip
    cold, done, oven = piece(**lit), piece(id=2, temperature=96.0, **lit), piece(id=3, place="oven", **lit)
    shot = Snapshot(NOW, Link(), [], pieces=[cold, done, oven], fuel_left=5.0, fuel_words="2 h of it")
    shot.fuel_early = shot.fuel_likely = shot.fuel_late = NOW
    shot.forecasts = [Forecast(piece=i, at=[], low=[], mid=[], high=[]) for i in (1, 2, 3)]
    care.depends(shot, needs(cold, done, oven), rests=True)
    assert [one.piece for one in shot.forecasts] == [3]
    assert shot.fuel_left == 5.0 and not (shot.fuel_early or shot.fuel_likely or shot.fuel_late or shot.fuel_words)
    assert cold.unlit and "depends on the fire" in cold.expected[0]
    assert not done.unlit and done.expected == []
    assert all(p.finish_early == p.finish_likely == p.finish_late == p.wrap_best == p.wrap_until == 0
               for p in (cold, done))  # fmt: skip
    assert oven.finish_likely == NOW and oven.expected == ["Ready about 15:28"]


def test_of_meat_past_its_time_nothing_is_expected_though_the_fire_burns_again() -> None:
    gone, other = piece(finish_likely=NOW, expected=["x"]), piece(id=2, finish_likely=NOW, expected=["y"])
    shot = Snapshot(NOW, Link(), [], pieces=[gone, other], fuel_likely=NOW)
    burns = Cycle(pit=128, state="holding")
    care.depends(shot, needs(gone, other, cycle=burns, rules={1: rule(past=True)}), rests=False)
    assert (gone.finish_likely, gone.expected, gone.unlit) == (0, [], False)
    assert (other.finish_likely, other.expected, other.unlit) == (NOW, ["y"], False) and shot.fuel_likely == NOW


def test_which_bands_lie_ahead() -> None:
    alike = [programme.phase(name, 121.1, 135.0) for name in ("open smoke", "wrapped", "finish by feel")]
    for row, (low, high) in itertools.product(range(4), [(121.1, 135.0)]):
        assert not care.changes_ahead(alike, Cycle(phase=row, low=low, high=high))
    assert care.changes_ahead(alike, Cycle(phase=0, low=107.0, high=121.0))  # going on would take a band back
    assert not care.changes_ahead(alike, Cycle(phase=2, low=107.0, high=121.0))  # the last one


def test_which_piece_a_phase_waited_for() -> None:
    wrapped = programme.phase("wrapped", 121.1, 135.0, fields.END_MEAT_1, 95.0)
    last = programme.phase("finish by feel", 121.1, 135.0)
    out, other = piece(place="out"), piece(id=2, name="Bramble", probe=2)
    assert care.ending_probe(wrapped) == 1 and care.ending_probe(last) == 0
    assert care.out_by_probe(wrapped, [out, other]) == out
    assert care.out_by_probe(wrapped, [piece(), other]) is None
    assert care.out_by_probe(wrapped, [other]) is None and care.out_by_probe(last, [out]) is None
    assert care.out_by_probe(wrapped, [out, piece(id=3)]) is None  # the probe went into the next one


def test_a_phase_follows_the_piece_to_another_probe_and_then_those_that_are_left() -> None:
    smoke = programme.phase("smoke", 107.0, 121.0)
    wrapped = programme.phase("wrapped", 121.0, 135.0, fields.END_MEAT_1, 95.0)
    keep = programme.phase("keep", 70.0, 80.0)
    lost = Cycle(state="holding", phase=1, low=118.0, high=130.0, lost=1)  # the band was set by hand

    def of(*pieces: Piece, cycle: Cycle = lost, last: Phase = keep) -> list[Phase]:
        return care.followed([smoke, wrapped, last], cycle, pieces)

    moved = of(piece(probe=2, temperature=80.0))
    assert moved == [smoke, programme.phase("wrapped", 118.0, 130.0, fields.END_MEAT_2, 95.0), keep]
    rest = of(piece(place="out"), piece(id=2, probe=2, temperature=88.0), piece(id=3, probe=3, temperature=81.0))
    assert rest[1].end_kind == fields.END_MEAT_3
    assert of(piece(), piece(id=2, probe=2)) == []  # a real fault: its piece is in the pit
    assert of(piece(place="out")) == of() == []
    assert of(piece(probe=2, temperature=None)) == of(piece(probe=2, by_hand=True)) == []
    assert of(piece(probe=2), cycle=Cycle(state="holding", phase=1)) == []
    same = programme.phase("finish", 118.0, 130.0)
    assert of(piece(probe=2), last=same) == []  # nothing depends on it

"""The hot hold: what each place does, the limit, the vent, and that a simulated cook hands over its own state."""

import pytest
from meat_kit import cooked, steady
from rendered import words
from tuyere.meat import hold, regions
from tuyere.meat import piece_slots as at
from tuyere.meat.outcome import mass_kg
from tuyere.meat.piece import PieceOfMeat


def out(count: int = 1) -> tuple[list[float], list[float]]:
    """Whole briskets as they come out of the pit."""
    return hold.cooked([PieceOfMeat(mass_kg=5.5)] * count, 96.0, 94.0)


def test_towels_hold_longer_than_a_bare_box_and_that_longer_than_the_counter():
    m, q = out()
    ends = {name: hold.hold(m, q, hold.place(name), 4.0) for name in hold.PLACES}
    assert ends["box with towels"].below_h is None
    assert ends["low oven"].below_h is None
    assert ends["counter"].below_h is not None and ends["box"].below_h is not None
    assert ends["counter"].below_h < ends["box"].below_h < 4.0
    assert ends["low oven"].coldest[-1] == pytest.approx(70.0, abs=4.0)
    assert ends["counter"].coldest[-1] < 35.0


def test_a_warm_lining_more_meat_and_a_better_box_all_help():
    m, q = out()
    box = hold.place("box")
    cold = hold.hold(m, q, box, 4.0).coldest[-1]
    assert hold.hold(m, q, box, 4.0, wall_c=75.0).coldest[-1] > cold + 3.0
    assert hold.hold(*out(3), box, 4.0).coldest[-1] > cold + 8.0
    assert hold.hold(m, q, hold.place("box", ua=0.3), 4.0).coldest[-1] > cold + 5.0
    assert hold.hold(m, q, box, 4.0, room_c=5.0).coldest[-1] < cold - 3.0


def test_venting_stops_the_carry_over_and_costs_hold():
    m, q = hold.cooked([PieceOfMeat(mass_kg=5.5)], 90.0, 99.0)  # hot outside: straight from the pit it goes on cooking
    box = hold.place("box with towels")
    straight, vented = hold.hold(m, q, box, 5.0), hold.hold(m, q, box, 5.0, vent_s=1200.0)
    assert straight.highest_c > vented.highest_c + 0.5 > 90.0
    assert vented.coldest[-1] < straight.coldest[-1] - 4.0


def test_the_limit_is_the_one_that_was_asked_for():
    m, q = out()
    ends = [
        hold.hold(m, q, hold.place("box"), 8.0, limit_c=regions.rules("trade", region).limit).below_h
        for region in ("uk", "us")
    ]
    assert ends[0] is not None and ends[1] is not None
    assert ends[0] + 0.3 < ends[1]


def test_words_say_where_when_and_how_cold():
    m, q = out()
    said = words(hold.hold(m, q, hold.place("box with towels"), 3.0).words())
    assert said.startswith("In a cool box with towels: stays above")
    said = words(hold.hold(m, q, hold.place("counter"), 3.0).words())
    assert said.startswith("On the counter: falls below 60 C after ")
    assert said.endswith("after 3 h.")


def test_the_pieces_that_are_held_stay_as_they_were():
    m, q, _ = cooked(PieceOfMeat(mass_kg=5.5), steady(121.1, 113.0, 0.1, 20.0), wrap_h=6.0)
    before = list(m)
    found = hold.hold(m, q, hold.place("box with towels"), 4.0)
    assert m == before
    assert found.hours[0] == 0.0 and found.hours[-1] == 4.0
    assert len(found.hours) == len(found.coldest) == len(found.middle)
    assert found.coldest[0] == min(m[at.SLAB + s * at.SLAB_SIZE + at.T0 + i] for s in (0, 1) for i in range(at.N))
    assert found.ends_c == [found.coldest[-1]]


def test_a_piece_from_hand_readings_has_lost_what_a_cooked_one_has():
    m, q = out()
    assert 0.5 < mass_kg(m, q) / 5.5 < 0.68


def test_half_the_step_is_the_same_hold():
    m, q = out(2)
    box = hold.place("box")
    one, two = hold.hold(m, q, box, 4.0), hold.hold(m, q, box, 4.0, step_s=30.0)
    assert one.coldest[-1] == pytest.approx(two.coldest[-1], abs=0.15)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: hold.place("bath"), "Unknown place 'bath'"),
        (lambda: hold.place("box", ua=-1.0), "must be more than 0"),
        (lambda: hold.place("low oven", kept_c=250.0), "40-120 C, not 250 C"),
        (lambda: hold.hold(*out(), hold.place("box"), 0.0), "up to 48 h"),
        (lambda: hold.hold(*out(), hold.place("box"), 4.0, vent_s=1e5), "a vent up to 2 h"),
    ],
)
def test_what_cannot_be_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()

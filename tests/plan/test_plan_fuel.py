"""Charcoal, water and boxes: by rehearsal in the band asked for, for as long as there is a fire."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from plan_kit import LONDON, asked, judged, make
from rendered import words
from tuyere.meat.outcome import outcome
from tuyere.meat.piece import PieceOfMeat as Meat
from tuyere.plan import box, burning
from tuyere.plan import make as supper
from tuyere.plan.loads import Load
from tuyere.plan.request import Own
from tuyere.plan.times import HOUR, Sleep
from tuyere.sim import compiled
from tuyere.sim import pit_slots as at


def test_an_oven_holds_without_end_and_needs_no_hold_in_the_pit() -> None:
    plan = make(oven=True)
    assert plan.kitchen.hold == "low oven" and plan.hold_hours == 14.0
    assert "hold" not in [phase.name for phase in plan.phases]


@pytest.mark.parametrize("cooker", ["upright", "ceramic", "drum", "cabinet", "offset"])
def test_charcoal_by_rehearsal_is_about_what_the_trade_says(cooker: str) -> None:
    """0.2-0.5 kg/h of bare steel, 0.1-0.25 kg/h of ceramic: common practice, no source; half to double that range."""
    pytest.importorskip("numba")
    low, high = burning.REFERENCE[cooker]
    load = [Load(Meat(mass_kg=4.5))] * 4
    found = burning.burning(asked(outside=10.0), cooker, 12.0, load)
    assert 0.5 * low * 12.0 < found.likely < 2.0 * high * 12.0
    cold = burning.burning(asked(outside=-15.0), cooker, 12.0, load)
    assert cold.likely > found.likely and cold.need > found.need
    hot = burning.burning(asked(outside=10.0, low=149.0, high=160.0), cooker, 12.0, load)
    assert hot.likely > 1.1 * found.likely and hot.need > found.need  # a hotter pit loses more


@pytest.mark.parametrize(
    "here", [pytest.param(True, marks=pytest.mark.skipif(not compiled.available(), reason="needs numba")), False]
)
def test_water_lasts_as_long_as_the_cook(here: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pans lose 0.09 kg/h from 0.06 m2 (computed): the pan of an upright holds less than a day of that."""
    monkeypatch.setattr(compiled, "available", lambda: here)
    day, longer = (
        burning.burning(asked(), "upright", hours, [Load(Meat(mass_kg=4.5))] * 3).water for hours in (12.0, 36.0)
    )
    assert longer > 2.0 * day > 2.0 and burning.burning(asked(), "drum", 12.0, [Load(Meat())]).water == 0.0
    three = [Load(Meat(mass_kg=4.5))] * 3
    hotter = burning.burning(asked(low=149.0, high=160.0), "upright", 12.0, three)
    usual = burning.burning(asked(), "upright", 12.0, three)
    assert hotter.likely > usual.likely
    assert usual.by_then == sorted(usual.by_then) and len(usual.by_then) == 25
    assert usual.by_then[-1] == pytest.approx(usual.need * (1.0 - burning.LEFT))  # the margin is in both
    six = burning.burning(asked(), "upright", 12.0, [Load(Meat(mass_kg=4.5))] * 6)
    assert six.likely > usual.likely + 0.2  # 13.5 kg more, each 1 MJ, of 29 MJ/kg


@pytest.mark.parametrize("cooker", ["upright", "ceramic", "drum", "cabinet", "offset"])
def test_each_piece_takes_its_heat_from_the_charcoal(cooker: str) -> None:
    """A balance by hand: 3.4 kJ/kgK over 90 K for each kg (Choi and Okos, raw lean and fat), and 2.35 MJ for each kg of
    water that left the meat (latent heat at 60-70 C, steam tables), against the charcoal that six pieces burn beyond
    what one does, at the heating value of this cooker's charcoal. A part goes up with the air that burnt it; cold meat
    also cools the walls for an hour, which saves as much."""
    pytest.importorskip("numba")
    burned, taken = [0.0, 0.0], [0.0, 0.0]
    for i, seed in itertools.product((0, 1), (1, 2, 3, 4)):
        count = (1, 6)[i]
        loads = tuple(Load(Meat(mass_kg=5.5), 0.0, 6.5) for _ in range(count))
        world, end = burning.cooked(121.1, 135.0, 15.0, 0.0, cooker, 14.0, loads, seed)[:2]
        water = sum(outcome(end[2], end[3], piece).evaporated_kg for piece in range(count))
        heat = world.constants[at.STOICH] * world.constants[at.HEAT_PER_AIR]
        burned[i] += (world.state[at.LIT] + world.state[at.UNLIT] - end[0][at.LIT] - end[0][at.UNLIT]) * heat
        taken[i] += count * 5.5 * 3400.0 * 90.0 + water * 2.35e6
    assert 0.85 < (taken[1] - taken[0]) / (burned[1] - burned[0]) < 1.15


def test_the_pit_burns_on_while_it_keeps_what_the_box_cannot() -> None:
    """A supper that is ready long before: the box takes over when it can last, and until then there is a fire."""
    short = judged(sleep=Sleep(0, 0, LONDON))
    start = short.starts()[0]
    box_only = supper.burns(replace(short, hold_h=30.0), start)
    assert supper.burns(replace(short, hold_h=3.0), start) > box_only + HOUR / HOUR
    assert supper.burns(judged(sleep=Sleep(0, 0, LONDON), oven=True), start) == box_only


def test_the_hold_is_that_of_the_boxes_on_the_list() -> None:
    """Six pieces of 5.3 kg in one box keep hot for longer than the two that are in each of three."""
    own = [Own(f"{i}", 5.3) for i in range(6)]
    assert box.boxes(own) == 2 and box.boxes(own[:1]) == 1
    three = box.hold_hours(own, box.BOX, 60.0, 0.0)
    assert three == box.hold_hours(own[:3], box.BOX, 60.0, 0.0) > box.hold_hours(own[:2], box.BOX, 60.0, 0.0)
    plan = make(guests=80, cookers=("upright", "upright"))
    count = box.boxes([Own(piece.name, piece.mass) for piece in plan.pieces])
    assert any(words(item.what).startswith(f"{count} cool box") for item in plan.shopping)

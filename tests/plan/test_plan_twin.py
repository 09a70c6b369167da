"""The twin cooks a kept plan: its script has the pieces, probes, wraps and fillings of the plan at their times."""

from __future__ import annotations

import msgspec
import pytest
from plan_kit import LONDON, at, lighten, make
from tuyere.cook import planned
from tuyere.cook.planned import Planned, PlannedPiece
from tuyere.plan import loads
from tuyere.plan.request import Own
from tuyere.plan.times import HOUR, MINUTE, Sleep
from tuyere.sim import pit_slots as slots
from tuyere.sim.outside import Outside
from tuyere.text import BadValue

TABLE = (Own("Alder", 1.3, "pork ribs"), Own("Bramble", 5.5), Own("Clover", 5.4), Own("Dogwood", 3.2, "pork shoulder"))


@pytest.fixture
def kept(monkeypatch: pytest.MonkeyPatch) -> Planned:
    lighten(monkeypatch.setattr)
    plan = make(own=TABLE, guests=None, cooker="cabinet", sleep=Sleep(23 * 60, 6 * 60, LONDON))
    return msgspec.json.decode(msgspec.json.encode(plan), type=Planned)


def test_its_hands_put_on_wrap_and_fill_up_at_the_times_of_the_plan(kept: Planned) -> None:
    first = min(piece.on for piece in kept.pieces)
    hands = loads.of_plan(kept, "cabinet", 3).hands()
    went = {number: first + 1000 * s for kind, s, number, _ in hands if kind == "meat_on"}
    wrapped = {number: first + 1000 * s for kind, s, number, what in hands if kind == "wrapped" and what == "paper"}
    assert went == {i: piece.on for i, piece in enumerate(kept.pieces, 1)} and len(set(went.values())) >= 3
    assert wrapped == {i: piece.wrap_at for i, piece in enumerate(kept.pieces, 1)}
    assert kept.fillings and all(filling.at > kept.light for filling in kept.fillings)
    filled = [(first + 1000 * s, what) for kind, s, _, what in hands if kind == "fuel_added"]
    assert filled == [(filling.at, round(filling.mass, 2)) for filling in kept.fillings]
    assert [s for kind, s, _, _ in hands if kind == "pan_filled"][:2] == [3 * 3600, 6 * 3600]  # a cabinet has a pan


def test_its_fire_meat_probes_and_feeling_are_those_of_the_plan(kept: Planned) -> None:
    world = Outside("cabinet", 3, loads.of_plan(kept, "cabinet", 3))
    script, first = world.script, min(piece.on for piece in kept.pieces)
    assert script.meat_after * 1000 == first - kept.light and script.arrival_c == kept.phases[0].low
    assert [(one.name, one.mass_kg, one.done_c) for one in script.pieces] == [
        (piece.name, piece.mass, piece.target) for piece in kept.pieces
    ]
    assert script.felt == [(piece.feel_at - first) / 1000 for piece in kept.pieces] and min(script.felt) > 0.0
    assert world.constants[slots.FELT + 3] == script.felt[3] and script.probes == [piece.probe for piece in kept.pieces]
    assert script.hours * HOUR >= kept.serve - kept.light > (script.hours - 1) * HOUR
    other = loads.of_plan(kept, "cabinet", 4)
    assert other.meats != script.meats and other.later == script.later  # other meat at the same times


def test_each_batch_has_a_probe_and_what_goes_on_first_has_the_first_one(kept: Planned) -> None:
    by = {piece.name: piece for piece in kept.pieces}
    assert sorted(piece.probe for piece in kept.pieces) == [0, 1, 2, 3]
    assert by["Bramble"].on == by["Clover"].on == kept.on and {by["Bramble"].probe, by["Clover"].probe} == {0, 1}
    assert by["Alder"].probe and by["Dogwood"].probe  # alone in their batches


def test_a_second_load_is_given_no_probe_that_the_first_one_has(monkeypatch: pytest.MonkeyPatch) -> None:
    lighten(monkeypatch.setattr)
    two = make(own=tuple(Own(f"Rib {i}", 1.3, "pork ribs") for i in range(6)), guests=None, fits=3, oven=True)
    first = min(piece.on for piece in two.pieces)
    assert sorted(piece.probe for piece in two.pieces if piece.on == first) == [1, 2, 3]
    assert {piece.probe for piece in two.pieces if piece.on > first} == {0}


def test_a_plan_written_by_hand_needs_no_more_than_names_and_times() -> None:
    on = at(28, "06:00")
    plain = Planned("Lunch", on - 75 * MINUTE, on, on + 9 * HOUR, [PlannedPiece(name="Alder", cut="pork ribs")])
    script = loads.of_plan(plain, "drum", 1)
    assert script.pieces[0].mass_kg == 1.3 and script.later == [0.0] and script.felt == [0.0]
    assert {kind for kind, *_ in script.hands()} == {"spritzed"}
    with pytest.raises(BadValue, match="cut"):
        loads.of_plan(msgspec.structs.replace(plain, pieces=[PlannedPiece(name="Alder", cut="gammon")]), "drum", 1)


def test_the_twin_takes_a_plan_that_is_not_served_and_knows_it_again(kept: Planned) -> None:
    assert planned.mark(kept) == planned.mark(msgspec.json.decode(msgspec.json.encode(kept), type=Planned))
    assert planned.mark(kept) != planned.mark(msgspec.structs.replace(kept, serve=kept.serve + MINUTE))

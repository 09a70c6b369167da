"""The twin cooks a kept plan: its script has the pieces, probes, wraps and fillings of the plan at their times."""

from __future__ import annotations

import random

import msgspec
import pytest
from plan_kit import LONDON, at, lighten, make
from tuyere.cook import planned
from tuyere.cook.planned import Planned, PlannedPiece
from tuyere.meat import piece_slots as ps
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import PieceOfMeat
from tuyere.plan import loads, paced
from tuyere.plan.request import Own
from tuyere.plan.times import HOUR, MINUTE, Sleep
from tuyere.sim import pit_slots as slots
from tuyere.sim.outside import Outside
from tuyere.text import BadValue

TABLE = (Own("Alder", 1.3, "pork ribs"), Own("Bramble", 5.5), Own("Clover", 5.4), Own("Dogwood", 3.2, "pork shoulder"))


@pytest.fixture
def kept(monkeypatch: pytest.MonkeyPatch) -> Planned:
    lighten(monkeypatch.setattr)
    monkeypatch.setattr(loads, "share", lambda meat, own, hours, *_: hours / 10.0)
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
    for piece, share in zip(kept.pieces, script.shares, strict=True):
        early, likely, late = ((done - piece.on) / HOUR for done in piece.done)
        assert early <= 10.0 * share <= late and early < likely < late
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


def test_meat_that_is_given_less_heat_is_done_after_the_hours_drawn_for_it() -> None:
    meat, pit = PieceOfMeat(cut="pork ribs", mass_kg=1.3), paced.held("drum", 131.5)
    wrap = (3.0, ps.PAPER)
    shares = {}
    for hours in (3.5, 5.0, 6.5):
        shares[hours] = paced.share(meat, Parameters(), hours, pit, 0.0, wrap)
        assert paced._hours(meat, Parameters(), shares[hours], pit, 0.0, wrap) == pytest.approx(hours, rel=0.06)
    assert shares[3.5] > shares[5.0] > shares[6.5]
    assert [paced.share(meat, Parameters(), hours, pit, 0.0, wrap) for hours in (0.5, 40.0)] == [2.0, 0.15]
    with pytest.raises(ValueError, match="Unknown cooker 'kettle'; choose one of upright"):
        paced.held("kettle", 131.5)


def test_hours_are_drawn_as_likely_as_the_plan_has_them() -> None:
    on, r = at(28, "06:00"), random.Random(1)
    done = [on + HOUR * hours for hours in (8, 10, 13)]
    found = sorted(paced.drawn_h(r, on, done) for _ in range(2000))
    assert (found[0], found[-1]) == (8.0, 13.0) and found[1000] == pytest.approx(10.0, abs=0.1)
    assert sum(hours == 13.0 for hours in found) == pytest.approx(200, abs=50)  # one in ten is as late, or later


def test_the_twin_takes_a_plan_that_is_not_served_and_knows_it_again(kept: Planned) -> None:
    assert planned.mark(kept) == planned.mark(msgspec.json.decode(msgspec.json.encode(kept), type=Planned))
    assert planned.mark(kept) != planned.mark(msgspec.structs.replace(kept, serve=kept.serve + MINUTE))

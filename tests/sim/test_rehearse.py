"""Rehearsals: the same result plain and compiled, seeded, and what a summary counts."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from hearth.core import Memory, Now, Out, Settings, fields
from tuyere.cli.main import main
from tuyere.meat import piece_slots as piece
from tuyere.sim import kernel, pit_slots
from tuyere.sim.outside import Outside
from tuyere.sim.rehearse import Openings, rehearse


def test_a_cold_pit_reaches_its_band_and_stays() -> None:
    found = rehearse("drum", hours=4.0, seed=2)
    assert found.cycles == 7200
    assert found.in_band is not None and found.in_band > 0.8
    assert found.arrival_min is not None and 10 < found.arrival_min < 90
    assert abs(sum(found.states_min.values()) - 240) < 0.1


def test_the_same_seed_gives_the_same_cook() -> None:
    first, second, other = (rehearse("upright", 1.5, seed).as_dict() for seed in (4, 4, 5))
    for found in (first, second, other):
        del found["seconds"], found["seed"]
    assert first == second != other


def test_progress_goes_from_nothing_to_all() -> None:
    told: list[float] = []
    rehearse("upright", 2.0, 1, told.append)
    assert told == sorted(told) and told[-1] == 1.0 and len(told) > 2


def test_minutes_back_are_counted_from_the_lid_shut() -> None:
    back = Openings()
    for minute, opened, inside in (
        (0, 0, 1),
        (1, 1, 0),
        (2, 1, 0),
        (3, 0, 0),
        (5, 0, 0),
        (7, 0, 1),
        (9, 1, 0),
        (10, 0, 0),
        (12, 1, 0),
    ):
        back.watch(float(minute), bool(opened), bool(inside))
    assert back.minutes == [4.0, 2.0] and back.count == 3


def test_compiled_law_and_pit_give_the_plain_trace() -> None:
    pytest.importorskip("numba")
    from tuyere.sim import compiled, kernel
    from tuyere.sim.outside import Outside
    from tuyere.sim.rehearse import run

    world = Outside("upright", 3, hours=2.0)
    plain, fast = run(world, 2.0), run(world, 2.0, kern=compiled.kernel())
    assert len(plain) == len(fast) == 3600 * kernel.TRACE
    assert (
        max(abs(a - b) for a, b in zip(plain, fast, strict=True)) < 0.6
    )  # floats of another order; the law is the same


def cold_told(noted: bool, hours_in: float = 0.0, lid: float = 0.0) -> int:
    """What the board knows of cold meat after four cycles of a held pit with its meat in, 0.1 kg."""
    world = Outside("drum", 2, hours=2.0)
    world.script.meat_noted = noted
    world = Outside("drum", 2, world.script)
    for i in range(len(world.script.pieces)):
        world.pieces[i * piece.SIZE + piece.ON] = 1.0
        world.pieces[i * piece.SIZE + piece.COOKED_S] = hours_in * 3600.0
    world.state[pit_slots.OPEN_UNTIL] = lid
    settings, now, memory, out = Settings(), Now(), Memory(), Out()
    now.order = fields.ORDER_START
    course = world.state, world.constants, world.pieces, world.piece_constants, world.events, world.weather
    kernel.cook(settings, now, memory, out, *course, 4, [0.0] * 4 * kernel.TRACE, piece.PROBE, piece.SIZE, piece.ON)
    return memory.cold


def test_the_cook_notes_what_went_on_once_the_lid_is_shut() -> None:
    kg = sum(one.mass_kg for one in Outside("drum", 2, hours=2.0).script.pieces)
    assert abs(cold_told(True) - 10.0 * kg) <= 1.0
    assert cold_told(True, lid=60.0) == 0 and cold_told(True, hours_in=1.1) == 0 and cold_told(False) == 0


def test_the_command_prints_json_and_says_what_is_wrong() -> None:
    done = CliRunner().invoke(main, ["rehearse", "--hours", "1", "--json"])
    assert {"in_band", "over_c", "back_min", "cycles"} <= set(json.loads(done.stdout))
    for arguments, words in (
        (["--hours", "-3"], "from 0.5 to 48"),
        (["--hours", "long"], "is not a number"),
        (["--cooker", "kettle"], "upright"),
        (["--seed", "1.5"], "whole number"),
    ):
        done = CliRunner().invoke(main, ["rehearse", *arguments])
        assert done.exit_code == 2 and words in done.output, done.output


def test_an_unknown_command_is_answered_with_the_ones_there_are() -> None:
    done = CliRunner().invoke(main, ["dance"])
    assert done.exit_code == 2 and "rehearse" in done.output


def test_every_piece_is_reported_with_finish_plateau_yield_lethality_and_worst_hold() -> None:
    done = CliRunner().invoke(main, ["rehearse", "--cooker", "drum", "--hours", "13", "--seed", "2"])
    assert done.exit_code == 0
    found = rehearse("drum", hours=13.0, seed=2)
    assert found.pieces
    for one in found.pieces:
        assert f"{one['name']} " in done.output and 0.4 < one["yield"] < 0.75 and one["lethal"] > 1.0
        holds = one["holds_h"]
        assert 0.0 < holds["cool box, vented 15 min"] < holds["cool box"] < holds["cool box with towels"]
    said = " ".join(done.stdout.split())  # lines are filled
    for words in ("done after", "plateau of", "yield ", "6.5 logs", "h at worst (cool box, vented 15 min)"):
        assert said.count(words) == len(found.pieces)
    told = json.loads(CliRunner().invoke(main, ["rehearse", "--hours", "1", "--json"]).stdout)
    assert [one["holds_h"] for one in told["pieces"]] == [{}] * len(told["pieces"])  # raw: nothing to hold

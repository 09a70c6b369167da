"""A fan set by hand for some minutes, and given back: the pit is soon in its band again and stays there."""

from __future__ import annotations

import copy

import pytest
from hearth.core import fields
from tuyere.sim.board_in_pit import BoardInPit
from tuyere.sim.outside import Outside
from tuyere.sim.script import Script, still

LOW, HIGH = 121.1, 135.0
PERIOD_S = 2.0
SOON_S = 600.0
NEAR_C = 3.0
HELD_MIN = 240.0


def run(board: BoardInPit, world: Outside, minutes: float) -> list[float]:
    """Readings, one every 2 s."""
    seen = []
    for _ in range(round(minutes * 30)):
        was = world.readings
        world.step(PERIOD_S, board.step(PERIOD_S, was.pit_c, was.meat_c, was.told))
        seen.append(world.readings.pit_c)
    return seen


def by_hand(cooker: str, seed: int, meat: bool, demand: int, minutes: int) -> tuple[BoardInPit, Outside, int]:
    """A pit that has been held for hours, then has had its fan by hand; and what was owed before."""
    script = Script.draw(seed, 8.0) if meat else Script()
    script.events, script.weather = [], still(8.0)
    board, world = BoardInPit(), Outside(cooker, seed, script)
    held = run(board, world, HELD_MIN)[-900:]
    assert min(held) > LOW
    assert max(held) < HIGH
    owed = int(board.memory.owed)
    board.order(fields.ORDER_FAN, demand, minutes * 60)
    run(board, world, minutes - 0.1)
    assert board.state == "manual"
    run(board, world, 0.1)
    assert board.state == "holding"
    return board, world, owed


def inside(seen: list[float]) -> float:
    """Seconds until the pit is in its band."""
    return next(i for i, value in enumerate(seen) if LOW <= value <= HIGH) * PERIOD_S


@pytest.mark.parametrize(("demand", "minutes"), [(8000, 8), (0, 10)])
@pytest.mark.parametrize(("cooker", "seed"), [("upright", 3), ("drum", 2), ("ceramic", 1)])
def test_the_pit_is_soon_back_in_its_band(cooker: str, seed: int, demand: int, minutes: int) -> None:
    board, world, owed = by_hand(cooker, seed, True, demand, minutes)
    assert board.memory.owed == pytest.approx(owed, abs=20_000)  # 0.2 %: one cycle has passed
    seen = run(board, world, 60.0)
    back = inside(seen)
    assert back <= SOON_S + 10.0  # an upright whose fan was off takes 604 s; the others 396 to 524
    after = seen[int(back / PERIOD_S) :]
    assert max(after) <= HIGH + NEAR_C
    assert min(after) >= LOW - NEAR_C


@pytest.mark.parametrize("cooker", ["upright", "drum", "offset"])
def test_a_pit_that_a_hand_made_far_too_hot_comes_back_as_fast_as_without_any_fan(cooker: str) -> None:
    board, world, _ = by_hand(cooker, 1, False, 8000, 8)
    quiet = copy.deepcopy(world)
    alone = [quiet.step(PERIOD_S, 0.0).pit_c for _ in range(1800)]
    seen = run(board, world, 60.0)
    assert max(seen) > HIGH + 10.0
    assert inside(seen) <= 1.1 * inside(alone) + 30.0
    assert min(seen) > LOW


@pytest.mark.parametrize("cooker", ["ceramic", "offset"])
def test_a_pit_that_falls_through_its_band_after_the_hand_does_not_pass_its_top_on_the_way_back(cooker: str) -> None:
    board, world, _ = by_hand(cooker, 2, False, 0, 10)
    seen = run(board, world, 60.0)
    assert seen[0] > LOW > min(seen)
    assert max(seen) <= HIGH

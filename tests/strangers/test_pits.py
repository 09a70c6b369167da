"""Each family's open loop: it rises with the fan, falls without, loses no heat, and breathes as charcoal must."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import Any

import pytest
from strangers import build, cooks, trial
from strangers import places as at
from strangers.cooks import FAMILIES, draw

HEAT_OF_AIR = 3.02e6  # J a kg of air all of whose oxygen meets charcoal, see `strangers.pits`
SEEDS = (1, 2, 3, 4, 5, 6)


def opened(family: str, seed: int) -> tuple[Any, ...]:
    """A cook without lids and meat: the cook, and its world as `day.run` takes it."""
    cook = draw(family, seed)
    cook.events = []
    return cook, trial.parts(cook)


def passes(cook: cooks.Cook, world: list[Any], duty: float, seconds: int) -> float:
    """Let it burn at this fan; the true air after it."""
    world[2][at.DUTY] = duty
    build.day().run(cook.code, *world, seconds)
    return float(world[0][at.X_AIR])


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", SEEDS)
def test_a_full_fan_lifts_it_over_the_band_and_no_fan_lets_it_fall(family: str, seed: int) -> None:
    cook, world = opened(family, seed)
    before = passes(cook, world, 0.0, 60)
    warm = passes(cook, world, 1.0, 1500)
    hot = passes(cook, world, 1.0, 5400)
    assert before + 30.0 < warm < hot
    assert hot > 140.0
    after = passes(cook, world, 0.0, 3600)
    assert after < hot - 40.0
    assert passes(cook, world, 0.0, 3600) < after


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", SEEDS)
def test_heat_is_neither_made_of_nothing_nor_lost(family: str, seed: int) -> None:
    """In = out + stored, with lids, meat, wind and a fan that goes up and down."""
    cook = draw(family, seed)
    cook.happens(at.RISEN, 60.0, at.MEAT, 90.0)
    world = trial.parts(cook)
    before = cook.pit.stored(world[0], world[1])
    first = world[0].copy()
    for duty in (1.0, 0.3, 0.0, 0.6, 0.12, 1.0, 0.0):
        passes(cook, world, duty, 1200)
    came = world[0][at.X_IN] - first[at.X_IN]
    gone = world[0][at.X_OUT] - first[at.X_OUT]
    kept = cook.pit.stored(world[0], world[1]) - before
    assert world[2][at.MEAT_AT] > 0.0
    assert came > 1e6
    assert came - gone - kept == pytest.approx(0.0, abs=0.002 * came)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", SEEDS)
def test_a_kilogram_of_air_makes_no_more_heat_than_its_oxygen_can(family: str, seed: int) -> None:
    cook, world = opened(family, seed)
    passes(cook, world, 1.0, 1200)
    x = world[0].copy()
    passes(cook, world, 0.5, 3600)
    passes(cook, world, 0.2, 3600)
    air, heat = world[0][at.X_BREATH] - x[at.X_BREATH], world[0][at.X_IN] - x[at.X_IN]
    fuel = x[at.X_FUEL] - world[0][at.X_FUEL]
    late = 0.05 * heat  # heat that was on its way
    assert 0.2 * HEAT_OF_AIR * air < heat < HEAT_OF_AIR * air + late
    assert 24e6 < heat / fuel < 33e6  # charcoal, 29-33 MJ/kg gross


@pytest.mark.parametrize("family", FAMILIES)
def test_fuel_that_ends_ends_the_fire(family: str) -> None:
    cook, world = opened(family, 2)
    hot = passes(cook, world, 1.0, 3600)
    world[0][at.X_FUEL] = 0.02
    assert passes(cook, world, 1.0, 4 * 3600) < min(hot, 100.0)


@pytest.mark.parametrize("family", FAMILIES)
def test_twice_the_fan_is_about_twice_the_air(family: str) -> None:
    one, two = draw(family, 3), draw(family, 3, air=2.0)
    assert two.k[at.FULL_AIR] / one.k[at.FULL_AIR] == pytest.approx(2.0, rel=0.05)
    assert one.events == two.events


# The strangers' meat is put to the forecast as a question, and its answer is judged. Neither cooks anything.
ASKS = {
    "nights.py": {"tuyere.forecast"},
    "judged.py": {"tuyere.forecast", "tuyere.forecast.finish", "tuyere.text"},
}


def test_strangers_know_nothing_of_the_projects_own_simulation() -> None:
    """No file of theirs imports from `tuyere`, but for the form in which a forecast is asked and judged."""
    files = list(Path(str(cooks.__file__)).parent.rglob("*.py"))
    assert len(files) > 8
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [one.name for one in node.names] if isinstance(node, ast.Import) else []
            ours = {name for name in names if name.split(".")[0] == "tuyere"}
            assert ours <= ASKS.get(file.name, set()), file.name

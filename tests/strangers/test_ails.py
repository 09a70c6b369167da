"""Faults and hardships do to a cook what their words say."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from strangers import ails, build, day, trial
from strangers import places as at
from strangers.cooks import FAMILIES, draw

SEEDS = range(2, 62, 2)


def world(name: str, family: str = "bed", seed: int = 2) -> tuple[Any, list[Any]]:
    """A cook with a fault, and its arrays."""
    cook = ails.bad(name, family, seed)
    return cook, trial.parts(cook)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_slipped_probe_follows_its_share_of_the_pits_rise(family: str) -> None:
    cook, arrays = world("slip before the first lid", family)
    w = arrays[5]
    trace = trial.board(cook)
    row = next(row for row in cook.events if row[at.E_KIND] == at.SLIP)
    when = trial.happened(trace, row)
    assert when is not None
    after = int(when / at.PERIOD_S) + 150  # the sheath has followed
    outside = w[2 * int(after * at.PERIOD_S / at.WEATHER_S)]
    lid = trace[after - 150 : after + 1, at.T_LID].any()
    expected = outside + row[at.E_B] + row[at.E_A] * (trace[after, at.T_TRUE] - outside)
    assert not lid
    assert trace[after, at.T_READING] == pytest.approx(expected, abs=6.0)
    assert trace[after, at.T_READING] < trace[after, at.T_TRUE] - 8.0


def test_follows_are_spread_evenly_over_the_seeds() -> None:
    found = [
        next(row[at.E_A] for row in ails.bad("slip later", "lags", seed).events if row[at.E_KIND] == at.SLIP)
        for seed in SEEDS
    ]
    assert {follow: found.count(follow) for follow in ails.FOLLOWS} == dict.fromkeys(ails.FOLLOWS, 5)


def test_a_sleepy_person_starts_again_once_after_five_minutes() -> None:
    y = [0.0] * at.Y_SIZE
    y[at.HANDS] = 1.0
    orders = [day.asked(y, [0.0] * at.K_SIZE, 4) for _ in range(160)]
    assert orders[:149] == [0] * 149
    assert set(orders[149:]) == {day.ORDER_ACKNOWLEDGE}  # again and again, until the board takes it
    assert day.asked(y, [0.0] * at.K_SIZE, 0) == day.ORDER_START
    assert {day.asked(y, [0.0] * at.K_SIZE, 4) for _ in range(300)} == {0}


def test_a_button_that_presses_itself_says_opened_each_time() -> None:
    y = [0.0] * at.Y_SIZE
    day.happen([], y, [], at.PRESSES, 240.0, 0.0)
    said = []
    for second in range(0, 1200, 2):
        y[at.TIME] = float(second)
        if day.asked(y, [0.0] * at.K_SIZE, 0) == day.ORDER_OPENED:
            said.append(second)
    assert said == [0, 240, 480, 720, 960]


def test_a_flipped_bit_is_one_reading() -> None:
    cook = ails.bad("flips", "ceramic", 2)
    calm = draw("ceramic", 2)
    row = next(row for row in cook.events if row[at.E_KIND] == at.SPIKED and row[at.E_CLOCK] == at.FROM_START)
    cook.events = [*calm.events, [0.0, 1000.0, at.SPIKED, 64.0, 0.0, 0.0]]
    assert row[at.E_A] != 0.0
    runs = []
    for one in (calm, cook):
        x, c, y, k, e, w = trial.parts(one)
        noise, trace = one.noise(), np.zeros((one.cycles, at.TRACE))
        build.day().keep(one.code, x, c, y, k, e, w, noise, 0, 600, trace, trial.MIDDLE_C)
        runs.append(trace)
    off = np.flatnonzero(np.abs(runs[0][:600, at.T_READING] - runs[1][:600, at.T_READING]) > 1e-9)
    assert off.tolist() == [500]
    assert runs[1][500, at.T_READING] - runs[0][500, at.T_READING] == pytest.approx(64.0)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_flood_makes_it_hot_without_a_fan(family: str) -> None:
    cook, arrays = world("flood", family)
    x, c, y, k, _, w = arrays
    heats = []
    for extra in (0.0, 1.0):
        x2, y2 = x.copy(), y.copy()
        y2[at.EXTRA] = extra
        build.day().still(cook.code, x2, c, y2, k, w, 0.0, 5400)
        heats.append(x2[at.X_AIR])
    assert heats[1] > heats[0] + 100.0
    assert heats[1] < 900.0


def test_a_supply_sags_with_the_fan() -> None:
    cook, (x, _, y, k, e, _) = world("sag")
    build.day().look(x, y, k, e)
    assert 10000.0 < y[at.SUPPLY] - k[at.SAG] * 1000.0 < 10500.0 < y[at.SUPPLY]
    assert cook.settings.get("supply_least", 10500) == 10500  # the board's own limit lies between


def test_good_fires_have_the_hardships_of_their_words() -> None:
    found = [ails.good(family, seed) for family in FAMILIES for seed in SEEDS]
    for cook in found:
        plain = draw(cook.family, cook.seed)
        assert not {"half fan", "twice fan"} <= set(cook.words)
        share = cook.k[at.FULL_AIR] / plain.k[at.FULL_AIR]
        assert ("half fan" in cook.words) == (share < 0.7)
        assert ("twice fan" in cook.words) == (share > 1.5)
        assert ("25 kg" in cook.words) == (cook.k[at.MEAT_KG] >= 18.0)
        assert ("-15 C" in cook.words) == (min(cook.weather[0::2]) < -14.9)
        assert ("lid on the way" in cook.words) == any(row[at.E_CLOCK] == at.RISEN for row in cook.events)
        if "dead zone" in cook.words:
            assert 0.10 <= cook.c[cook.pit.DEAD] <= 0.16
    assert {word for cook in found for word in cook.words} >= set(ails.HARD)
    assert sum(not cook.words for cook in found) > 5


def test_the_halves_of_the_good_fires_repeat_and_differ() -> None:
    one, two, other = (ails.good("gusty", seed) for seed in (8, 8, 7))
    assert (one.x, one.c, one.events, one.words) == (two.x, two.c, two.events, two.words)
    assert np.array_equal(one.weather, two.weather)
    assert one.c != other.c


def test_a_fault_that_does_not_exist_is_refused() -> None:
    with pytest.raises(ValueError, match="Unknown fault 'fire'; choose one of slip in the climb"):
        ails.bad("fire", "bed", 2)

"""What the board learns holds on pits that it has never met, and the attacks on it are what their words say."""

from __future__ import annotations

import numpy as np
import pytest
from hearth.core import fields
from strangers import attacks, trial
from strangers import places as at
from strangers.cooks import draw, seeds

# even seeds, chosen while the law was made: with twice the fan the law of before came 8 to 92 C over the band on them
STRONG = (("lags", 88), ("lags", 94), ("bed", 74), ("gusty", 44))


@pytest.mark.parametrize(("family", "seed"), STRONG)
def test_a_strong_fan_does_not_carry_the_first_arrival_past_the_band(family: str, seed: int) -> None:
    cook = draw(family, seed, air=2.0, hours=3.0)
    trace = trial.board(cook)
    found = trial.judge(cook, trace)
    assert found.arrived_min is not None and found.over_alone_c <= trial.NEAR_C
    assert found.over_c <= trial.NEAR_C + 0.5  # after the first lid `lags 88` comes 3.1 C over
    assert found.trips == []


@pytest.mark.parametrize(("family", "seed"), STRONG)
def test_the_board_does_not_feel_its_own_brake_as_a_lid(family: str, seed: int) -> None:
    cook = draw(family, seed, air=2.0, hours=3.0)
    cook.without(at.LID, at.MEAT)
    trace = trial.board(cook)
    arrived = int(np.flatnonzero(trace[:, at.T_READING] >= trial.BAND_C[0])[0])
    assert not (trace[:arrived, at.T_REASON] == fields.OPENED_FELT).any()


def test_a_pit_that_swings_is_held_better_by_a_board_that_learns() -> None:
    cook = draw("gusty", 44, air=2.0, hours=6.0)
    learning = trial.judge(cook, trial.board(cook, {"learn": 1})).in_band
    fixed = trial.judge(cook, trial.board(cook, {"learn": 0})).in_band
    assert learning > fixed + 0.1


def test_another_cookers_lesson_is_forgotten_in_time() -> None:
    cook = draw("bed", 2, hours=6.0)
    own, foreign = (trial.judge(cook, trial.board(cook, learned=share)).in_band for share in (1000, 250))
    assert foreign > own - 0.03


@pytest.mark.parametrize("name", attacks.ATTACKS)
def test_an_attack_changes_the_night_and_is_the_same_every_time(name: str) -> None:
    cook, again, plain = attacks.attacked(name, "bed", 4), attacks.attacked(name, "bed", 4), draw("bed", 4)
    assert cook.c == again.c and cook.k == again.k and cook.events == again.events and cook.hours == again.hours
    assert (cook.weather == again.weather).all()
    same = cook.c == plain.c and cook.k == plain.k and cook.events == plain.events and cook.hours == plain.hours
    assert not same or (cook.weather != plain.weather).any()


def test_attacks_are_what_they_say() -> None:
    plain = draw("bed", 4)
    assert attacks.attacked("slow probe", "bed", 4).k[at.PROBE_S] == 2.0 * plain.k[at.PROBE_S]
    assert attacks.attacked("36 h", "bed", 4).cycles == 36 * 1800
    assert attacks.attacked("twice the fan", "bed", 4).k[at.FULL_AIR] > 1.3 * plain.k[at.FULL_AIR]
    assert attacks.attacked("half the fan", "bed", 4).k[at.FULL_AIR] < 0.9 * plain.k[at.FULL_AIR]
    wind = attacks.attacked("gusts", "bed", 4).weather[1::2]
    ups = np.flatnonzero((wind[:-1] < wind.mean()) & (wind[1:] >= wind.mean()))
    period = np.diff(ups).mean() * at.WEATHER_S / 60.0
    assert attacks.GUSTS_MIN[0] - 0.5 <= period <= attacks.GUSTS_MIN[1] + 0.5
    fuel = attacks.attacked("fuel ends", "bed", 4)
    assert fuel.events[-1][at.E_KIND] == at.FUEL_IS and len(fuel.events) == len(plain.events) + 1
    with pytest.raises(ValueError, match="Unknown attack"):
        attacks.attacked("rain", "bed", 4)


def test_fresh_seeds_stay_in_their_half() -> None:
    assert seeds("report", 3, 5001) == [5001, 5003, 5005] and seeds("choose", 2, 5001) == [5002, 5004]

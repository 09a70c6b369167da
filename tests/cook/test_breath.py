"""The fire's breath: said in time when the fan's need grows, and not for what else moves a fan."""

from __future__ import annotations

import random

import pytest
from tuyere.cook import breath
from tuyere.cook.prompts import prompts
from tuyere.cook.snapshot import Breath, Cook, Cycle, Event
from tuyere.text import Reader, render

START = 1_700_000_000_000 // 600_000 * 600_000
MINUTE = 60_000


def look(
    fan: list[float], outside: list[float] | None = None, events: list[Event] | None = None, pit: float = 128.0
) -> Breath:
    """A pit that is held from the first minute on."""
    count = len(fan)
    at = [START + i * MINUTE for i in range(count)]
    air: list[float | None] = list(outside) if outside is not None else [None] * count
    readings: list[float | None] = [pit] * count
    return breath.look(at, readings, fan, [121.1] * count, [135.0] * count, air, events or [], at[-1])


def ash(minutes: int, begins: float = 0.3, per_hour: float = 0.12) -> list[float]:
    """A need that grows in a straight line, in gusts."""
    gusts = random.Random(1)
    return [min(1.0, begins + per_hour * i / 60.0 + gusts.uniform(-0.03, 0.03)) for i in range(minutes)]


def test_a_need_that_grows_is_said_with_the_time_at_which_the_fan_is_at_its_end() -> None:
    """0.3 and 0.12 more each hour: the whole fan after 350 min."""
    assert look(ash(200)).words == ""  # it is far
    found = look(ash(290))
    assert found.share == pytest.approx(0.42 / 0.88, abs=0.04)  # the best: the first 40 min that count
    assert (found.spent - START) / MINUTE == pytest.approx(350.0, abs=20.0)
    assert found.knock_by == found.spent - breath.TO_KNOCK
    said = render(found.words, Reader("C"))
    assert "Knock the ash off before" in said and "the fan has nothing left to give" in said
    late = look(ash(340))
    assert late.knock_by == START + 339 * MINUTE and "Knock the ash off now" in render(late.words, Reader("C"))


def test_a_steady_need_and_one_that_falls_are_not_said() -> None:
    gusts = random.Random(2)
    found = look([0.6 + gusts.uniform(-0.2, 0.2) for _ in range(400)])
    assert found.words == "" and found.share is not None and found.share > 0.85
    assert look([0.9 - 0.001 * i for i in range(400)]).words == ""


def test_a_cold_night_is_not_taken_for_ash() -> None:
    """The whole rise of the fan is what colder air outside asks for."""
    outside = [25.0 - 0.1 * i for i in range(400)]
    fan = [0.4 * (128.05 - air) / 103.05 for air in outside]
    found = look(fan, outside)
    assert found.share == pytest.approx(1.0, abs=0.02) and found.words == ""


def test_it_begins_anew_when_the_ash_was_knocked_or_fuel_added() -> None:
    for kind in ("ash_knocked", "fuel_added"):
        mended = Event(id=1, at=START + 285 * MINUTE, noted=0, kind=kind)
        assert look(ash(290), events=[mended]) == Breath()


def test_minutes_near_a_lid_and_outside_the_band_do_not_count() -> None:
    fan = [0.3] * 300 + [1.0] * 12
    opened = Event(id=1, at=START + 299 * MINUTE, noted=0, kind="opened_felt")
    assert look(fan, events=[opened]).share == pytest.approx(1.0, abs=0.01)
    assert look(ash(290), pit=110.0) == Breath()


def test_an_hour_at_the_most_tells_nothing() -> None:
    assert look(ash(90)).share is None
    assert breath.look([], [], [], [], [], [], [], 0) == Breath()


def test_a_new_band_begins_anew() -> None:
    count = 290
    at = [START + i * MINUTE for i in range(count)]
    low = [100.0] * (count - 30) + [121.1] * 30
    found = breath.look(at, [128.0] * count, ash(count), low, [135.0] * count, [None] * count, [], at[-1])
    assert found == Breath()


def test_the_sentence_stands_among_the_things_to_do_and_a_note_of_the_ash_answers_it() -> None:
    now = START + 300 * MINUTE
    cook = Cook(id=1, name="c", started=START, meat_on=START + MINUTE)
    holding = Cycle(at=now, pit=128.0, state="holding", reason="in_band")
    failing = look(ash(290))
    (found,) = [one for one in prompts(cook, [], [], now, holding, breath=failing) if one.kind == "ash_knocked"]
    assert found.words == failing.words and found.due == failing.knock_by and found.piece == 0  # it is the whole pit's
    assert not [one for one in prompts(cook, [], [], now, holding, breath=Breath(0.9)) if one.kind == "ash_knocked"]
    fading = Cycle(at=now, pit=110.0, state="fading", reason="fire_fading")
    assert not [one for one in prompts(cook, [], [], now, fading, breath=failing) if one.kind == "ash_knocked"]

"""When a reading is believed, and what offset it asks for."""

from __future__ import annotations

import math
import random

import pytest
from hearth.core import fields
from rendered import words
from tuyere.board import settle
from tuyere.board.settle import DRIFT, MOST, NEEDS, SPREAD, Settling, judge
from tuyere.text import Reader, render


def fed(*readings: int | None) -> Settling:
    settling = Settling()
    for reading in readings:
        settling.add(reading)
    return settling


def test_a_still_reading_is_taken_and_its_mean_is_exact() -> None:
    assert fed(*[100] * (NEEDS - 1)).mean is None
    assert fed(*[100] * NEEDS).mean == 100
    noise = random.Random(4)
    readings = [1000 + round(noise.gauss(0, 5)) for _ in range(NEEDS)]
    assert fed(*readings).mean == sum(readings) / NEEDS


@pytest.mark.parametrize(
    "readings",
    [
        [100] * (NEEDS - 1) + [None],
        [100] * (NEEDS - 1) + [100 + SPREAD + 1],
        [i * (DRIFT // 4) for i in range(NEEDS)],  # drifts steadily, each step small
    ],
)
def test_a_missing_noisy_or_drifting_reading_is_not(readings: list[int | None]) -> None:
    assert fed(*readings).mean is None


def test_a_probe_that_follows_the_water_is_not_taken_before_it_has_arrived() -> None:
    """First-order lag of 20 s from 20 C into ice: taken only when within 0.2 C of the truth."""
    settling, reading = Settling(), 2000.0
    for cycle in range(200):
        reading *= 0.905  # exp(-2/20)
        settling.add(round(reading))
        if settling.mean is not None:
            assert cycle > NEEDS and settling.mean < 20
            return
    pytest.fail("never taken")


def test_the_point_nearer_to_its_use_decides() -> None:
    errors = {"ice": 40.0, "boiling": -110.4}
    assert judge("pit", errors).offset == judge("meat_1", errors).offset == 110
    assert judge("ambient", errors).offset == -40
    assert judge("ambient", {"boiling": 30.0}).offset == -30 and judge("meat_2", {"ice": 30.0}).offset == -30


@pytest.mark.parametrize("error", [MOST + 1, -MOST - 1])
def test_an_offset_out_of_range_is_a_bad_probe_and_is_not_cut_off(error: float) -> None:
    verdict = judge("meat_1", {"boiling": error})
    assert verdict.offset is None and words(verdict.words).startswith("bad probe")
    assert judge("meat_1", {"boiling": error - (1 if error > 0 else -1)}).offset == (-MOST if error > 0 else MOST)
    assert {MOST} == {row[4] for row in fields.SETTINGS if row[0].endswith("_offset")}


@pytest.mark.parametrize(("channel", "look"), [("pit", "converter"), ("meat_3", "probe_beta")])
def test_two_points_that_no_offset_mends_are_a_bad_probe(channel: str, look: str) -> None:
    verdict = judge(channel, {"ice": 100.0, "boiling": -260.0})
    assert verdict.offset is None and look in words(verdict.words) and "-4.68 F" in words(verdict.words, "F")


def test_the_wrong_converter_or_probe_is_not_hidden_in_an_offset() -> None:
    """A thermistor of Beta 3435 read as 3950 (both common, from memory): right at 25 C, 9 C off at the boil."""
    true_ohms = 100_000 * math.exp(3435 * (1 / 373.15 - 1 / 298.15))
    ice_ohms = 100_000 * math.exp(3435 * (1 / 273.15 - 1 / 298.15))

    def read(ohms: float) -> float:
        return (1 / (1 / 298.15 + math.log(ohms / 100_000) / 3950) - 273.15) * 100

    errors = {"ice": read(ice_ohms), "boiling": read(true_ohms) - 10_000}
    assert judge("meat_1", errors).offset is None


def test_degrees_and_differences_in_both_units() -> None:
    reads = settle.temperature
    assert render(reads(9820), Reader("C")) == "98.20 C" and render(reads(10000), Reader("F")) == "212.0 F"
    off = settle.difference
    assert render(off(-50), Reader("F")) == "-0.90 F" and render(off(50), Reader("C")) == "+0.50 C"

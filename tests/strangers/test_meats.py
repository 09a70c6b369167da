"""The strangers of meat: they cook as meat does, and nothing of the project's own meat is in them."""

from __future__ import annotations

import ast
import random
from functools import cache
from pathlib import Path
from typing import Any

import meat_strangers
import numpy as np
import pytest
from strangers.meats import judged, nights
from strangers.meats.piece import BARE, FOIL, PAPER, Meat

ROOM = Path(nights.__file__).parent


@cache
def hours(
    generator: str, pace: str = "usual", wrap: int = PAPER, to: float = 95.0, **more: float
) -> tuple[float, float]:
    """(hours until a 5.5 kg piece reads `to` C, yield) in a steady pit, with the same draws."""
    given: dict[str, Any] = {"start": 5.0, "ice": 0.0, "injected": 0.0, "off": 0.0} | more
    meat = Meat(
        pace=pace, mass=5.5, thick=0.055, fat=0.12, share_through=1.0, wrap=wrap, wrap_min=380.0, **given
    )  # fmt: skip
    pit = np.tile([125.0, 120.0, 13_000.0], (40 * 60, 1))
    probe, kept = nights.GENERATORS[generator].cook(meat, random.Random(5), pit)
    assert np.isfinite(probe).all()
    return float(np.argmax(probe >= to)) / 60.0, kept


@pytest.mark.parametrize("generator", nights.GENERATORS)
def test_they_cook_as_practice_says(generator: str) -> None:
    # 5-7 kg in paper at 121-135 C: 9-15 h; foil is quicker, bare slower; 45-75 % remain (common practice, no source)
    fast, usual, slow = (hours(generator, pace)[0] for pace in nights.PACES)
    assert 7.0 < fast < usual < slow < 16.0
    assert hours(generator, wrap=FOIL)[0] < usual < hours(generator, wrap=BARE)[0]
    assert 0.45 < hours(generator)[1] < 0.75


@pytest.mark.parametrize("generator", nights.GENERATORS)
def test_ice_costs_time_and_a_tip_near_a_face_reads_ahead(generator: str) -> None:
    assert hours(generator, to=50.0, start=-0.8, ice=0.35)[0] > hours(generator, to=50.0)[0] + 0.25
    assert hours(generator, to=50.0, off=0.8)[0] < hours(generator, to=50.0)[0]


def test_a_night_is_the_same_again_and_tells_no_more_than_a_cook_knows() -> None:
    one, again = (nights.draw("chain", "usual", 2) for _ in range(2))
    assert one is not None and again is not None and one.finish == again.finish
    now = one.finish - 120 * nights.MINUTE
    known = one.known(now)
    assert known.cooker == "" and max(known.columns.at) <= now
    assert all(note.at <= now for note in known.pieces[0].notes)
    assert len(known.columns.at) == len(known.columns.pit) == len(known.columns.meats[0])
    with pytest.raises(ValueError, match="Unknown generator 'oven'"):
        nights.draw("oven", "usual", 1)


def test_the_generators_import_nothing_of_the_projects_meat() -> None:
    for name in ("build", "piece", *nights.GENERATORS):
        tree = ast.parse((ROOM / f"{name}.py").read_text())
        for node in ast.walk(tree):
            names = [one.name for one in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not any(one.startswith("tuyere") for one in names), name


def test_the_interval_score_punishes_a_miss_and_a_wide_range() -> None:
    # width + 2 / 0.2 times the miss
    assert judged.score(100.0, 160.0, 130.0) == 60.0
    assert judged.score(100.0, 160.0, 170.0) == 160.0
    assert judged.score(0.0, 400.0, 170.0) > judged.score(100.0, 160.0, 170.0)


def test_each_place_of_a_probe_is_known_by_its_sentence_and_counted_once_a_night() -> None:
    sentences = {place: f"Its probe {sign} so." for place, sign in judged.PLACES.items()}
    assert {judged.place(words): place for place, words in sentences.items()} == {name: name for name in sentences}
    assert judged.place("") == ""
    with pytest.raises(ValueError, match="add its sign to PLACES"):
        judged.place("Its probe is in the drip pan.")
    asked = [
        judged.Seat("chain", "usual", seed, places, lead)
        for seed, (places, lead) in enumerate([(["face"], 3.0), ([], 8.0), (["fat", "face"], 2.9), ([], 0.0)])
    ]
    assert meat_strangers.seats(asked)[2:] == [
        "| 3 C or more off the middle | 2 | 1 | 0 | 0 | 0 | 1 |",
        "| the others | 2 | 1 | 0 | 1 | 0 | 1 |",
    ]

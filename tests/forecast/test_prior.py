"""How wide each number of a member is before any evidence: its middle, and one standard deviation beside it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tuyere.forecast import exchange, prior
from tuyere.meat import piece_slots as at
from tuyere.meat.cuts import CUTS

PART = CUTS["packer"].parts[0]


def beside(name: str, one: exchange.KnownPiece) -> prior.Members:
    """Two members: the middle, and one that is one sd off in `name` alone."""
    rows = np.zeros((2, len(prior.NAMES)))
    rows[1, prior.COLUMN[name]] = 1.0
    return prior.members(one, rows)


@pytest.mark.parametrize(("weighed", "sd"), [(6.0, 0.02), (None, 0.22)])
def test_a_weighed_piece_is_known_better_than_a_guessed_one(weighed: float | None, sd: float) -> None:
    mass = beside("mass", exchange.KnownPiece(id=1, mass=weighed)).mass
    assert mass[1] / mass[0] == pytest.approx(math.exp(sd))
    assert mass[0] == pytest.approx((weighed or CUTS["packer"].kg[1]) * PART.share)


@pytest.mark.parametrize(("measured", "sd"), [(PART.thick_m, 0.05), (None, 0.12)])
def test_a_measured_thickness_is_known_better(measured: float | None, sd: float) -> None:
    half = beside("thick", exchange.KnownPiece(id=1, mass=6.0, flat=measured)).half
    assert half[1] / half[0] == pytest.approx(math.exp(sd))


@pytest.mark.parametrize(("taken", "sd"), [(8.0, 1.0), (None, 3.0)])
def test_a_start_that_was_taken_is_known_better(taken: float | None, sd: float) -> None:
    probe = beside("start", exchange.KnownPiece(id=1, mass=6.0, start=taken)).m[:, at.PROBE]
    assert probe[1] - probe[0] == pytest.approx(sd) and probe[0] == (5.0 if taken is None else taken)


def test_the_fat_of_a_piece_is_known_within_a_third(monkeypatch: pytest.MonkeyPatch) -> None:
    given: list[float] = []
    mix = prior.mix
    monkeypatch.setattr(prior, "mix", lambda fat: given.append(fat) or mix(fat))
    beside("fat", exchange.KnownPiece(id=1, mass=6.0))
    assert given == pytest.approx([PART.fat, PART.fat * math.exp(0.30)])

"""The search that the law is judged by knows the pit and its weather, and no lid before it goes up."""

from __future__ import annotations

from typing import Any

import pytest
from strangers import build, trial
from strangers import places as at
from strangers.cooks import Cook, draw
from strangers.pits import lags


def warm(lid: bool) -> Cook:
    """14 min of a pit that stands in its band already; with or without a lid after 8."""
    cook = draw("lags", 4, hours=14.0 / 60.0)
    cook.events = []
    for place in (at.X_AIR, lags.LUMP):
        cook.x[place] = 125.0
    cook.y[at.SHEATH] = cook.y[at.READING] = 125.0
    if lid:
        cook.happens(at.FROM_START, 480.0, at.LID, 60.0)
    return cook


@pytest.fixture
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    """A short look ahead, so that it runs uncompiled."""
    made: Any = build.search(True)
    monkeypatch.setattr(made, "LOOK", 40)


def test_a_lid_changes_nothing_before_it_goes_up(short: None) -> None:
    told, calm = (trial.search(warm(lid), plain=True) for lid in (True, False))
    up = 240
    assert (told[:up, : at.T_LID] == calm[:up, : at.T_LID]).all()
    assert told[up:, at.T_LID].any() and (told[up:, at.T_TRUE] < calm[up:, at.T_TRUE]).any()


def test_it_brings_the_pit_to_the_middle_of_its_band(short: None) -> None:
    reads = trial.search(warm(lid=False), plain=True)[:, at.T_READING]
    assert abs(reads[-120:] - trial.MIDDLE_C).max() < 3.0

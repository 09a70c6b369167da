"""Forecasts tell of made-up pieces what the page says: finishes to 2 min and 0.1 C, the rest to half a minute and 10 g.

The words are the same.
"""

from __future__ import annotations

import json
from typing import Any

import pytest
import told
from tuyere.sim import compiled

PAGE: dict[str, dict[str, Any]] = json.loads(told.PAGE.read_text(encoding="utf-8"))
ROUNDED = {"finish": 0.04, "shade": 0.011, "hold": 0.011, "fuel": 0.011}  # by another processor, or interpreted


def alike(was: Any, now: Any, off: float) -> bool:
    """The same, but for what another processor may round otherwise."""
    if isinstance(was, dict):
        return was.keys() == now.keys() and all(alike(was[key], now[key], off) for key in was)
    if isinstance(was, list):
        return (
            isinstance(now, list)
            and len(was) == len(now)
            and all(alike(a, b, off) for a, b in zip(was, now, strict=True))
        )
    if isinstance(was, float) and isinstance(now, float):
        return now == pytest.approx(was, abs=off)
    return bool(was == now)


@pytest.mark.parametrize(("part", "name"), [(part, name) for part, those in PAGE.items() for name in those])
def test_a_forecast_tells_what_the_page_says(part: str, name: str) -> None:
    if part == "finish" and not compiled.available():
        pytest.skip("without numba a forecast looks at the night in fewer steps")
    now = json.loads(json.dumps(dict(told.PARTS[part]())[name]()))
    was = PAGE[part][name]
    assert alike(was, now, ROUNDED[part]), f"was {was}, is {now}; if it is meant: `python tests/forecast/told.py`"


def test_the_page_holds_all_that_is_told() -> None:
    assert {part: list(those) for part, those in PAGE.items()} == {
        part: [name for name, _ in tellings()] for part, tellings in told.PARTS.items()
    }

"""Forecasts tell of made-up pieces what the page says: to 2 min, 0.1 C and 10 g, and the same words."""

from __future__ import annotations

import json
from typing import Any

import pytest
import told
from tuyere.sim import compiled

PAGE: dict[str, dict[str, Any]] = json.loads(told.PAGE.read_text(encoding="utf-8"))


def alike(was: Any, now: Any) -> bool:
    """The same, but for what another processor may round otherwise."""
    if isinstance(was, dict):
        return was.keys() == now.keys() and all(alike(was[key], now[key]) for key in was)
    if isinstance(was, list):
        return isinstance(now, list) and len(was) == len(now) and all(map(alike, was, now))
    if isinstance(was, float) and isinstance(now, float):
        return now == pytest.approx(was, abs=0.04)
    return bool(was == now)


@pytest.mark.parametrize("part", PAGE)
def test_a_forecast_tells_what_the_page_says(part: str) -> None:
    if part == "finish" and not compiled.available():
        pytest.skip("without numba a forecast looks at the night in fewer steps")
    now = json.loads(json.dumps(dict(told.PARTS[part]())))
    assert now.keys() == PAGE[part].keys()
    other = [f"{name}: was {was}, is {now[name]}" for name, was in PAGE[part].items() if not alike(was, now[name])]
    assert not other, "\n".join(["look at each; if they are meant: `python tests/forecast/told.py`", *other])

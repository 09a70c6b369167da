"""The meat's room says and reckons of made-up pieces, places and rules what the page says: the words, and five digits.

Another processor may round the last of these otherwise.
"""

from __future__ import annotations

import json
from typing import Any

import meat_told as meat
import pytest

PAGE: dict[str, dict[str, Any]] = json.loads(meat.PAGE.read_text(encoding="utf-8"))
ROUNDED = 3e-4


def alike(was: Any, now: Any) -> bool:
    """The same, but for what is rounded otherwise."""
    if isinstance(was, dict):
        return was.keys() == now.keys() and all(alike(was[key], now[key]) for key in was)
    if isinstance(was, list):
        return isinstance(now, list) and len(was) == len(now) and all(map(alike, was, now))
    if isinstance(was, float) and isinstance(now, float):
        return now == pytest.approx(was, rel=ROUNDED, abs=1e-9)
    return bool(was == now)


@pytest.mark.parametrize(("part", "name"), [(part, name) for part, those in PAGE.items() for name in those])
def test_the_room_tells_what_the_page_says(part: str, name: str) -> None:
    was, now = PAGE[part][name], json.loads(json.dumps(dict(meat.PARTS[part]())[name]()))
    assert alike(was, now), f"was {was}, is {now}; if it is meant: `python tests/meat/meat_told.py`"


def test_the_page_holds_all_that_is_told() -> None:
    assert {part: list(those) for part, those in PAGE.items()} == {
        part: [name for name, _ in tellings()] for part, tellings in meat.PARTS.items()
    }

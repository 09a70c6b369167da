"""What a logbook holds after a small night, and what it says of misuse and damage, is as the page says."""

from __future__ import annotations

import json
from typing import Any

import pytest
import written

PAGE: dict[str, dict[str, Any]] = json.loads(written.PAGE.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def now(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = json.loads(written.lines(written.written(tmp_path_factory.mktemp("written"))))
    return found


@pytest.mark.parametrize("part", PAGE)
def test_it_is_as_written(part: str, now: dict[str, dict[str, Any]]) -> None:
    assert now.keys() == PAGE.keys() and now[part].keys() == PAGE[part].keys()
    other = [f"{name}: was {was}, is {now[part][name]}" for name, was in PAGE[part].items() if now[part][name] != was]
    assert not other, "\n".join(["look at each; if they are meant: `python tests/logbook/written.py`", *other])


def test_no_misuse_on_the_page_is_taken() -> None:
    assert [name for name, said in PAGE["refused"].items() if said.startswith("taken")] == []
    assert [name for name, (whole, _) in PAGE["harmed"].items() if not whole] == [], "damage that no check finds"

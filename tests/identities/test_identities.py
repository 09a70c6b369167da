"""What files, lines and programs know each other by is as the page says. A change needs more than a new page."""

from __future__ import annotations

import importlib.util
import json
import os
import sys
from pathlib import Path
from typing import Any

import pytest

TOOL = Path(__file__).parents[1] / "tools" / "identities.py"
spec = importlib.util.spec_from_file_location("identities_tool", TOOL)
assert spec is not None and spec.loader is not None
tool = importlib.util.module_from_spec(spec)
sys.modules["identities_tool"] = tool
spec.loader.exec_module(tool)

PAGE: dict[str, Any] = json.loads(tool.PAGE.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def now() -> dict[str, Any]:
    return tool.identities()


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX")
def test_nothing_in_use_has_changed(now: dict[str, Any]) -> None:
    trouble = tool.changes(PAGE, now)
    assert not trouble, "\n".join(trouble)


@pytest.mark.parametrize("title", PAGE)
def test_the_page_is_whole(title: str, now: dict[str, Any]) -> None:
    assert now.keys() == PAGE.keys()
    # in order, too: the bytes of a record lie in the order of its fields
    assert list(now[title].items()) == list(PAGE[title].items()), "an addition: run `python tests/tools/identities.py`"


def test_a_change_names_what_it_needs() -> None:
    page = {"alarms": {"needs": "Rename the rows.", "gone": "alarm", "kept": 1}}
    assert tool.changes(page, {"alarms": {"needs": "", "kept": 2, "new": 3}}) == [
        "alarms, gone: was 'alarm', is gone. Rename the rows.",
        "alarms, kept: was 1, is now 2. Rename the rows.",
    ]


def test_another_schema_wants_a_new_step() -> None:
    page = {tool.STEPS: {"first": 0}, tool.SCHEMA: {"t": "a"}, "alarms": {"x": "alarm"}}
    other = {**page, tool.SCHEMA: {"t": "b"}}
    assert tool.allowed([tool.SCHEMA, "alarms"], page, other).keys() == {tool.STEPS, tool.SCHEMA}
    stepped = {**other, tool.STEPS: {"first": 0, "second": 1}}
    assert tool.allowed([tool.SCHEMA], page, stepped).keys() == {tool.STEPS, "alarms"}

"""Each driver's answer changes where the page says."""

from __future__ import annotations

import json
from typing import Any

import pytest
import thresholds

PAGE: dict[str, dict[str, Any]] = json.loads(thresholds.PAGE.read_text(encoding="utf-8"))


@pytest.mark.parametrize("part", PAGE)
def test_it_changes_where_the_page_says(part: str) -> None:
    now = json.loads(json.dumps(dict(thresholds.PARTS[part]())))
    other = [f"{name}: was {was}, is {now.get(name)}" for name, was in PAGE[part].items() if now.get(name) != was]
    assert not other, "\n".join(["look at each; if they are meant: `python tests/firmware/thresholds.py`", *other])
    assert now.keys() == PAGE[part].keys()

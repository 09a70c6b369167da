"""Six suppers stand here as whole pages (`suppers/*.txt`), to be read by somebody who has cooked.

They hang on the plan alone: forecast, fuel and hold are plain numbers. `python tests/plan/supper_pages.py` writes them.
"""

from __future__ import annotations

import pytest
from plan_kit import lighten
from supper_pages import PAGES, SUPPERS, whole


@pytest.mark.parametrize("name", SUPPERS)
def test_a_supper_is_as_it_was_read(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    lighten(monkeypatch.setattr)
    page = whole(name)
    assert page == (PAGES / f"{name}.txt").read_text(encoding="utf-8")
    assert max(map(len, page.splitlines())) <= 80


def test_no_supper_is_missing_or_left_over() -> None:
    assert sorted(file.stem for file in PAGES.glob("*.txt")) == sorted(SUPPERS)

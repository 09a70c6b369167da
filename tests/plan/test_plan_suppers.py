"""Seven suppers stand here as whole pages (`suppers/*.txt`), to be read by somebody who has cooked.

They hang on the plan alone: forecast, fuel and hold are plain numbers. `python tests/plan/supper_pages.py` writes them.
"""

from __future__ import annotations

import pytest
from plan_kit import LONDON, lighten
from supper_pages import PAGES, SUPPERS, made, whole
from tuyere.plan import page


@pytest.mark.parametrize("name", SUPPERS)
def test_a_supper_is_as_it_was_read(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    lighten(monkeypatch.setattr)
    plan, units = made(name)
    assert whole(name, plan, units) == (PAGES / f"{name}.txt").read_text(encoding="utf-8")
    for width in (60, 80, 100):
        for full in (False, True):
            assert max(map(len, page.page(plan, units, LONDON, full, width=width))) <= width


def test_no_supper_is_missing_or_left_over() -> None:
    assert sorted(file.stem for file in PAGES.glob("*.txt")) == sorted(SUPPERS)

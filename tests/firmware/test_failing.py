"""One thing that the stores ask of the flash fails, each in turn: what comes of it is what the page says."""

from __future__ import annotations

import failing
import pytest

PAGE = failing.PAGE.read_text(encoding="utf-8")


@pytest.mark.parametrize("scene", failing.SCENES)
def test_what_comes_of_each_failure_is_what_the_page_says(scene: str) -> None:
    part = "\n".join([*failing.page(scene), ""])
    assert part in PAGE, "look at each line; if it is meant: `python tests/firmware/failing.py`"

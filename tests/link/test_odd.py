"""Board and host make of lines that hold something odd what the page says, and go on."""

from __future__ import annotations

import odd


def test_they_make_of_odd_lines_what_the_page_says() -> None:
    assert odd.written() == odd.PAGE.read_text(encoding="utf-8"), "if it is meant: `python tests/link/odd.py`"

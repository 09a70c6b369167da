"""The board answers lines that hold something odd as the page says, and goes on."""

from __future__ import annotations

import odd


def test_a_board_answers_what_the_page_says() -> None:
    assert odd.written() == odd.PAGE.read_text(encoding="utf-8"), "if it is meant: `python tests/link/odd.py`"

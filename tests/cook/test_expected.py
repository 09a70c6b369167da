"""Of pieces that are awaited, held or over it is said what the page says."""

from __future__ import annotations

import expected


def test_it_is_said_what_the_page_says() -> None:
    page = expected.PAGE.read_text(encoding="utf-8")
    assert expected.written() == page, "if it is meant: `python tests/cook/expected.py`"

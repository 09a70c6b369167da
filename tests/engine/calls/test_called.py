"""In nights of causes that come, stay and go it is sent what the page says, to whom and when."""

from __future__ import annotations

import called


def test_what_is_sent_is_what_the_page_says() -> None:
    page = called.PAGE.read_text(encoding="utf-8")
    assert called.written() == page, "look at each line; if it is meant: `python tests/engine/calls/called.py`"

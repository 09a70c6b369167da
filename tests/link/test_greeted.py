"""A host greets boards that hold this and that as the page says."""

from __future__ import annotations

import greeted


def test_a_host_says_and_tells_what_the_page_says() -> None:
    page = greeted.PAGE.read_text(encoding="utf-8").split("\n\n")
    found = greeted.written().split("\n\n")
    other = [after for before, after in zip(page, found, strict=True) if before != after]
    assert not other, "\n\n".join(["look at each; if they are meant: `python tests/link/greeted.py`", *other])

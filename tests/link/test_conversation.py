"""Host and board say in a bad night what the page says."""

from __future__ import annotations

from pathlib import Path

import conversation


def test_they_say_what_the_page_says(tmp_path: Path) -> None:
    now = conversation.written(tmp_path)
    assert now == conversation.PAGE.read_text(encoding="utf-8"), "if meant: `python tests/link/conversation.py`"
    for what in ("Cut (101, ", "'no_answer'", "'link_lost'", "'over_limit'", "Earlier boot 101", "stands: True"):
        assert what in now, f"the night no longer shows {what}"

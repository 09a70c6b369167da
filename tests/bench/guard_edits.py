"""A guard, and the edit that takes it out."""

from __future__ import annotations

from typing import NamedTuple

CORE = "core"  # the portable cases, run by this Python


class Out(NamedTuple):
    """A guard, and the edit that takes it out: file under hearth, text, what it becomes; where its test is; and why
    the twin cannot show it alone, if so."""

    name: str
    file: str
    text: str
    without: str
    tests: str = CORE
    unseen: str = ""

"""Typed text as words, for tests that read what a person reads."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from tuyere.text import Reader, Said, as_said, render

READERS = {"C": Reader("C"), "F": Reader("F")}


def words(said: Said | dict[str, Any] | Iterable[Said], units: str = "C") -> str:
    """A sentence, its plain form, or several in a row, as a reader of `units` has them."""
    if isinstance(said, dict):
        return words(as_said(said), units)
    if isinstance(said, (list, tuple)):
        return " ".join(words(one, units) for one in said)
    return render(said, READERS[units])  # type: ignore[arg-type]

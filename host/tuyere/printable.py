"""Text from outside as it may go to a log or a terminal."""

from __future__ import annotations

import unicodedata
from typing import Any

UNSEEN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")  # categories of Unicode: control, format, no character, line ends


def printable(text: str) -> str:
    """The text with control and invisible characters as escapes: they could move a terminal's cursor, forge a line of
    a log, or turn the order of what is read."""
    if text.isprintable():
        return text
    return "".join(
        letter if letter.isprintable() or unicodedata.category(letter) not in UNSEEN else ascii(letter)[1:-1]
        for letter in text
    )


def all_printable(value: Any) -> Any:
    """Every text within plain data, keys too."""
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, list):
        return [all_printable(one) for one in value]
    if isinstance(value, dict):
        return {printable(key): all_printable(one) for key, one in value.items()}
    return value

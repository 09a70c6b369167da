"""Typed text in the file: JSON of `tuyere.text.Said`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from tuyere.text import Said, Unconverted

_SAID: Any = Said


def pack(said: Said | Sequence[Said]) -> str:
    """A sentence, or several, as the file has them."""
    return msgspec.json.encode(said).decode()


def sentence(stored: str) -> Said:
    """A stored sentence. Text that cannot be decoded is shown as it is, so that the row is not lost."""
    try:
        found: Said = msgspec.json.decode(stored, type=_SAID)
    except msgspec.DecodeError:
        return Unconverted(stored)
    return found


def several(stored: str) -> list[Said]:
    """Sentences of the file."""
    try:
        return msgspec.json.decode(stored, type=list[_SAID])
    except msgspec.DecodeError:
        return [Unconverted(stored)]


def columns(said: Said) -> tuple[str, str]:
    """An event's `text` and `said`: a plain sentence goes into the first, a typed one into the second."""
    return (said, "") if isinstance(said, str) else ("", pack(said))

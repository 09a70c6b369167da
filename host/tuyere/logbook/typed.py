"""Typed text as it is kept in the file: JSON."""

from __future__ import annotations

from typing import Any

import msgspec

from tuyere.text import Said, Unconverted

SAID: Any = Said


def stored(said: Said | list[Said]) -> str:
    """As the file keeps it."""
    return msgspec.json.encode(said).decode()


def read(text: str, kind: Any) -> Any:
    """Typed text of the file; what does not read as such is shown as it stands rather than losing the row."""
    try:
        return msgspec.json.decode(text, type=kind)
    except msgspec.DecodeError:
        return Unconverted(text) if kind is SAID else [Unconverted(text)]


def text_and_said(said: Said) -> tuple[str, str]:
    """A plain sentence goes into `text`, a typed one into `said`."""
    return (said, "") if isinstance(said, str) else ("", stored(said))

"""What was written to a board by tuning, so that it can be taken back: a small file in the data folder."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct, field

FILE = "tuned.json"
MOST = 50  # the newest are kept


class Written(Struct):
    """Settings that were written: when (UTC ms), from which cooks, the numbers before and after in units of the field
    table, what was expected of them, and whether they were taken back."""

    at: int
    cooks: list[str]
    before: dict[str, int]
    after: dict[str, int]
    gain: float = 0.0
    undone: bool = False
    file: str = ""  # where they went, "" the board


class Kept(Struct):
    """All of them, oldest first."""

    written: list[Written] = field(default_factory=list)


def read(home: Path) -> Kept:
    """What is kept; a file that cannot be read counts as none."""
    try:
        return msgspec.json.decode((home / FILE).read_bytes(), type=Kept)
    except (OSError, msgspec.MsgspecError):
        return Kept()


def remember(home: Path, one: Written) -> None:
    """Keep one more."""
    kept = read(home)
    kept.written = [*kept.written, one][-MOST:]
    save(home, kept)


def last(home: Path) -> Written | None:
    """The newest that went to a board and still stands."""
    return next((one for one in reversed(read(home).written) if not one.undone and not one.file), None)


def taken_back(home: Path) -> None:
    """Mark the newest that stands as taken back."""
    kept = read(home)
    for one in reversed(kept.written):
        if not one.undone and not one.file:
            one.undone = True
            break
    save(home, kept)


def save(home: Path, kept: Kept) -> None:
    """Whole or not at all."""
    plain: Any = msgspec.to_builtins(kept)
    home.mkdir(parents=True, exist_ok=True)
    spare = home / (FILE + ".new")
    spare.write_text(json.dumps(plain, indent=1), encoding="utf-8")
    os.replace(spare, home / FILE)

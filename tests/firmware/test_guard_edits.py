"""The edits that `tests/bench/guards.py` makes still fit the firmware: none is stale, none is forgotten.

The bench itself takes long; this only looks at the texts.
"""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest
from tuyere import declared

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "bench"))  # its files stand alone, as programs
from guard_edits import CORE, Out  # noqa: E402
from guards import GUARDS  # noqa: E402

NOTHING_TO_TAKE_OUT = {"drivers/servo.py"}  # a damper that jams: nothing on the board tells


@pytest.mark.parametrize("guard", GUARDS, ids=lambda guard: guard.name)
def test_an_edit_fits_its_file_in_one_place_and_leaves_a_program(guard: Out) -> None:
    whole = (declared.HEARTH / guard.file).read_text(encoding="utf-8")
    assert whole.count(guard.text) == 1, "bring the line in tests/bench up to date"
    ast.parse(whole.replace(guard.text, guard.without))
    assert guard.tests == CORE or all((ROOT / name).exists() for name in guard.tests.split())


def test_no_edit_has_the_name_of_another() -> None:
    names = [guard.name for guard in GUARDS]
    assert len(names) == len(set(names))


def test_each_file_that_declares_a_guard_has_an_edit() -> None:
    declares = {guard.where.split(":")[0] for guard in declared.guards()}
    assert declares - {guard.file for guard in GUARDS} == NOTHING_TO_TAKE_OUT

"""The guards are declared where they stand, all in the same way, and `firmware/guards.md` is made of that."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hearth.core import fields
from tuyere import declared

ROOT = Path(__file__).parents[2]
SETTINGS = {row[0] for row in fields.SETTINGS}


@pytest.mark.parametrize("guard", declared.guards(), ids=lambda guard: guard.name)
def test_a_guard_names_real_settings_and_tests(guard: declared.Guard) -> None:
    bounds = [] if guard.bounds == "none" else guard.bounds.split(", ")
    assert set(bounds) <= SETTINGS
    there = {path.stem for path in (ROOT / "tests").rglob("*.py")}
    named = re.findall(r"\w+", guard.tests.replace("tests/bench/", "").replace(".py", ""))
    assert named and set(named) <= there
    assert all(guard), "every one of the texts says something"


def test_no_guard_is_declared_twice() -> None:
    names = [guard.name for guard in declared.guards()]
    assert len(names) == len(set(names)) > 30


def test_every_file_of_the_law_that_trips_declares_a_guard() -> None:
    trips = {path.name for path in (declared.HEARTH / "core").glob("*.py") if re.search(r" trip\(", path.read_text())}
    declares = {guard.where.split(":")[0].removeprefix("core/") for guard in declared.guards()}
    assert trips - {"trips.py"} <= declares


def test_a_guard_that_leaves_something_out_is_named() -> None:
    keys = "".join(f"    {key}: so\n" for key in declared.KEYS)
    whole = declared.declared(f"A file.\n\nGuard: one\n{keys}\nGuard: two\n{keys}", "x.py")
    assert [guard.name for guard in whole] == ["one", "two"]
    with pytest.raises(ValueError, match=r"x\.py: the guard 'one' declares cause; it must be cause, evidence"):
        declared.declared("Guard: one\n    cause: so\n", "x.py")


def test_a_text_goes_on_over_lines() -> None:
    text = "Guard: one\n" + "".join(f"    {key}: so\n        and so\n" for key in declared.KEYS)
    assert declared.declared(text, "x.py")[0].cause == "so and so"

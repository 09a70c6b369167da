"""The reference is what the program's tables say now, and nothing in it is without help."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest
from tuyere.cook import faults
from tuyere.logbook.old_sentences import CODES

TOOL = Path(__file__).parents[1] / "tools" / "reference.py"
spec = importlib.util.spec_from_file_location("reference_tool", TOOL)
assert spec is not None and spec.loader is not None
reference = importlib.util.module_from_spec(spec)
sys.modules["reference_tool"] = reference
spec.loader.exec_module(reference)


def test_the_page_is_as_the_tables_are_now() -> None:
    stored = reference.PAGE.read_text(encoding="utf-8")
    assert stored == reference.page(), "run `python tests/tools/reference.py`"


def test_every_command_and_option_has_help() -> None:
    found = list(reference.commands())
    assert len(found) > 15
    for path, command, context in found:
        assert command.help and command.help.strip(), path
        for one in reference.options(command, context):
            assert one.help, (path, one.name)


@pytest.mark.parametrize(
    "part",
    ["settings", "inputs", "outputs", "memory", "keys", "states", "reasons", "causes", "notes", "happened"],
)
def test_every_entry_has_help(part: str) -> None:
    entries = getattr(reference, part)()
    assert len(entries) >= 8
    assert [one.name for one in entries if not one.help.strip()] == []


def test_every_alarm_that_was_ever_raised_under_a_code_is_listed() -> None:
    listed = {one.name.strip("`") for one in reference.causes()}
    assert set(CODES.values()) <= listed
    assert {guard.code for guard in (*faults.TRIPS.values(), *faults.BOARD.values())} <= listed
    assert {"meat_unkept", "meat_past", "too_hot_fed", "logbook_gone"} <= listed

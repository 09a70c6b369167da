"""What is written down beside the firmware is true of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from tuyere import staging
from tuyere.codes import REASONS, STATES, TRIPS


@pytest.mark.parametrize("path", staging.made(), ids=lambda path: path.name)
def test_what_is_made_from_the_tables_follows_them(path: Path) -> None:
    assert path.read_text(encoding="utf-8") == staging.made()[path], "run `python -m tuyere.staging`"


def test_words_for_states_and_reasons_follow_the_codes() -> None:
    from hearth.core import fields

    for words in (STATES, REASONS):
        for code, word in enumerate(words):
            assert getattr(fields, word.upper()) == code
    for code, word in enumerate(TRIPS[1:], 1):
        assert getattr(fields, f"TRIP_{word.upper()}") == code
    assert fields.OUT[4][4] == len(TRIPS) - 1
    assert fields.OUT[2][4] == len(STATES) - 1 and fields.OUT[3][4] == len(REASONS) - 1


def test_the_hash_changes_with_the_law(tmp_path: Path) -> None:
    before = staging.core_hash()
    files = staging.core_files()
    files["law.py"] += "\n"
    assert staging._digest(files) != before

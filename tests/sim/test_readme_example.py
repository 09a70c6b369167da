"""The example of README runs, and the pit in it is held."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

README = Path(__file__).parents[2] / "README.md"


def test_the_board_holds_the_example_pit(capsys: pytest.CaptureFixture[str]) -> None:
    [code] = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.S)
    names: dict[str, object] = {}
    exec(code, names)
    said = capsys.readouterr().out
    assert re.fullmatch(r"13[23] C: holding, in_band; owed [\d.]+ %\n", said), said
    assert 121.1 <= float(str(names["pit"])) <= 135.0

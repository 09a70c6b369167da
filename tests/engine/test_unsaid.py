"""A fault in what is said of the hands takes neither readings nor alarms off the screens."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tuyere.cook import prompts
from tuyere.engine import gather
from tuyere.engine.engine import Engine


def test_what_cannot_be_worked_out_is_said_and_logged_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*given: Any, **named: Any) -> None:
        raise ValueError("a template without its value")

    lines: list[str] = []
    engine = Engine(tmp_path, forecaster=(), log=lines.append)
    try:
        assert engine.snapshot().prompts == []
        monkeypatch.setattr(prompts, "prompts", fails)
        shots = [engine.snapshot() for _ in range(3)]
    finally:
        engine.logbook.close()
    assert [[prompt.words for prompt in shot.prompts] for shot in shots] == [[gather.UNSAID]] * 3
    assert all(shot.words for shot in shots)
    assert len([line for line in lines if "a template without its value" in line]) == 1

"""Helpers for the screen's tests: the scripted source is importable, times are UTC, and pauses are short."""

import os
import sys
from pathlib import Path

# A pilot's pause lasts until the process has done nothing for a fiftieth of a second, longer than a frame. Both in a
# quarter of the time: most of what these tests take is such waiting.
os.environ["TEXTUAL_FPS"] = "240"

import pytest
from textual import _wait

sys.path.insert(0, str(Path(__file__).parent))

from in_utc import in_utc  # noqa: F401


@pytest.fixture(autouse=True)
def short_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_wait, "SLEEP_GRANULARITY", _wait.SLEEP_GRANULARITY / 4.0)
    monkeypatch.setattr(_wait, "SLEEP_IDLE", _wait.SLEEP_IDLE / 4.0)

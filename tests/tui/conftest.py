"""Helpers for the screen's tests: the scripted source is importable, times are UTC, and nothing waits for a clock."""

import sys
from pathlib import Path

import pytest
from textual import app, pilot, screen

sys.path.insert(0, str(Path(__file__).parent))

from in_utc import in_utc  # noqa: F401
from quiet import quiet


@pytest.fixture(autouse=True)
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    """A pilot waits for what the event loop holds, and `quiet` paints: no frame comes by itself."""
    monkeypatch.setattr(screen, "UPDATE_PERIOD", 3600.0)
    monkeypatch.setattr(pilot.Pilot, "_wait_for_screen", quiet)
    for module in (app, pilot):
        monkeypatch.setattr(module, "wait_for_idle", quiet)

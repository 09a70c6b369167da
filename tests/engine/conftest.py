"""Lets the tests here import their kit and the fake board of tests/link, and notice a restart at once."""

import sys
from pathlib import Path

import pytest
from tuyere.link import session

sys.path.insert(0, str(Path(__file__).parent.parent / "link"))
sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture
def quick_beat(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hellos every 0.2 s instead of every 10: a restarted board is noticed sooner. test_session has the times."""
    monkeypatch.setattr(session, "BEAT_EVERY", 0.2)

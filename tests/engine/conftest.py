"""Lets the tests here import their kit and the fake board of tests/link, and notice a restart at once."""

import sys
from pathlib import Path

import pytest
from tuyere.engine import engine
from tuyere.engine.rpc import server
from tuyere.link import session

sys.path.insert(0, str(Path(__file__).parent.parent / "link"))
sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture
def quick_beat(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hellos every 0.2 s instead of every 10: a restarted board is noticed sooner. test_session has the times."""
    monkeypatch.setattr(session, "BEAT_EVERY", 0.2)


@pytest.fixture(autouse=True)
def quick_news(monkeypatch: pytest.MonkeyPatch) -> None:
    """Screens get their news every 0.05 s instead of every 0.25: a test waits less for what it wants to see."""
    monkeypatch.setattr(engine, "TICK", 0.05)
    monkeypatch.setattr(engine, "APART", 0.05)
    monkeypatch.setattr(server, "PACE", 0.04)

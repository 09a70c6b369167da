"""Lets the tests here import their kit, and gives them nights of the twin."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from replay_kit import Night, eventful, fill, quiet
from tuyere.logbook import Logbook
from tuyere.replay.found import Replay
from tuyere.replay.rerun import replay


@pytest.fixture(scope="session")
def night() -> Night:
    """Three boots with a bit of everything."""
    return eventful()


@pytest.fixture(scope="session")
def hour() -> Night:
    """One boot, started and held, a little over an hour."""
    return quiet(1.15)


@pytest.fixture
def rerun(tmp_path):
    """Stores a night in a logbook of its own and runs it again."""
    count = 0

    def run(night: Night, *, with_today: bool = False, fast: bool | None = False, **how) -> Replay:
        nonlocal count
        count += 1
        path = tmp_path / f"logbook{count}.sqlite"
        cook = fill(path, night, **how)
        with Logbook(path, owner=False) as book:
            return replay(book, cook, with_today=with_today, fast=fast)

    return run

"""Lets the tests here import their kits, and gives them a night."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from night_kit import Night


@pytest.fixture
def night(tmp_path: Path) -> Night:
    """A board that has just been powered up, its flash empty."""
    return Night(tmp_path / "flash")

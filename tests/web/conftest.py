"""Lets the tests here import their kit and the scripted cook of tests/tui. Times are UTC."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "tui"))
sys.path.insert(0, str(Path(__file__).parent))

from in_utc import in_utc  # noqa: F401

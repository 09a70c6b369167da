"""Lets the tests here import the scripted cook of tests/tui, and sets times to UTC as there."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "tui"))

from in_utc import in_utc  # noqa: F401

"""Lets the tests here use the records of tests/logbook. Times are UTC."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "logbook"))
sys.path.insert(0, str(Path(__file__).parent.parent / "tui"))

from in_utc import in_utc  # noqa: F401

"""Helpers for the screen's tests: the scripted source is importable, times are UTC."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from in_utc import in_utc  # noqa: F401

"""Lets the tests here import their kit and the fake board of tests/link."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "link"))
sys.path.insert(0, str(Path(__file__).parent))

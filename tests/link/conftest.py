"""Lets the tests here and in tests/engine import the fake board."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

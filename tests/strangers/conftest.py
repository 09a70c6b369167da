"""Lets the tests here import the strangers, which live beside the benches."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

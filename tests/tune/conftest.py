"""Lets the tests here import their kit, and the strangers, which live beside the benches."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "bench"))

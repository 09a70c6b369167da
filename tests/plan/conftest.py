"""Lets the tests here import their kit, and those of engine, logbook and link."""

import sys
from pathlib import Path

for room in ("link", "engine", "logbook", "plan"):
    sys.path.insert(0, str(Path(__file__).parent.parent / room))

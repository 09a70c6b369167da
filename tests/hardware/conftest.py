"""hardware/ is no package of the wheel: its files are imported by path."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "hardware"))
sys.path.insert(0, str(Path(__file__).parents[2] / "hardware" / "pcb"))

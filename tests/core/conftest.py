import sys
from pathlib import Path

sys.path.insert(
    0, str(Path(__file__).parent)
)  # the portable cases are a package of their own: they also run without pytest

"""No trip in the fleet's ordinary cooks with trip limits derived for each cooker: `python tests/bench/limits.py`.

Prints what each cooker came to; 1 if anything tripped. `--seeds 8` is the fleet of 40.
"""

from __future__ import annotations

import argparse
import sys
from typing import Any

from hearth.core import Settings
from tuyere.sim import compiled
from tuyere.sim.cookers import KINDS
from tuyere.sim.rehearse import rehearse
from tuyere.sim.step_test import identify
from tuyere.tune.limits import limits


def main() -> int:
    """Print a line a cook; 1 if one tripped."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=8)
    parser.add_argument("--hours", type=float, default=14.0)
    given = parser.parse_args()
    tripped = 0
    for kind in KINDS:
        for seed in range(1, given.seeds + 1):
            settings: Any = Settings()
            found = limits(identify(kind, seed))
            for name, value in found.items():
                setattr(settings, name, value)
            cook = rehearse(kind, hours=given.hours, seed=seed, settings=settings, kern=compiled.kernel())
            tripped += bool(cook.trips)
            print(f"{kind:8} {seed}  {found}  trips {cook.trips}", flush=True)
    print(f"{tripped} of {len(KINDS) * given.seeds} cooks tripped")
    return 1 if tripped else 0


if __name__ == "__main__":
    sys.exit(main())

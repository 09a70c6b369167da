"""Take each guard of the firmware out in turn, and say which test noticed.

`python tests/bench/guards.py` prints a line a guard and ends with 1 if one was missed. The rows are those of
`firmware/guards.md`. `--smoke` tries a few.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from guard_edits import CORE, Out
from guards_of_board import OF_BOARD
from guards_of_core import OF_CORE
from guards_of_drivers import OF_DRIVERS
from guards_of_learning import OF_LEARNING

ROOT = Path(__file__).resolve().parents[2]
LONGEST_S = 900.0
TWIN = " ".join(f"tests/sim/test_twin{name}.py" for name in ("_inhibits", "_guards", "_doubt", "_faults", ""))
GUARDS = OF_CORE + OF_LEARNING + OF_DRIVERS + OF_BOARD


def noticed(guard: Out, firmware: Path) -> str:
    """The first test that fails without this guard, or ""."""
    path = firmware / "hearth" / guard.file
    whole = path.read_text(encoding="utf-8")
    if guard.text not in whole:
        raise SystemExit(f"{guard.name}: {guard.file} no longer holds {guard.text!r}; bring this list up to date")
    path.write_text(whole.replace(guard.text, guard.without, 1), encoding="utf-8")
    try:
        env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(firmware), str(ROOT / "host")])}
        if guard.tests == CORE:
            command, folder = [sys.executable, "run.py"], ROOT / "tests" / "core"
        else:
            command, folder = [sys.executable, "-m", "pytest", "-x", "-q", *guard.tests.split()], ROOT
        ran = subprocess.run(
            command, cwd=folder, env=env, capture_output=True, text=True, timeout=LONGEST_S, check=False
        )
    except subprocess.TimeoutExpired:
        return ""  # nothing says that it was this guard's lack that was noticed
    finally:
        path.write_text(whole, encoding="utf-8")
    if ran.returncode == 0:
        return ""
    found = re.search(r"^(?:FAIL \w+|FAILED \S+::|ERROR) ?(\S+)", ran.stdout, re.M)
    return found.group(1) if found else f"exit code {ran.returncode}"


def main() -> int:
    """Print the table; 1 if a guard can go unnoticed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--twin", action="store_true", help="by the tests on the twin alone (some minutes)")
    parser.add_argument("--from", dest="first", type=int, default=0, metavar="N", help="leave the first N out")
    parser.add_argument("--smoke", action="store_true", help="only every ninth guard")
    given = parser.parse_args()
    guards = GUARDS[given.first :][:: 9 if given.smoke else 1]
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        firmware = Path(folder)
        shutil.copytree(ROOT / "firmware" / "hearth", firmware / "hearth", ignore=shutil.ignore_patterns("__pycache__"))
        for guard in guards:
            twin = given.twin and not guard.unseen
            test = noticed(guard._replace(tests=TWIN) if twin else guard, firmware)
            missed += not test
            why = f" (not on the twin: {guard.unseen})" if given.twin and guard.unseen else ""
            print(f"{'caught' if test else 'MISSED'}  {guard.name:45} {test}{why}", flush=True)
    print(f"{len(guards) - missed} of {len(guards)} guards are noticed by a test when they are taken out")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

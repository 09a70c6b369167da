"""Take each guard of the firmware out in turn, and say which test noticed.

`python tests/bench/guards.py` prints a line a guard and ends with 1 if one was missed. The rows are those of
`firmware/guards.md`. Each guard meets the tests that its own line names: first those that take the code that is taken
out, the quickest first, up to the first failure (`mutating/server.py`). A test that then no longer ends says nothing.
`--only WORD` tries those whose name or file holds the word (more than one: any of them); `--smoke` a few.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from random import Random

from guard_edits import CORE, Out
from guards_of_board import OF_BOARD
from guards_of_core import OF_CORE
from guards_of_drivers import OF_DRIVERS
from guards_of_learning import OF_LEARNING
from mutants import ROOT, tried
from mutating.places import Finder, Mutant
from mutating.rooms import HEARTH, ON_THIS_PYTHON, Room
from mutating.server import TOO_LONG

LONGEST_S = 120.0  # of the processor, a test
TWIN = " ".join(f"tests/sim/test_twin{name}.py" for name in ("_inhibits", "_guards", "_doubt", "_faults", ""))
GUARDS = OF_CORE + OF_LEARNING + OF_DRIVERS + OF_BOARD


def edit(guard: Out) -> Mutant:
    """The change of the source that takes this guard out."""
    file = f"{HEARTH}/{guard.file}"
    source = (ROOT / file).read_text(encoding="utf-8")
    if guard.text not in source:
        raise SystemExit(f"{guard.name}: {guard.file} no longer holds {guard.text!r}; bring this list up to date")
    return Finder(file, source, Random(0)).edited(guard.name, guard.text, guard.without)


def main() -> int:
    """Print the table; 1 if a guard can go unnoticed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--twin", action="store_true", help="by the tests on the twin alone (some minutes)")
    parser.add_argument("--only", action="append", metavar="WORD", help="guards whose name or file holds it")
    parser.add_argument("--smoke", action="store_true", help="only every ninth guard")
    given = parser.parse_args()
    only = given.only or [""]
    guards = [one for one in GUARDS if any(word in one.name or word in one.file for word in only)]
    guards = guards[:: 9 if given.smoke else 1]
    groups: dict[str, list[Out]] = defaultdict(list)
    for guard in guards:
        own = ON_THIS_PYTHON if guard.tests == CORE else guard.tests
        groups[TWIN if given.twin and not guard.unseen else own].append(guard)
    missed = 0
    for tests, mine in groups.items():
        room = Room((HEARTH,), tuple(tests.split()), plain=True)
        by_name = {guard.name: guard for guard in mine}
        for said in tried(room, [edit(guard) for guard in mine], 1e9, LONGEST_S, every=True):
            if "said" not in said:
                print(f"{said['recorded']} tests recorded in {said['seconds']} s; left out: {said['left out']}")
                continue
            guard = by_name[said["kind"]]
            test = "" if said["by"] == TOO_LONG else said["by"].rpartition("::")[2]
            missed += not test
            why = f" (not on the twin: {guard.unseen})" if given.twin and guard.unseen else ""
            print(f"{'caught' if test else 'MISSED'}  {guard.name:45} {test}{why}", flush=True)
    print(f"{len(guards) - missed} of {len(guards)} guards are noticed by a test when they are taken out")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

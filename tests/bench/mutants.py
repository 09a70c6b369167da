"""Change the source in small ways, one at a time, and say which change no test of its room noticed.

    python tests/bench/mutants.py --room logbook --count 40 --seed 1

Works on a copy of the tree. `mutating/server.py` runs the room's tests once and notes which lines each takes. A change
then meets only the tests that take its line, the quickest first, up to the first failure. A change that takes far
longer than these tests do unchanged counts as noticed: it hangs. Survivors are printed with file, line and change; read
each one. It is harmless, or it wants a test. `--again FILE` tries only the survivors in the output of an earlier run.

Why not a library (both from memory): mutmut 3 puts a trampoline into every function and switches mutants within one
process. Here the law and the kernels are compiled by numba and staged for MicroPython as they stand in the file, and
many tests start processes of their own. It changes nothing outside of functions either, so no table. cosmic-ray
changes the file in place and runs any command, as here, but in the work tree itself and all mutants in the order of the
files; a seeded sample of a room would still be a program around it.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from mutating.places import KINDS, Finder, Mutant
from mutating.rooms import ROOMS, SMOKE, Room

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("firmware", "hardware", "host", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE", ".ci")
GENERATED = ("forget.py", "version.py")
OPTIONS = ("-m", "pytest", "-q", "-p", "no:xdist", "-p", "no:cacheprovider", "-p", "mutating.server")
Tally = Counter[tuple[str, bool]]


def drawn(room: Room, count: int, seed: int) -> list[Mutant]:
    """So many changes of a room: the kinds in turn, the places at random."""
    roll = random.Random(seed)
    by_kind: dict[str, list[Mutant]] = defaultdict(list)
    for folder in room.source:
        top = ROOT / folder
        for file in sorted(top.rglob("*.py")) if top.is_dir() else [top]:
            if file.name not in GENERATED:
                name = file.relative_to(ROOT).as_posix()
                for one in Finder(name, file.read_text(encoding="utf-8"), roll).all():
                    by_kind[one.kind].append(one)
    for found in by_kind.values():
        roll.shuffle(found)
    chosen: list[Mutant] = []
    while len(chosen) < count and any(by_kind.values()):
        chosen += [by_kind[kind].pop() for kind in KINDS if by_kind[kind]]
    return chosen[:count]


def tried(
    room: Room, mutants: Sequence[Mutant], budget: float, long: float, every: bool = False
) -> Iterator[dict[str, Any]]:
    """Try the changes of one room: what the server says of its tests, then of each change.

    every: after the tests that could notice a change the others, too; some run the source in processes of their own.
    """
    with tempfile.TemporaryDirectory(prefix="m") as folder:
        root, results, job = (Path(folder).resolve() / name for name in ("tree", "results", "job"))
        for name in COPIED:
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, root / name, ignore=shutil.ignore_patterns("__pycache__", ".*_cache"))
            elif (ROOT / name).exists():
                shutil.copy(ROOT / name, root / name)
        results.touch()
        told = {"alone": None, "root": str(root), "mutants": mutants, "budget": budget, "long": long, "every": every}
        told["results"] = str(results)
        job.write_text(json.dumps(told), encoding="utf-8")
        paths = [root / "firmware", root / "host", root / "tests/bench"]
        if room.plain:
            paths.insert(0, root / "tests/without_numba")
        env = {**os.environ, "PYTHONPATH": os.pathsep.join(map(str, paths)), "TUYERE_MUTANTS": str(job)}
        process = subprocess.Popen(
            [sys.executable, *OPTIONS, f"--basetemp={root / 'b'}", *room.tests], cwd=root, env=env,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL, text=True,
        )  # fmt: skip
        printed, _ = process.communicate()
        lines = [json.loads(line) for line in results.read_text(encoding="utf-8").splitlines()]
    done = sum("said" in line for line in lines)
    if done != len(mutants):
        raise SystemExit(f"{done} of {len(mutants)} changes were tried: {printed[-3000:]}")
    yield from lines


def judged(room: Room, mutants: list[Mutant], budget: float, long: float) -> Tally:
    """Try the changes of one room; returns how many of each kind were noticed and were not."""
    tally: Tally = Counter()
    if not mutants:
        return tally
    for said in tried(room, mutants, budget, long):
        if "recorded" in said:
            print(f"{said['recorded']} tests recorded in {said['seconds']} s; left out: {said['left out']}")
        else:
            tally[said["kind"], bool(said["by"])] += 1
            met = f"{said['taking']} tests take it, {said['tried']} of {said['of']} were tried"
            by = f"  by {said['by']}" if said["by"] else f"  ({met})"
            print(f"{'noticed ' if said['by'] else 'SURVIVED'} {said['said']}{by}", flush=True)
    return tally


def main() -> int:
    """Print each change and a table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--room", action="append", choices=tuple(ROOMS), help="one or more; all without it")
    parser.add_argument("--count", type=int, default=15, help="changes in each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--budget", type=float, default=40.0, help="seconds of tests that a change meets at most")
    parser.add_argument("--long", type=float, default=2.0, help="CPU seconds from which on a test is left out")
    parser.add_argument("--again", type=Path, help="output of an earlier run with the same room, count and seed")
    parser.add_argument("--tests", action="append", help="test files instead of the room's own")
    parser.add_argument("--list", action="store_true", help="print the changes, and try none")
    parser.add_argument("--smoke", action="store_true", help="three changes in one file")
    given = parser.parse_args()
    rooms = {name: ROOMS[name] for name in given.room or ROOMS}
    if given.smoke:
        rooms, given.count = {"one file": SMOKE}, 3
    before = given.again.read_text(encoding="utf-8") if given.again else None
    total: Tally = Counter()
    for name, room in rooms.items():
        mutants = drawn(room, given.count, given.seed)
        if before is not None:
            mutants = [one for one in mutants if f"SURVIVED {one.said()}" in before]
        if given.list:
            print(*(one.said() for one in mutants), sep="\n")
            continue
        tally = judged(
            room._replace(tests=tuple(given.tests)) if given.tests else room, mutants, given.budget, given.long
        )
        noticed = sum(number for (_, seen), number in tally.items() if seen)
        print(f"{name}: {noticed} of {tally.total()} noticed", flush=True)
        total += tally
    if given.list:
        return 0
    for kind in KINDS:
        print(f"{kind:12}{total[kind, True]:4} of {total[kind, True] + total[kind, False]}")
    seen = sum(number for (_, noticed), number in total.items() if noticed)
    print(f"{seen} of {total.total()} noticed")
    return 1 if given.smoke and not seen else 0


if __name__ == "__main__":
    sys.exit(main())

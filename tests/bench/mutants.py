"""Change the source in small ways, one at a time, and say which change no test of its room noticed.

    python tests/bench/mutants.py --room logbook --count 40 --seed 1

Works on a copy of the tree. The room's own tests run, those first that name the changed file, up to the first failure.
A run that takes over twice as long as the unchanged tests counts as noticed: it hangs. Survivors are printed with
file, line and change; read each one. It is harmless, or it wants a test.

Why not a library (both from memory): mutmut 3 puts a trampoline into every function and switches mutants within one
process. Here the law and the kernels are compiled by numba and staged for MicroPython as they stand in the file, and
many tests start processes of their own. It changes nothing outside of functions either, so no table. cosmic-ray
changes the file in place and runs any command, as here, but in the work tree itself and all mutants in the order of the
files; a seeded sample of a room would still be a program around it.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("firmware", "hardware", "host", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")
GENERATED = ("forget.py", "version.py")
KINDS = ("comparison", "constant", "statement", "return", "negation", "words")
HOST = "host/tuyere"
ALL = ("tests/identities", "tests/cli/test_reference.py")  # what is written down of all rooms


class Room(NamedTuple):
    """What is changed, and by which tests it should be noticed."""

    source: tuple[str, ...]
    tests: tuple[str, ...]


def own(name: str, *more: str) -> Room:
    """A room of the host with tests of its name."""
    return Room((f"{HOST}/{name}",), (f"tests/{name}", *more))


HEARTH = "firmware/hearth"
ON_THIS_PYTHON = "tests/core/test_runtimes.py::test_on_this_python"
ROOMS = {
    "core": Room((f"{HEARTH}/core",), (ON_THIS_PYTHON, "tests/core/test_edges.py", *ALL)),
    "firmware": Room(
        tuple(f"{HEARTH}/{name}" for name in ("drivers", "link", "store", "board.py", "loop.py", "order_checks.py")),
        ("tests/firmware", "tests/link", ON_THIS_PYTHON, *ALL),
    ),
    "link": own("link"),
    "logbook": own("logbook", *ALL),
    "forecast": own("forecast"),
    "meat": own("meat", "tests/reference"),
    "cook": own("cook"),
    "plan": own("plan"),
    "tune": own("tune"),
    "replay": own("replay"),
    "engine": Room((f"{HOST}/engine", f"{HOST}/client"), ("tests/engine", *ALL)),
    "tui": own("tui"),
    "web": own("web"),
    "chart": own("chart"),
    "text": own("text"),
    "board": own("board"),
    "service": own("service"),
    "report": own("report"),
    "sim": own("sim"),
    "hardware": Room(("hardware",), ("tests/hardware",)),
}
SMOKE = Room((f"{HOST}/text/templates.py",), ("tests/text/test_text.py",))


class Mutant(NamedTuple):
    """One change: characters `begin` to `end` of the file become `new`."""

    file: str
    line: int
    kind: str
    begin: int
    end: int
    old: str
    new: str

    def said(self) -> str:
        """'host/x.py:12 comparison: "<" -> "<="'."""
        old, new = (" ".join(text.split())[:70] for text in (self.old, self.new))
        return f"{self.file}:{self.line} {self.kind}: {old!r} -> {new!r}"


FLIPS: dict[type[ast.cmpop], tuple[str, ...]] = {
    ast.Lt: ("<=", ">="), ast.LtE: ("<", ">"), ast.Gt: (">=", "<="), ast.GtE: (">", "<"),
    ast.Eq: ("!=",), ast.NotEq: ("==",), ast.Is: ("is not",), ast.IsNot: ("is",),
    ast.In: ("not in",), ast.NotIn: ("in",),
}  # fmt: skip


class Finder:
    """All changes that a file offers."""

    def __init__(self, file: str, source: str, roll: random.Random) -> None:
        self._file, self._source, self._roll = file, source, roll
        self._starts = [0]
        for line in source.splitlines(keepends=True):
            self._starts.append(self._starts[-1] + len(line))
        self._lines = source.splitlines(keepends=True)
        self._passed: set[int] = set()  # nodes whose constants are no numbers of the program

    def _at(self, line: int, column: int) -> int:
        """Place in the text; `ast` counts columns in bytes."""
        return self._starts[line - 1] + len(self._lines[line - 1].encode()[:column].decode())

    def _span(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        assert node.end_lineno is not None and node.end_col_offset is not None
        return self._at(node.lineno, node.col_offset), self._at(node.end_lineno, node.end_col_offset)

    def _made(self, node: ast.expr | ast.stmt, kind: str, begin: int, end: int, new: str) -> Mutant:
        return Mutant(self._file, node.lineno, kind, begin, end, self._source[begin:end], new)

    def all(self) -> Iterator[Mutant]:
        """Each change once."""
        tree = ast.parse(self._source)
        for node in ast.walk(tree):
            for part in _skipped(node):
                self._passed.update(id(inner) for inner in ast.walk(part))
            if isinstance(node, ast.JoinedStr):
                self._passed.update(id(inner) for inner in ast.walk(node))
        for node in ast.walk(tree):
            if id(node) not in self._passed:
                yield from self._of(node)

    def _of(self, node: ast.AST) -> Iterator[Mutant]:
        if isinstance(node, ast.Compare) and len(node.ops) == 1:
            begin, end = self._span(node.left)[1], self._span(node.comparators[0])[0]
            gap = self._source[begin:end]
            old = re.search(r"<=|>=|==|!=|<|>|not\s+in|is\s+not|\bin\b|\bis\b", gap)
            if old:
                new = self._roll.choice(FLIPS[type(node.ops[0])])
                yield self._made(node, "comparison", begin + old.start(), begin + old.end(), new)
        elif isinstance(node, ast.Constant):
            yield from self._constant(node)
        elif isinstance(node, ast.If | ast.While | ast.IfExp):
            begin, end = self._span(node.test)
            yield self._made(node.test, "negation", begin, end, f"not ({self._source[begin:end]})")
        elif isinstance(node, ast.Expr | ast.AugAssign | ast.Raise) or (
            isinstance(node, ast.Assign) and all(isinstance(to, ast.Attribute | ast.Subscript) for to in node.targets)
        ):
            begin, end = self._span(node)
            yield self._made(node, "statement", begin, end, "pass")
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            body = node.body[1:] if ast.get_docstring(node) is not None else node.body
            if len(body) > 1:
                begin = self._span(body[0])[0]
                yield self._made(body[0], "return", begin, begin, f"return None\n{' ' * body[0].col_offset}")

    def _constant(self, node: ast.Constant) -> Iterator[Mutant]:
        begin, end = self._span(node)
        value = node.value
        if isinstance(value, bool):
            yield self._made(node, "constant", begin, end, str(not value))
        elif isinstance(value, int):
            yield self._made(node, "constant", begin, end, str(value + self._roll.choice((1, -1) if value else (1,))))
        elif isinstance(value, float):
            yield self._made(node, "constant", begin, end, repr(value * 1.5 if value else 1.0))
        elif isinstance(value, str) and " " in value.strip():
            yield self._made(node, "words", begin, end, repr(value.rsplit(" ", 1)[0]))


def _skipped(node: ast.AST) -> list[ast.AST]:
    """Parts of a node that say nothing to the program: docstrings, types, `if TYPE_CHECKING` and `if __name__`."""
    found: list[ast.AST] = []
    if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
        found += [one for one in node.body if isinstance(one, ast.Expr) and isinstance(one.value, ast.Constant)]
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and node.returns is not None:
        found.append(node.returns)
    if isinstance(node, ast.arg | ast.AnnAssign) and node.annotation is not None:
        found.append(node.annotation)
    if isinstance(node, ast.If) and ast.unparse(node.test).startswith(("TYPE_CHECKING", "__name__")):
        found.append(node)
    return found


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


class Trial:
    """A copy of the tree, in which one file at a time is changed."""

    def __init__(self, folder: Path) -> None:
        self._root = folder
        self._stamp = int(time.time()) - 1_000_000  # no two versions of a file share a time: stale bytecode would run
        for name in COPIED:
            source = ROOT / name
            if source.is_dir():
                shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__", ".*"))
            else:
                shutil.copy(source, folder / name)

    def ordered(self, room: Room, mutant: Mutant | None) -> list[str]:
        """The room's test files; those that name the changed module come first."""
        files: list[str] = []
        for test in room.tests:
            top = self._root / test
            files += [f.relative_to(self._root).as_posix() for f in sorted(top.rglob("test_*.py"))] if top.is_dir() \
                else [test]  # fmt: skip
        if mutant is None:
            return files
        stem = Path(mutant.file).stem
        word = re.compile(rf"\b{re.escape(Path(mutant.file).parent.name if stem == '__init__' else stem)}\b")
        return sorted(
            files, key=lambda name: not word.search((self._root / name.partition("::")[0]).read_text("utf-8"))
        )

    def run(self, room: Room, mutant: Mutant | None, limit: float | None) -> str:
        """What noticed it, or ""."""
        path = self._root / mutant.file if mutant else None
        whole = path.read_text(encoding="utf-8") if path else ""
        if path and mutant:
            self._put(path, whole[: mutant.begin] + mutant.new + whole[mutant.end :])
        try:
            return self._tests(self.ordered(room, mutant), limit)
        finally:
            if path:
                self._put(path, whole)

    def _put(self, path: Path, text: str) -> None:
        path.write_text(text, encoding="utf-8")
        self._stamp += 1
        os.utime(path, (self._stamp, self._stamp))

    def _tests(self, files: list[str], limit: float | None) -> str:
        paths = [str(self._root / "firmware"), str(self._root / "host")]
        env = {**os.environ, "PYTHONPATH": os.pathsep.join(paths)}
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:xdist", "-p", "no:cacheprovider", *files]
        process = subprocess.Popen(
            command, cwd=self._root, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
            start_new_session=True,
        )  # fmt: skip
        try:
            said, _ = process.communicate(timeout=limit)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, 9)  # its own session: whatever the tests have started, too
            process.communicate()
            return "it does not end"
        if process.returncode == 0:
            return ""
        found = re.search(r"^(?:FAILED|ERROR) (\S+)", said, re.M)
        return found[1] if found else f"exit code {process.returncode}: {said.strip()[-200:]}"


def judge(name: str, room: Room, count: int, seed: int, trial: Trial) -> Counter[tuple[str, bool]]:
    """Try one room; returns how many of each kind were noticed and were not."""
    begun = time.monotonic()
    if broken := trial.run(room, None, None):
        raise SystemExit(f"{name}: the unchanged tests fail: {broken}")
    limit = 20.0 + 2.0 * (time.monotonic() - begun)
    tally: Counter[tuple[str, bool]] = Counter()
    for mutant in drawn(room, count, seed):
        test = trial.run(room, mutant, limit)
        tally[mutant.kind, bool(test)] += 1
        print(f"{'noticed ' if test else 'SURVIVED'} {mutant.said()}{f'  by {test}' if test else ''}", flush=True)
    return tally


def main() -> int:
    """Print each change and a table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--room", action="append", choices=tuple(ROOMS), help="one or more; all without it")
    parser.add_argument("--count", type=int, default=15, help="changes in each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--list", action="store_true", help="print the changes, and try none")
    parser.add_argument("--smoke", action="store_true", help="three changes in one file")
    given = parser.parse_args()
    rooms = {name: ROOMS[name] for name in given.room or ROOMS}
    if given.smoke:
        rooms, given.count = {"one file": SMOKE}, 3
    if given.list:
        for room in rooms.values():
            print(*(mutant.said() for mutant in drawn(room, given.count, given.seed)), sep="\n")
        return 0
    total: Counter[tuple[str, bool]] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        trial = Trial(Path(folder))
        for name, room in rooms.items():
            tally = judge(name, room, given.count, given.seed, trial)
            noticed = sum(number for (_, seen), number in tally.items() if seen)
            print(f"{name}: {noticed} of {tally.total()} noticed", flush=True)
            total += tally
    for kind in KINDS:
        print(f"{kind:12}{total[kind, True]:4} of {total[kind, True] + total[kind, False]}")
    seen = sum(number for (_, noticed), number in total.items() if noticed)
    print(f"{seen} of {total.total()} noticed")
    return 1 if given.smoke and not seen else 0


if __name__ == "__main__":
    sys.exit(main())

"""No circle of files anywhere, and no two files of one name that mean different things."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PLACES = {  # folder -> what its modules are imported as; "" for scripts that lie beside each other
    "host/tuyere": "tuyere",
    "firmware/hearth": "hearth",
    "hardware": "",
}
# One thing in more than one room, each time as its room sees it. A new pair is a question: is it one thing?
SAME = {
    "__main__": "what `python -m` of its package runs",
    "alarms": "the alarms: their life in the engine, and how they are drawn",
    "errors": "what a room refuses with",
    "notes": "what people note: written by the engine, asked by the screen",
    "orders": "what people order: sent by the engine, asked by the screen",
    "pieces": "the pieces of meat: asked by the screen, and drawn",
    "pit": "the pit: simulated, and drawn",
    "programme": "the programme: its rows and words, and how the screen changes it",
    "prompts": "what the hands must do: worked out, and drawn",
    "rehearse": "a rehearsal, and the command that runs it",
    "serving": "the serving time: worked out, and drawn",
    "trend": "the night in columns, and its drawing",
    "twin": "the twin, and the command that runs it",
    "watch": "the screen, and the command that opens it",
}


def modules(folder: Path, name: str) -> dict[str, Path]:
    """Full name -> file of everything in a folder."""
    found = {}
    for file in folder.rglob("*.py"):
        parts = [part for part in (name, *file.relative_to(folder).with_suffix("").parts) if part]
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = file
    return found


def imported(file: Path, known: dict[str, Path]) -> Iterator[str]:
    """Modules that a file names in an import, wherever it stands: in a function and under TYPE_CHECKING too."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in known)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                if whole in known:
                    yield whole
                elif node.module in known:
                    yield node.module


def arrows(known: dict[str, Path]) -> dict[str, set[str]]:
    """Who imports whom."""
    return {name: set(imported(file, known)) - {name} for name, file in known.items()}


def circles(graph: dict[str, set[str]]) -> list[list[str]]:
    """Groups of modules that each reach all others of their group (Tarjan 1972)."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found = []

    def visit(name: str) -> None:
        order[name] = low[name] = len(order)
        stack.append(name)
        for other in graph[name]:
            if other not in order:
                visit(other)
                low[name] = min(low[name], low[other])
            elif other in stack:
                low[name] = min(low[name], order[other])
        if low[name] == order[name]:
            group = stack[stack.index(name) :]
            del stack[-len(group) :]
            if len(group) > 1:
                found.append(sorted(group))

    for name in sorted(graph):
        if name not in order:
            visit(name)
    return found


@pytest.mark.parametrize("place", PLACES)
def test_no_circle_of_files(place: str) -> None:
    known = modules(ROOT / place, PLACES[place])
    assert len(known) > 10 and any(arrows(known).values())
    assert circles(arrows(known)) == []


def test_a_circle_is_found_wherever_the_import_stands(tmp_path: Path) -> None:
    (tmp_path / "a.py").write_text("from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from p.b import B\n")
    (tmp_path / "b.py").write_text("def f():\n    from p import c\n")
    (tmp_path / "c.py").write_text("import p.a\n")
    (tmp_path / "d.py").write_text("import p.a\n")
    assert circles(arrows(modules(tmp_path, "p"))) == [["p.a", "p.b", "p.c"]]


def test_files_of_one_name_mean_one_thing() -> None:
    rooms = defaultdict(list)
    for file in (ROOT / "host/tuyere").rglob("*.py"):
        if file.stem != "__init__":
            rooms[file.stem].append(file.relative_to(ROOT / "host/tuyere").as_posix())
    double = {name: files for name, files in rooms.items() if len(files) > 1}
    assert {name: files for name, files in double.items() if name not in SAME} == {}
    assert SAME.keys() <= double.keys(), "a name in SAME that is no longer used twice"
    assert all(len(files) == 2 for files in double.values())


def test_a_piece_says_in_its_name_whose_it_is() -> None:
    named = defaultdict(list)
    for file in (ROOT / "host/tuyere").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) and node.name != "Pieces" and "Piece" in node.name:
                named[node.name].append(file.relative_to(ROOT / "host/tuyere").as_posix())
    assert named["Piece"] == ["cook/snapshot.py"]
    assert {name: files for name, files in named.items() if len(files) > 1} == {}

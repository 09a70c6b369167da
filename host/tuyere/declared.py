"""The guards as the firmware declares them, and the table of them in `firmware/guards.md`.

A guard stands in the docstring of the code that is it: a line `Guard: name`, then indented `key: text` lines, the keys
of KEYS in that order; a text goes on in lines that are indented further. A board carries no docstrings.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import NamedTuple

import hearth

HEARTH = Path(hearth.__file__).parent
PAGE = HEARTH.parent / "guards.md"
KEYS = ("cause", "evidence", "clears", "does", "bounds", "reads", "tests")
HEADS = ("guard", "cause", "evidence, and how long it takes", "what clears it", "the board", "settings that bound it",
         "the cook reads", "in", "test")  # fmt: skip
BEGIN, END = "<!-- made from the firmware by `python -m tuyere.staging` -->\n", "<!-- to here -->\n"
FIRST = ("core", "drivers", "board.py", "loop.py", "store", "link")  # the order of the table's parts


class Guard(NamedTuple):
    """One guard. where: file below hearth and the name it is declared at; the others are texts."""

    name: str
    where: str
    cause: str
    evidence: str
    clears: str
    does: str
    bounds: str
    reads: str
    tests: str


def guards(root: Path = HEARTH) -> list[Guard]:
    """All that are declared, in the order of the table. ValueError for one that lacks a key or has one too many."""
    found = []
    for path in sorted(root.rglob("*.py"), key=lambda path: _place(path.relative_to(root))):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef):
                name = "" if isinstance(node, ast.Module) else f": {node.name}"
                where = f"{path.relative_to(root).as_posix()}{name}"
                found += declared(ast.get_docstring(node) or "", where)
    return found


def _place(path: Path) -> tuple[int, str]:
    first = path.parts[0]
    return (FIRST.index(first) if first in FIRST else len(FIRST), path.as_posix())


def declared(text: str, where: str) -> list[Guard]:
    """The guards of one docstring."""
    found = []
    for block in re.split(r"^Guard: ", text, flags=re.M)[1:]:
        name, _, body = block.partition("\n")
        texts: dict[str, str] = {}
        for line in body.split("\n"):
            if not line.startswith("    "):
                break
            begins = re.match(r"    (\w+): (.*)", line)
            if begins:
                texts[begins[1]] = begins[2]
            else:
                key = next(reversed(texts))
                texts[key] = f"{texts[key]} {line.strip()}"
        if tuple(texts) != KEYS:
            raise ValueError(f"{where}: the guard {name!r} declares {', '.join(texts)}; it must be {', '.join(KEYS)}.")
        found.append(Guard(name, where, **texts))
    return found


def table(found: list[Guard]) -> str:
    """The table of `guards.md`."""
    lines = ["| " + " | ".join(HEADS) + " |", "|" + "---|" * len(HEADS)]
    for one in found:
        row = (one.name, one.cause, one.evidence, one.clears, one.does, one.bounds, one.reads, one.where, one.tests)
        lines.append("| " + " | ".join(cell.replace("|", "/") for cell in row) + " |")
    return "\n".join(lines) + "\n"


def page() -> str:
    """The text of `guards.md`: as it is, with the table made again. ValueError where its place is not marked."""
    text = PAGE.read_text(encoding="utf-8")
    before, begin, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"{PAGE} must mark the table's place by lines of {BEGIN.strip()} and {END.strip()}.")
    return before + begin + "\n" + table(guards()) + "\n" + end + after

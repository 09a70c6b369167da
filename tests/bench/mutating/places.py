"""The small changes that a source file offers, each with its place."""

from __future__ import annotations

import ast
import random
import re
from collections.abc import Iterator
from typing import NamedTuple

KINDS = ("comparison", "constant", "statement", "return", "negation", "words")


class Mutant(NamedTuple):
    """One change: characters `begin` to `end` of the file become `new`.

    `first` to `last` are the lines of its statement; of a compound statement those of its head. `function` is the
    qualified name of the outermost function around it, which begins at line `opens`; "" outside of functions. There
    `names` are those that the statement binds.
    """

    file: str
    line: int
    kind: str
    begin: int
    end: int
    old: str
    new: str
    first: int
    last: int
    function: str
    opens: int
    names: tuple[str, ...]

    def said(self) -> str:
        """'host/x.py:12 comparison: "<" -> "<="'."""
        old, new = (" ".join(text.split())[:70] for text in (self.old, self.new))
        return f"{self.file}:{self.line} {self.kind}: {old!r} -> {new!r}"

    def made(self, source: str) -> str:
        """The source with the change."""
        return source[: self.begin] + self.new + source[self.end :]


class Place(NamedTuple):
    """What `Mutant` says of the statement around a node."""

    first: int
    last: int
    function: str
    opens: int
    names: tuple[str, ...]


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
        self._places: dict[int, Place] = {}

    def _at(self, line: int, column: int) -> int:
        """Place in the text; `ast` counts columns in bytes."""
        return self._starts[line - 1] + len(self._lines[line - 1].encode()[:column].decode())

    def _span(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        assert node.end_lineno is not None and node.end_col_offset is not None
        return self._at(node.lineno, node.col_offset), self._at(node.end_lineno, node.end_col_offset)

    def _made(self, node: ast.expr | ast.stmt, kind: str, begin: int, end: int, new: str) -> Mutant:
        where = self._places[id(node)]
        return Mutant(self._file, node.lineno, kind, begin, end, self._source[begin:end], new, *where)

    def all(self) -> Iterator[Mutant]:
        """Each change once."""
        tree = ast.parse(self._source)
        self._locate(tree, Place(1, 1, "", 0, ()), "")
        for node in ast.walk(tree):
            for part in _skipped(node):
                self._passed.update(id(inner) for inner in ast.walk(part))
            if isinstance(node, ast.JoinedStr):
                self._passed.update(id(inner) for inner in ast.walk(node))
        for node in ast.walk(tree):
            if id(node) not in self._passed:
                yield from self._of(node)

    def edited(self, kind: str, old: str, new: str) -> Mutant:
        """The change of the first such piece of text, which may run over several statements. ValueError without it."""
        begin = self._source.index(old)
        same = next((i for i, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), min(len(old), len(new)))
        tree = ast.parse(self._source)
        self._locate(tree, Place(1, 1, "", 0, ()), "")
        first = self._source.count("\n", 0, begin + min(same, len(old) - 1)) + 1
        last = self._source.count("\n", 0, begin + len(old.rstrip("\n"))) + 1
        met = [
            self._places[id(one)] for one in ast.walk(tree)
            if isinstance(one, ast.stmt) and self._places[id(one)].first <= last and self._places[id(one)].last >= first
        ]  # fmt: skip
        functions = {(one.function, one.opens) for one in met}
        function, opens = functions.pop() if len(functions) == 1 else ("", 0)
        names = sorted({name for one in met for name in one.names})
        span = min([one.first for one in met], default=first), max([one.last for one in met], default=last)
        return Mutant(self._file, first, kind, begin, begin + len(old), old, new, *span, function, opens, tuple(names))

    def _locate(self, node: ast.AST, place: Place, prefix: str) -> None:
        """Note the place of the node and of all within."""
        if isinstance(node, ast.stmt):
            place = self._statement(node, place)
        self._places[id(node)] = place
        within = place
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            if not place.function:
                opens = min([node.lineno, *(one.lineno for one in node.decorator_list)])
                within = place._replace(function=prefix + node.name, opens=opens)
        elif isinstance(node, ast.ClassDef):
            prefix += f"{node.name}."
        body = getattr(node, "body", None)
        for child in ast.iter_child_nodes(node):
            inside = isinstance(body, list) and child in body
            self._locate(child, within if inside else place, prefix)

    def _statement(self, node: ast.stmt, place: Place) -> Place:
        body = getattr(node, "body", None)
        last = node.end_lineno or node.lineno
        if body:
            last = max(node.lineno, body[0].lineno - 1)
        names = place.names
        if not place.function:
            bound = {one.id for one in ast.walk(node) if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store)}
            own = {node.name} if isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) else set()
            names = tuple(sorted(own or bound)) or names
        return place._replace(first=node.lineno, last=last, names=names)

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

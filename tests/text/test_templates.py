"""Every sentence of the host in both unit systems: found in the source, filled with extreme values, read for the unit
that its reader does not use; and measures that a person would read without typed text."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
import tuyere
from tuyere.text import (
    Clock,
    Count,
    Duration,
    Length,
    Mass,
    Number,
    Range,
    Rate,
    Reader,
    Share,
    Span,
    Temperature,
    Text,
    Value,
    Volume,
    render,
)

HOST = Path(tuyere.__file__).parent
METRIC, US = r"(?:C|kg|g|l|m|cm|mm)", r"(?:F|lb|lbs|oz|qt|ft)"  # "in" is a word, too: it is looked for where typed
WRONG = {"F": re.compile(rf"\d ?{METRIC}\b"), "C": re.compile(rf"\d ?{US}\b")}
UNIT = rf"(?:{METRIC}|{US}|in(?=[\s,.;:)]*$))"
EXTREMES: dict[str, list[Value]] = {
    "Temperature": [
        *(Temperature(c, places) for c in (-40.0, 0.0, 54.4, 450.0) for places in (0, 1, 2)),
        Temperature(None),
        Temperature(70.0, fives=True),
    ],
    "Span": [Span(-300.0), Span(0.04), Span(4.9), Span(300.0), Span(0.43, 2, sign=True)],
    "Rate": [Rate(-80.0), Rate(0.2), Rate(400.0)],
    "Mass": [Mass(0.001), Mass(0.99), Mass(1.0), Mass(80.0), Mass(-3.0)],
    "Volume": [Volume(0.1), Volume(40.0)],
    "Length": [Length(0.001), Length(0.009), Length(0.05), Length(0.99), Length(1.0), Length(5000.0), Length(-400.0)],
    "Share": [Share(0.0), Share(1.0)],
    "Number": [Number(-1e5), Number(12.0, 1, "V")],
    "Count": [Count(0, "piece"), Count(1_000, "piece")],
    "Duration": [Duration(0.0), Duration(400_000.0)],
    "Clock": [Clock(0), Clock(1_800_014_400_000, day=True)],
    "band": [Range(Temperature(-40.0), Temperature(450.0)), Range(Temperature(107.2), Temperature(121.1))],
    "Range": [Range(Mass(0.3), Mass(80.0)), Range(Length(0.02), Length(2.0)), Range(Span(2.0), Span(30.0))],
}
ANY: list[Value] = ["7", "2.5", 7, *EXTREMES["Temperature"], *EXTREMES["Mass"], *EXTREMES["Length"]]
# Templates that no literal is found for, by file, and why.
MADE = {
    "logbook/old_sentences.py": "takes sentences apart that older versions wrote",
}


@cache
def sources() -> list[tuple[str, ast.Module]]:
    return [
        (file.relative_to(HOST).as_posix(), ast.parse(file.read_text(encoding="utf-8")))
        for file in sorted(HOST.rglob("*.py"))
    ]


def called(node: ast.expr) -> str:
    """The name of what a call calls."""
    if not isinstance(node, ast.Call):
        return ""
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


@cache
def templates() -> list[tuple[str, str, dict[str, str]]]:
    """File, template, and by name what makes its value as far as the source says so."""
    found = []
    for file, tree in sources():
        imports = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module == "tuyere.text"]
        names = {one.asname or one.name for node in imports for one in node.names if one.name == "text"}
        if file == "text/templates.py":
            names = {"text"}
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in names and node.args:
                kinds = {word.arg: called(word.value) for word in node.keywords if word.arg}
                for literal in literals(node.args[0], tree):
                    found.append((f"{file}:{node.lineno}", literal, kinds))
    return found


def literals(node: ast.expr, tree: ast.Module) -> list[str]:
    """The strings that this may be, a name by all that its file assigns to it; "{not_a_literal}" where it is none."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return [node.value]
    if isinstance(node, ast.IfExp):
        return [*literals(node.body, tree), *literals(node.orelse, tree)]
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return [one + two for one in literals(node.left, tree) for two in literals(node.right, tree)]
    if isinstance(node, ast.Subscript):
        return literals(node.value, tree)
    if isinstance(node, ast.Dict):
        return [literal for value in node.values for literal in literals(value, tree)]
    if isinstance(node, ast.Tuple):
        return [literal for value in node.elts for literal in literals(value, tree)]
    if isinstance(node, ast.Name):
        return [literal for value in assigned(node.id, tree) for literal in literals(value, tree)] or [UNKNOWN]
    return [UNKNOWN]


def assigned(name: str, tree: ast.Module) -> Iterator[ast.expr]:
    """What a file assigns to a name."""
    for node in ast.walk(tree):
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        named = name in [getattr(to, "id", "") for to in targets]
        if named and isinstance(node, ast.Assign | ast.AnnAssign) and node.value:
            yield node.value


UNKNOWN = "{not_a_literal}"


def test_templates_are_found() -> None:
    assert len(templates()) > 200
    hidden = {where.partition(":")[0] for where, template, _ in templates() if UNKNOWN in template}
    assert hidden == set(MADE), "make each template a literal where text() is called, or say in MADE why it is none"


@pytest.mark.parametrize("units", ["F", "C"])
def test_no_sentence_has_the_unit_of_the_other_reader(units: str) -> None:
    wrong = []
    for where, template, kinds in templates():
        names = re.findall(r"\{(\w+)\}", template)
        choices = {name: EXTREMES.get(kinds.get(name, ""), ANY) for name in names}
        for i in range(max(map(len, choices.values()), default=1)):
            values = {name: choice[i % len(choice)] for name, choice in choices.items()}
            words = render(Text(template, values), Reader(units, now=1_800_000_000_000))
            if found := WRONG[units].findall(words):
                wrong.append(f"{where}: {found} in {words!r}")
                break
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("kind", sorted(EXTREMES))
def test_no_value_has_the_unit_of_the_other_reader(kind: str) -> None:
    for value in EXTREMES[kind]:
        us, metric = (render(value, Reader(units, now=1)) for units in "FC")
        assert not re.search(rf"(?:^|\d ){METRIC}\b", us), us
        assert not re.search(rf"\d (?:{US}|in)\b", metric), metric


# What a person reads with a unit that does not follow the reader: file, a piece of the words, why it is so.
ALLOWED: list[tuple[str, str, str]] = [
    ("board/listen.py", "7 C", "the board's records as they came over the wire, which are in C, for who debugs them"),
    ("cli/plan_options.py", "180 g", "the default of an option, in a form that can be typed again"),
    ("cli/plan_options.py", "250-275 F", "the default of an option"),
    ("cli/plan_options.py", "0 m", "the default of an option"),
    ("cli/plan_options.py", "5 C", "the default of an option"),
    ("cli/plan_options.py", "10 C", "the default of an option"),
    ("cli/plan_options.py", "20 C (68 F)", "the help of an option, which has no reader's units"),
    ("cook/food_history.py", "a hot-hold limit of", "an error for who calls the function: its argument is in C"),
    ("measures.py", "", "examples of what can be typed; each reader is given the one of his units"),
    ("plan/request.py", "as 215-235 F", "forms of the option --band, which takes both"),
    ("plan/request.py", 'mass = "14 lb"', "a form of the plan's file"),
    ("sim/bath.py", "all probes lie in", "the console of simulated baths, whose words take m and give C"),
    ("sim/bath.py", "-500 to 5000 m", "the console of simulated baths, whose words take m and give C"),
    ("sim/fleet.py", "7 ", "a table of rehearsed cooks for who works on the law"),
    ("sim/rivals.py", "1 C hysteresis", "the name of a rival law, in the tables of who works on the law"),
]


def strings(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Strings of the source, f-strings with 7 in place of what is filled in; no docstrings, no templates."""
    skipped: set[int] = set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list) and body and isinstance(body[0], ast.Expr):
            skipped.add(id(body[0].value))
        if isinstance(node, ast.JoinedStr):
            skipped |= {id(part) for part in ast.walk(node) if isinstance(part, ast.Constant)}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = [part.value if isinstance(part, ast.Constant) else "7" for part in node.values]
            yield node.lineno, "".join(map(str, parts))
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skipped:
            yield node.lineno, node.value


def measured() -> list[tuple[str, int, str]]:
    looks = re.compile(rf"(?<![\w.])-?\d+(?:\.\d+)? ?{UNIT}(?![\w'])")
    return [(file, line, words) for file, tree in sources() for line, words in strings(tree) if looks.search(words)]


def test_a_measure_outside_of_typed_text_has_a_reason() -> None:
    open_ = [
        f"{file}:{line}: {words!r}"
        for file, line, words in measured()
        if not any(file.startswith(where) and part in words for where, part, _ in ALLOWED)
    ]
    assert not open_, "\n".join(open_)


def test_each_reason_is_still_needed() -> None:
    found = measured()
    idle = [one for one in ALLOWED if not any(f.startswith(one[0]) and one[1] in words for f, _, words in found)]
    assert not idle, idle

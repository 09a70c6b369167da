"""Writes `host/reference.md`: commands, settings, records, keys, reasons, alarms, notes, from the program's own tables.

Run it with `python tests/tools/reference.py`; a test fails when the page is stale or an entry has no help.
"""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import click
from hearth.core import fields
from tuyere.cli.main import main
from tuyere.codes import REASONS, STATES
from tuyere.cook import faults
from tuyere.cook.reasons import reason
from tuyere.engine.night import conditions
from tuyere.link.happened import CAUSES
from tuyere.logbook.kinds import BOARD_KINDS, CALL_STEPS, KINDS
from tuyere.text import FAHRENHEIT, Reader, Said, render
from tuyere.tui.actions import ACTIONS, NIGHT, PAST, key_words

PAGE = Path(__file__).parents[2] / "host" / "reference.md"
HEAD = """# Reference

Made by `python tests/tools/reference.py` from the program's own tables; do not edit it by hand.
"""
STATE_WORDS = {
    "off": "The fan is off; nothing is held.",
    "manual": "The fan runs as a person set it, until that expires.",
    "climbing": "On the way to the band.",
    "holding": "In the band, or kept near it.",
    "opened": "The lid is open, told or felt from the fall.",
    "fading": "The fire needs clearly more air than usual, or no longer answers it.",
    "burnout": "The programme is over; the fan is off and the fire may end.",
    "tripped": "The fan is off until a person has acknowledged and started again.",
}


class Entry(NamedTuple):
    """A row of a table: its name, its columns, and its help ("" is a fault that the test finds)."""

    name: str
    cells: tuple[str, ...]
    help: str


def commands(command: click.Command = main, path: str = "tuyere") -> Iterator[tuple[str, click.Command, click.Context]]:
    """Every command with its full name, groups before what is in them."""
    context = click.Context(command, info_name=path)
    yield path, command, context
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            found = command.get_command(context, name)
            assert found is not None
            if not found.hidden:
                yield from commands(found, f"{path} {name}")


def options(command: click.Command, context: click.Context) -> list[Entry]:
    """The options of a command: their names, what they take and what stands if they are left out."""
    found = []
    for one in command.params:
        if isinstance(one, click.Option) and not one.hidden:
            names = ", ".join(f"`{name}`" for name in (*one.opts, *one.secondary_opts))
            kind = one.type  # click's own words for it change with its version
            of = " or ".join(kind.choices) if isinstance(kind, click.Choice) else kind.name
            takes = "" if one.is_flag else one.metavar or of
            default = one.get_default(context)
            shown = "" if one.is_flag or default in (None, "") or callable(default) else f"{default:g}" if isinstance(
                default, float) else str(default)  # fmt: skip
            shown = "" if "UNSET" in shown.upper() else shown
            found.append(Entry(names, (takes, shown), _line(one.help or "")))
    return found


def settings() -> list[Entry]:
    """The board's settings, as `board settings` names them."""
    return _fields(fields.SETTINGS)


def inputs() -> list[Entry]:
    """What a cycle reads."""
    return _fields(fields.NOW)


def outputs() -> list[Entry]:
    """What a cycle decides."""
    return _fields(fields.OUT)


def memory() -> list[Entry]:
    """What is carried from one cycle to the next."""
    return _fields(fields.MEMORY)


def keys() -> list[Entry]:
    """What a key does on the watch screen, and while a past night is shown."""
    past = [one for one in PAST if one.group == NIGHT]
    return [
        Entry(f"`{key_words(one.keys)}`", (f"`{one.id}`", one.words, one.group), one.help) for one in (*ACTIONS, *past)
    ]


def states() -> list[Entry]:
    return [Entry(f"`{name}`", (), STATE_WORDS.get(name, "")) for name in STATES]


def reasons() -> list[Entry]:
    """Why the fan does what it does. A name that has no words of its own has no help."""
    return [Entry(f"`{name}`", (), "" if reason(name) == name.replace("_", " ") else reason(name)) for name in REASONS]


def causes() -> list[Entry]:
    """The alarms by the stable code of their cause: level, what to do where that is always the same, and what is said
    first."""
    found: dict[str, tuple[str, list[Said], Said]] = {}
    for value in vars(faults).values():
        for one in value.values() if isinstance(value, dict) else [value]:
            if isinstance(one, faults.Guard):
                found[one.code] = (one.level, list(one.checks), one.what)
    for call in ast.walk(ast.parse(inspect.getsource(conditions))):
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "Condition":
            level, code, what = (_value(node) for node in call.args[:3])
            checks = _value(call.args[4]) if len(call.args) > 4 else None
            if code is not None:
                found[code] = (level or "urgent or warning", checks or [], what or "")
    reader = Reader(FAHRENHEIT)
    return [
        Entry(f"`{code}`", (level, "; ".join(render(check, reader) for check in checks)), render(what, reader))
        for code, (level, checks, what) in sorted(found.items())
    ]


def notes() -> list[Entry]:
    """What a person can note: the value it takes and its range, or the texts."""
    found = []
    for name, one in KINDS.items():
        takes = f"{one.low:g} to {one.high:g} {one.value}" if one.value else ", ".join(one.texts)
        found.append(Entry(f"`{name}`", ("yes" if one.needs_piece else "", takes), one.words))
    return found


def happened() -> list[Entry]:
    """What the log says of the board, of a call, and of records that will never come."""
    board = {name: one.words for name, one in BOARD_KINDS.items()}
    return [
        Entry(f"`{name}`", (of,), words)
        for of, table in (("board", board), ("call", CALL_STEPS), ("missing records", CAUSES))
        for name, words in table.items()
    ]


def _value(node: ast.expr) -> Any:
    """What a constant, or a name in `conditions` or a module it imports, stands for; None for anything else."""
    if isinstance(node, ast.Constant):
        return node.value
    if isinstance(node, ast.List):
        return [found for one in node.elts if (found := _value(one)) is not None]
    if isinstance(node, ast.Name):
        return vars(conditions).get(node.id)
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        return getattr(vars(conditions).get(node.value.id), node.attr, None)
    return None


def _fields(rows: Any) -> list[Entry]:
    """A table of records in the units that a person reads."""
    return [
        Entry(f"`{name}`", (_number(default, scale), f"{_number(low, scale)} to {_number(high, scale)}", unit), help)
        for name, unit, scale, low, high, default, help, *_ in rows
    ]


def _number(value: int, scale: int) -> str:
    return f"{value / scale:g}"


def _line(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()


def table(heads: tuple[str, ...], entries: list[Entry]) -> str:
    """A Markdown table, help last."""
    rows = [heads, ("---",) * len(heads), *((one.name, *one.cells, one.help) for one in entries)]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows) + "\n"


def page() -> str:
    """The whole page."""
    parts = [HEAD, "## Commands\n"]
    for path, command, context in commands():
        usage = " ".join([path, *command.collect_usage_pieces(context)])
        parts.append(f"### {path}\n\n```\n{usage}\n```\n\n{inspect.cleandoc(command.help or '')}\n")
        if found := options(command, context):
            parts.append(table(("option", "takes", "default", "what it does"), found))
    parts += [
        "## Settings of the board\n\n`tuyere board settings NAME=NUMBER` changes one.\n",
        table(("setting", "default", "range", "unit", "meaning"), settings()),
        "## What a record holds\n\nA cycle record holds what was read and what was decided.\n",
        table(("input", "default", "range", "unit", "meaning"), inputs()),
        table(("output", "default", "range", "unit", "meaning"), outputs()),
        "A state record holds the settings and the memory: what the law carries from one cycle to the next.\n",
        table(("memory", "default", "range", "unit", "meaning"), memory()),
        "## Keys of the watch screen\n\nThe names stand under `[keys]` in `screen.toml` of the data folder.\n",
        table(("key", "name", "words", "group", "what it does"), keys()),
        "## States of the board\n",
        table(("state", "meaning"), states()),
        "## Reasons\n\nWhy the fan does what it does; in every cycle record.\n",
        table(("reason", "meaning"), reasons()),
        "## Alarms\n\nThe code is stored and stays the same; the words may change.\n",
        table(("code", "level", "what to do", "what it says"), causes()),
        "## Notes\n\nWhat a person can note of a cook. Names are stored and stay the same; the words may change.\n",
        table(("note", "of a piece", "takes", "words"), notes()),
        "## What the log says\n\nOf the board, of calls, and of records that will never come.\n",
        table(("name", "of", "words"), happened()),
    ]
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")

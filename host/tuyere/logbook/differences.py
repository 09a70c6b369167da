"""Rows of the tables against their newest image in the chain: what was changed, lost or added past the program."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from tuyere.logbook.chain import covered, image, key_of, row_of
from tuyere.logbook.digests import Entry
from tuyere.logbook.rows import Flaw

OF_COOK = {"cooks": "id", "pieces": "cook", "events": "cook", "alarms": "cook", "texts": "cook", "forecasts": "cook"}
ONE = {"cooks": "cook", "pieces": "piece", "events": "event", "alarms": "alarm", "boards": "board"}
LONGEST = 60  # characters of a value in words
NEWEST = "SELECT row FROM entries WHERE tab = ? AND key = ? ORDER BY id DESC LIMIT 1"


def of_all(db: sqlite3.Connection) -> Iterator[Flaw]:
    """Every table."""
    for name, (columns, keys) in covered(db).items():
        sql = """SELECT key, row FROM entries WHERE id IN (SELECT max(id) FROM entries WHERE tab = ? GROUP BY key)"""
        where = " AND ".join(f"{key} = ?" for key in keys)
        held = 0
        for key, text in db.execute(sql, (name,)):
            held += bool(text)
            values = _loaded(key)
            if not isinstance(values, list) or len(values) != len(keys):
                continue  # the entry is damaged; its link says so
            row = db.execute(f"SELECT {', '.join(columns)} FROM {name} WHERE {where}", values).fetchone()
            yield from _compare(name, key, text, columns, row)
        (there,) = db.execute(f"SELECT count(*) FROM {name}").fetchone()
        if there > held:
            what = "1 row" if there - held == 1 else f"{there - held} rows"
            yield Flaw("row_added", f"added by another program, or with entries that are lost: {what} of {name}")


def of_cook(db: sqlite3.Connection, cook: int, boots: Sequence[tuple[int, int]]) -> Iterator[Flaw]:
    """The rows of one cook, and of its boots: those that are there, and those of which only the entry is left."""
    tables = covered(db)
    for name, column in OF_COOK.items():
        yield from _rows(db, name, *tables[name], f"{column} = ?", (cook,))
    for board, boot in boots:
        for name in ("boots", "pairs"):
            yield from _rows(db, name, *tables[name], "board = ? AND boot = ?", (board, boot))
    for name, key in sorted(_once_there(db, cook, boots)):
        columns, keys = tables[name]
        where = " AND ".join(f"{column} = ?" for column in keys)
        if db.execute(f"SELECT 1 FROM {name} WHERE {where}", json.loads(key)).fetchone() is None:
            (newest,) = db.execute(NEWEST, (name, key)).fetchone()
            yield from _compare(name, key, newest, columns, None)


def _once_there(db: sqlite3.Connection, cook: int, boots: Sequence[tuple[int, int]]) -> set[tuple[str, str]]:
    """(table, key) of all rows that the chain has held of a cook and of its boots. An entry that cannot be read is left
    to its link."""
    found = {("cooks", key_of([cook]))}
    # Entries stand in the order of time, but for a file whose chain began later: then those of a cook lie anywhere.
    sql = "SELECT coalesce(min(id), 1) FROM entries WHERE tab = 'cooks' AND key = ?"
    (first,) = db.execute(sql, (key_of([cook]),)).fetchone()
    if db.execute("SELECT 1 FROM incidents WHERE kind = 'chained_late'").fetchone():
        first = 1
    sql = "SELECT tab, key, row FROM entries WHERE id >= ? AND instr(row, ?)"
    for name, key, text in db.execute(sql, (first, f'"cook":{cook}')):
        if name in OF_COOK and name != "cooks" and isinstance(_loaded(key), list):
            row = _loaded(text)
            if isinstance(row, dict) and row.get("cook") == cook:
                found.add((name, key))
    for board, boot in boots:
        sql = "SELECT key FROM entries WHERE tab = 'boots' AND instr(row, ?) AND instr(row, ?)"
        found |= {("boots", key) for (key,) in db.execute(sql, (f'"board":{board},', f'"boot":{boot},'))}
        like = f"[{board},{boot},"  # the key of a pair is board, boot and the board's time
        sql = "SELECT key FROM entries WHERE tab = 'pairs' AND key >= ? AND key < ?"
        found |= {("pairs", key) for (key,) in db.execute(sql, (like, like + "~"))}
    return {one for one in found if db.execute(NEWEST, one).fetchone()}


def _rows(
    db: sqlite3.Connection, name: str, columns: list[str], keys: list[str], where: str, args: Sequence[Any]
) -> Iterator[Flaw]:
    for row in db.execute(f"SELECT {', '.join(columns)} FROM {name} WHERE {where}", args).fetchall():
        named = dict(zip(columns, row, strict=True))
        key = key_of([named[column] for column in keys])
        stored = db.execute(NEWEST, (name, key)).fetchone()
        yield from _compare(name, key, stored[0] if stored else "", columns, row)


def _compare(name: str, key: str, text: str, columns: list[str], row: Sequence[Any] | None) -> Iterator[Flaw]:
    """A row against its image; "" is a row that must not be there."""
    if row is not None and image(columns, row) == text:
        return
    if row is None and not text:
        return
    try:
        stored = row_of(text) if text else None
    except (ValueError, TypeError, AttributeError):
        yield Flaw("entry", f"the entry of {_named(name, key)} cannot be read")
        return
    now = dict(zip(columns, row, strict=True)) if row is not None else None
    cooks = sorted({*_cooks(name, stored), *_cooks(name, now)})
    if now is None:
        yield Flaw("row_gone", f"{_named(name, key)} is gone", cooks=cooks)
    elif stored is None:
        yield Flaw("row_added", f"{_named(name, key)} was added by another program, or its entry was lost", cooks=cooks)
    else:
        changed = [column for column in stored if now.get(column) != stored[column]]
        changes = ", ".join(f"{c} was {_short(stored[c])} and is now {_short(now.get(c))}" for c in changed)
        if changed:
            yield Flaw("row_changed", f"{_named(name, key)} was changed past the program: {changes}", cooks=cooks)


def cooks_of(entries: Iterable[Entry]) -> list[int]:
    """The cooks that entries are about."""
    found: set[int] = set()
    for _, name, _, text in entries:
        row = _loaded(text) if text else None
        found |= set(_cooks(name, row)) if isinstance(row, dict) else set()
    return sorted(found)


def _cooks(name: str, row: dict[str, Any] | None) -> list[int]:
    cook = (row or {}).get("id" if name == "cooks" else "cook")
    return [cook] if isinstance(cook, int) else []


def _named(name: str, key: str) -> str:
    values = _loaded(key)
    parts = ", ".join(map(str, values)) if isinstance(values, list) else key
    return f"{ONE[name]} {parts}" if name in ONE else f"{name} ({parts})"


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= LONGEST else text[:LONGEST] + "..."


def _loaded(text: str) -> Any:
    try:
        return json.loads(text)
    except ValueError:
        return None

"""What can be read of a damaged logbook: its rows by their shape, and by SQLite as far as that goes.

A record proves itself: its columns are repeated in its bytes. An entry of the chain is the image of a row, so that rows
of other tables come back even where their own pages are damaged.
"""

from __future__ import annotations

import contextlib
import sqlite3
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from hearth.link import messages
from msgspec import Struct, field

from tuyere.logbook import migrations
from tuyere.logbook.chain import APART, covered, key_of, row_of
from tuyere.logbook.pages import Pages

_unpack = struct.Struct(messages.HEAD).unpack_from
ODD = (sqlite3.Error, UnicodeDecodeError)  # also of SQLite's own message about a damaged name
RECORD, ENTRY, LINK, INCIDENT = "records", "entries", "links", "incidents"
TYPES = {
    ENTRY: (str, str, str),
    LINK: (int, int, int, int, int, bytes, bytes, bytes),
    INCIDENT: (str, int, str),
}


def shaped(path: Path, newest: int | None = None) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """(table, row with its id first) of records, entries, links and incidents, in the order of the pages."""
    with Pages(path) as pages:
        for id, values in pages.rows(newest):
            if not values or values[0] is not None or id < 0:
                continue
            if (record := _record(id, values)) is not None:
                yield RECORD, record
                continue
            for name, types in TYPES.items():
                if len(values) == len(types) + 1 and all(map(isinstance, values[1:], types)):
                    yield name, (id, *values[1:])


def _record(id: int, values: list[Any]) -> tuple[Any, ...] | None:
    """(id, board, boot, sequence, kind, at, bytes, cook) if it is a record whose columns agree with its bytes."""
    if len(values) == 7:
        values = [*values, None]
    if len(values) != 8:
        return None
    _, board, boot, sequence, kind, at, data, cook = values
    if not isinstance(data, bytes) or len(data) < messages.HEAD_SIZE or not isinstance(board, int):
        return None
    if _unpack(data)[:4] != (kind, boot, sequence, at) or not (cook is None or isinstance(cook, int)):
        return None
    return id, board, boot, sequence, kind, at, data, cook


class Tables(Struct):
    """What SQLite gives of the other tables: rows as dicts, by table; and the names of the steps of the file."""

    steps: list[str] = field(default_factory=list)
    keys: dict[str, list[str]] = field(default_factory=dict)
    rows: dict[str, list[dict[str, Any]]] = field(default_factory=dict)


@contextlib.contextmanager
def opened(path: Path) -> Iterator[sqlite3.Connection | None]:
    """A connection that reads, None if SQLite refuses the file."""
    try:
        db = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)
        db.text_factory = lambda data: data.decode("utf-8", "replace")
    except sqlite3.Error:
        yield None
        return
    with contextlib.closing(db):
        yield db


def tables(path: Path) -> Tables:
    """All tables but records and the chain, as far as SQLite can read them."""
    found = Tables()
    with opened(path) as db:
        if db is None:
            return found
        with contextlib.suppress(*ODD):
            found.steps = migrations.done(db)
        with contextlib.suppress(*ODD):
            known = covered(db)
            with contextlib.suppress(*ODD):
                columns = [name for (name,) in db.execute("SELECT name FROM pragma_table_info('spans')")]
                known["spans"] = (columns, ["cook", "board", "boot"])
            for name, (columns, keys) in known.items():
                if name != INCIDENT and columns and keys:
                    found.keys[name] = keys
                    found.rows[name] = [dict(zip(columns, row, strict=True)) for row in _read(db, name, columns, keys)]
    return found


def _read(db: sqlite3.Connection, name: str, columns: list[str], keys: list[str]) -> list[tuple[Any, ...]]:
    """The rows of a table: from its beginning up to a damaged page, then from its end."""
    found: dict[tuple[Any, ...], tuple[Any, ...]] = {}
    at = [columns.index(key) for key in keys]
    for way in ("ASC", "DESC"):
        order = ", ".join(f"{key} {way}" for key in keys)
        try:
            for row in db.execute(f"SELECT {', '.join(columns)} FROM {name} ORDER BY {order}"):
                found[tuple(row[i] for i in at)] = row
            return list(found.values())
        except (*ODD, OverflowError):
            continue
    return list(found.values())


def joined(tables: Tables, entries: list[tuple[int, str, str, str]]) -> dict[str, list[dict[str, Any]]]:
    """Rows of the tables, as their newest image says. A row whose newer images may be lost stays as SQLite read it."""
    newest: dict[tuple[str, str], tuple[int, str]] = {}
    for id, name, key, text in entries:
        if name not in APART and newest.get((name, key), (0, ""))[0] < id:
            newest[name, key] = (id, text)
    here = {id for id, *_ in entries}
    whole_from = max(here, default=0)  # from there on no entry is missing
    while whole_from - 1 in here:
        whole_from -= 1
    rows: dict[tuple[str, str], dict[str, Any]] = {}
    for name, its in tables.rows.items():
        for row in its:
            rows[name, key_of([row[key] for key in tables.keys[name]])] = row
    for (name, key), (id, text) in newest.items():
        if (name, key) in rows and id < whole_from:
            continue
        try:
            image = row_of(text) if text else None
        except (ValueError, TypeError, AttributeError):
            continue
        if image is not None:
            rows[name, key] = {**rows.get((name, key), {}), **image}
        else:
            rows.pop((name, key), None)
    found: dict[str, list[dict[str, Any]]] = {}
    for (name, _), row in rows.items():
        found.setdefault(name, []).append(row)
    return found

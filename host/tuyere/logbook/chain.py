"""Keeping the chain: what each transaction wrote becomes part of the newest link, before it is committed."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterable, Sequence
from typing import Any

from tuyere.logbook.digests import (
    LINK,
    LINK_ENTRIES,
    LINK_RECORDS,
    RECORD,
    Entry,
    Head,
    Link,
    Record,
    Tip,
    behind,
    load,
    newest,
)  # fmt: skip

CHUNK = 32 * LINK_RECORDS

# What the chain does not hold as entries: records have their own part, the rest is made from them or is the chain.
APART = ("records", "spans", "links", "entries", "migrations")

TABLES = (
    """CREATE TABLE entries (
        id INTEGER PRIMARY KEY,
        tab TEXT NOT NULL,
        key TEXT NOT NULL,
        row TEXT NOT NULL) STRICT""",
    "CREATE INDEX entries_of ON entries (tab, key)",
    """CREATE TABLE links (
        id INTEGER PRIMARY KEY,
        first_record INTEGER NOT NULL,
        last_record INTEGER NOT NULL,
        first_entry INTEGER NOT NULL,
        last_entry INTEGER NOT NULL,
        records INTEGER NOT NULL,
        of_records BLOB NOT NULL,
        of_entries BLOB NOT NULL,
        digest BLOB NOT NULL) STRICT""",
    # what happened to the file itself, as far as the program noticed
    """CREATE TABLE incidents (
        id INTEGER PRIMARY KEY,
        kind TEXT NOT NULL,
        link INTEGER NOT NULL,
        detail TEXT NOT NULL) STRICT""",
)


def covered(db: sqlite3.Connection) -> dict[str, tuple[list[str], list[str]]]:
    """Tables whose rows the chain holds as entries -> (columns, columns of the key)."""
    found = {}
    sql = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name"
    for (name,) in db.execute(sql).fetchall():
        if name not in APART:
            columns = db.execute("SELECT name, pk FROM pragma_table_info(?) ORDER BY cid", (name,)).fetchall()
            keys = [column for column, pk in sorted(columns, key=lambda row: row[1]) if pk]
            found[name] = ([column for column, _ in columns], keys)
    return found


def image(columns: Iterable[str], row: Iterable[Any]) -> str:
    """A row as JSON; floats exactly, bytes as {"hex": ...}."""
    plain = {
        name: {"hex": value.hex()} if isinstance(value, bytes) else value
        for name, value in zip(columns, row, strict=True)
    }
    return json.dumps(plain, ensure_ascii=False, separators=(",", ":"))


def row_of(text: str) -> dict[str, Any]:
    """The row of an image."""
    return {
        name: bytes.fromhex(value["hex"]) if isinstance(value, dict) else value
        for name, value in json.loads(text).items()
    }


def key_of(values: Iterable[Any]) -> str:
    """The key of a row as text."""
    return json.dumps(list(values), ensure_ascii=False, separators=(",", ":"))


class Chain:
    """The chain of one connection that writes. `seal` before each COMMIT, then `committed`; else `undone`."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db
        self._tables: dict[str, tuple[list[str], list[str]]] = {}
        self._sealed: Tip | None = None
        self._strays = False  # entries that no link covers
        self.tip: Tip | None = None  # None: this file has no chain yet

    def start(self) -> None:
        """Follow changes from now on; does nothing in a file without a chain. Call it again after the schema changed.

        Rows of tables that are new or have new columns become entries with the next seal.
        """
        link = newest(self._db)
        if link is None:
            return
        known, self._tables = self._tables, covered(self._db)
        self._db.execute("CREATE TEMP TABLE IF NOT EXISTS touched (tab TEXT NOT NULL, key TEXT NOT NULL) STRICT")
        for name, (columns, keys) in self._tables.items():
            if known.get(name) == (columns, keys):
                continue
            for when, sides in (("INSERT", ("NEW",)), ("UPDATE", ("OLD", "NEW")), ("DELETE", ("OLD",))):
                # TEMP: a change by another program is not followed, so it is found
                self._db.execute(f"DROP TRIGGER IF EXISTS temp.touched_{name}_{when}")
                body = " ".join(
                    f"INSERT INTO touched VALUES ('{name}', json_array({', '.join(f'{side}.{key}' for key in keys)}));"
                    for side in sides
                )
                self._db.execute(
                    f"CREATE TEMP TRIGGER touched_{name}_{when} AFTER {when} ON main.{name} BEGIN {body} END"
                )
            if known:
                self._db.execute(
                    f"INSERT INTO temp.touched SELECT '{name}', json_array({', '.join(keys)}) FROM main.{name}"
                )
        if self.tip is None:
            self.tip = load(self._db, link)

    def seal(self) -> None:
        """Take what this transaction has written into the chain; inside the transaction."""
        tip = self._sealed or self.tip
        if tip is None:
            return
        entries = self._entries(tip.link.last_entry)
        while True:
            records = self._db.execute(
                f"SELECT {RECORD} FROM records WHERE id > ? ORDER BY id LIMIT {CHUNK}", (tip.link.last_record,)
            ).fetchall()
            if not records and not entries:
                break
            tip = self._fold(tip, records, entries)
            entries = []
        self._sealed = tip

    def committed(self) -> Link | None:
        """The transaction is on the disk. The newest link if it has grown."""
        if self._sealed is None or self._sealed is self.tip:
            self._sealed = None
            return None
        self.tip, self._sealed = self._sealed, None
        return self.tip.link

    def undone(self) -> None:
        """The transaction was rolled back."""
        self._sealed = None

    def meet(self, head: Head | None) -> bool:
        """Compare the end of the file with what no commit of this program explains; inside a transaction.

        Notes an incident for rows that no link covers, and for an end that was lost.
        True if something was noted.
        """
        assert self.tip is not None
        link = newest(self._db)
        assert link is not None
        before = self._db.total_changes
        sql = "SELECT coalesce((SELECT max(id) FROM records), 0), coalesce((SELECT max(id) FROM entries), 0)"
        records, entries = self._db.execute(sql).fetchone()
        if records > link.last_record or entries > link.last_entry:
            self._strays = True
            self.incident(
                "not_chained", records=max(0, records - link.last_record), entries=max(0, entries - link.last_entry)
            )
        if head is not None:
            (book,) = self._db.execute("SELECT digest FROM links WHERE id = 0").fetchone() or (b"",)
            if head.book != book.hex():
                self.incident("other_logbook", book=head.book, records=head.records)
            elif (lost := behind(self._db, head)) is not None:
                self.incident("end_lost", **lost)
        return self._db.total_changes != before

    def incident(self, kind: str, **detail: Any) -> None:
        """Note what happened to the file itself; inside a transaction."""
        link = self.tip.link.id if self.tip else 0
        self._db.execute(
            "INSERT INTO incidents (kind, link, detail) VALUES (?, ?, ?)", (kind, link, json.dumps(detail))
        )

    def _entries(self, last: int) -> list[Entry]:
        """Write the images of the rows that were touched; returns the entries after `last`."""
        touched = self._db.execute("SELECT DISTINCT tab, key FROM temp.touched").fetchall()
        if not touched and not self._strays:
            return []
        self._strays = False
        self._db.execute("DELETE FROM temp.touched")
        found = []
        for name, text in touched:
            columns, keys = self._tables[name]
            values = json.loads(text)
            where = " AND ".join(f"{key} = ?" for key in keys)
            row = self._db.execute(f"SELECT {', '.join(columns)} FROM {name} WHERE {where}", values).fetchone()
            found.append((name, key_of(values), image(columns, row) if row else ""))
        self._db.executemany("INSERT INTO entries (tab, key, row) VALUES (?, ?, ?)", found)
        sql = "SELECT id, tab, key, row FROM entries WHERE id > ? ORDER BY id"
        return self._db.execute(sql, (last,)).fetchall()

    def _fold(self, tip: Tip, records: Sequence[Record], entries: Sequence[Entry]) -> Tip:
        at = entry = 0
        done = []
        while at < len(records) or entry < len(entries):
            if tip.full:
                tip = tip.next()
            some = records[at : at + LINK_RECORDS - tip.records.count]
            few = entries[entry : entry + LINK_ENTRIES - tip.entries.count]
            at, entry = at + len(some), entry + len(few)
            tip = tip.grown(some, few)
            done.append(tip.link)
        self._db.executemany(
            f"INSERT OR REPLACE INTO links ({LINK}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                (
                    link.id, link.first_record, link.last_record, link.first_entry, link.last_entry, link.records,
                    link.of_records, link.of_entries, link.digest,
                )
                for link in done
            ],
        )  # fmt: skip
        return tip


def begin(db: sqlite3.Connection) -> None:
    """Make the chain of a file, over what it holds already; inside a transaction."""
    for statement in TABLES:
        db.execute(statement)
    db.execute(f"INSERT INTO links ({LINK}) VALUES (0, 1, 0, 1, 0, 0, x'', x'', ?)", (os.urandom(32),))
    chain = Chain(db)
    chain.start()
    held = db.execute("SELECT count(*) FROM records").fetchone()[0]
    for name, (_, keys) in covered(db).items():
        db.execute(f"INSERT INTO temp.touched SELECT '{name}', json_array({', '.join(keys)}) FROM main.{name}")
    if held or db.execute("SELECT 1 FROM temp.touched").fetchone():
        chain.incident("chained_late", records=held)
    chain.seal()

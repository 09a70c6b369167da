"""Digests of the chain: what a link covers, and how it is computed.

A link covers the next records and the next entries. An entry is the image of one row of another table after a change,
as JSON; a later change of the row is a new entry. The digest of a link is over its own content and the digest of the
link before it. The newest link grows with each commit until it is full.

    records part = SHA-256(runs of records)[:16]   a run: consecutive ids, one board, boot, cook and length
    entries part = SHA-256(entries)[:16]
    digest       = SHA-256(digest before + records part + entries part + ends of both ranges)

The chain finds damage and accidents. It does not find somebody who computes it all again.
"""

from __future__ import annotations

import hashlib
import sqlite3
import struct
from collections.abc import Iterator, Sequence
from itertools import groupby

from msgspec import Struct

LINK_RECORDS = 128  # in one link; a little over 4 minutes
LINK_ENTRIES = 64
PART = 16  # bytes of the digest of a part


LINK = "id, first_record, last_record, first_entry, last_entry, records, of_records, of_entries, digest"
RECORD = "id, board, boot, cook, bytes"
_run = struct.Struct("<qqqqq")
_ends = struct.Struct("<qqqq")

Entry = tuple[int, str, str, str]
Record = tuple[int, int, int, int | None, bytes]


class Link(Struct):
    """One link as stored. A part that is empty has last = first - 1. `records`: stored up to here, of all links."""

    id: int
    first_record: int
    last_record: int
    first_entry: int
    last_entry: int
    records: int
    of_records: bytes
    of_entries: bytes
    digest: bytes


class Head(Struct):
    """The newest link as it was when this was written. `book` is the digest of link 0, which no two logbooks share."""

    book: str
    turn: int
    link: int
    last_record: int
    last_entry: int
    records: int
    digest: str


class RecordsPart:
    """The digest of records in the order of their ids. It does not depend on the commits that they came in."""

    def __init__(self) -> None:
        self._hash = hashlib.sha256()
        self._run: tuple[int, ...] = ()
        self.count = 0

    def add(self, rows: Sequence[Record]) -> None:
        """The next records."""
        position = self.count

        def key(numbered: tuple[int, Record]) -> tuple[int, ...]:
            i, (id, board, boot, cook, data) = numbered
            return id - i, board, boot, -1 if cook is None else cook, len(data)

        kinds = {(row[1], row[2], row[3], len(row[4])) for row in rows}
        if len(kinds) == 1 and rows[-1][0] - rows[0][0] == len(rows) - 1:  # nearly always: one run
            self._take(key((position, rows[0])), rows)
        else:
            for run, same in groupby(enumerate(rows, position), key):
                self._take(run, [row for _, row in same])
        self.count += len(rows)

    def _take(self, run: tuple[int, ...], rows: Sequence[Record]) -> None:
        if run != self._run:
            self._hash.update(_run.pack(*run))
            self._run = run
        self._hash.update(b"".join([row[4] for row in rows]))

    def copy(self) -> RecordsPart:
        """One that grows apart from this one."""
        other = RecordsPart()
        other._hash, other._run, other.count = self._hash.copy(), self._run, self.count
        return other

    def digest(self) -> bytes:
        """Of what was added so far."""
        return self._hash.digest()[:PART]


class EntriesPart:
    """The digest of entries in the order of their ids."""

    def __init__(self) -> None:
        self._hash = hashlib.sha256()
        self.count = 0

    def add(self, rows: Sequence[Entry]) -> None:
        """The next entries."""
        for id, *texts in rows:
            parts = [text.encode() for text in texts]
            self._hash.update(struct.pack("<qqqq", id, *map(len, parts)) + b"".join(parts))
        self.count += len(rows)

    def copy(self) -> EntriesPart:
        """One that grows apart from this one."""
        other = EntriesPart()
        other._hash, other.count = self._hash.copy(), self.count
        return other

    def digest(self) -> bytes:
        """Of what was added so far."""
        return self._hash.digest()[:PART]


def digest(before: bytes, of_records: bytes, of_entries: bytes, ends: Sequence[int]) -> bytes:
    """Of a link; ends: first and last record, first and last entry."""
    return hashlib.sha256(before + of_records + of_entries + _ends.pack(*ends)).digest()


class Tip(Struct):
    """The newest link while it grows."""

    link: Link
    before: bytes  # digest of the link before it
    records: RecordsPart
    entries: EntriesPart

    @property
    def full(self) -> bool:
        return self.records.count >= LINK_RECORDS or self.entries.count >= LINK_ENTRIES or self.link.id == 0

    def next(self) -> Tip:
        """An empty link after this one."""
        link = self.link
        empty = Link(
            link.id + 1, link.last_record + 1, link.last_record, link.last_entry + 1, link.last_entry, link.records,
            b"", b"", b"",
        )  # fmt: skip
        return Tip(empty, link.digest, RecordsPart(), EntriesPart())

    def grown(self, records: Sequence[Record], entries: Sequence[Entry]) -> Tip:
        """This link with more in it."""
        parts = self.records.copy(), self.entries.copy()
        parts[0].add(records)
        parts[1].add(entries)
        old = self.link
        ends = (
            old.first_record, records[-1][0] if records else old.last_record,
            old.first_entry, entries[-1][0] if entries else old.last_entry,
        )  # fmt: skip
        of_records, of_entries = parts[0].digest(), parts[1].digest()
        sealed = digest(self.before, of_records, of_entries, ends)
        return Tip(Link(old.id, *ends, old.records + len(records), of_records, of_entries, sealed), self.before, *parts)


def links(db: sqlite3.Connection, first: int, last: int) -> Iterator[Link]:
    """Stored links first..last."""
    for row in db.execute(f"SELECT {LINK} FROM links WHERE id BETWEEN ? AND ? ORDER BY id", (first, last)):
        yield Link(*row)


def content(db: sqlite3.Connection, link: Link) -> tuple[list[Record], list[Entry]]:
    """Records and entries that a link covers, as far as they are there."""
    return records_of(db, link), entries_of(db, link)


def entries_of(db: sqlite3.Connection, link: Link) -> list[Entry]:
    """Entries that a link covers, as far as they are there."""
    sql = "SELECT id, tab, key, row FROM entries WHERE id BETWEEN ? AND ? ORDER BY id"
    return db.execute(sql, (link.first_entry, link.last_entry)).fetchall()


def records_of(db: sqlite3.Connection, link: Link) -> list[Record]:
    """Records that a link covers, as far as they are there."""
    sql = f"SELECT {RECORD} FROM records WHERE id BETWEEN ? AND ? ORDER BY id"
    return db.execute(sql, (link.first_record, link.last_record)).fetchall()


def newest(db: sqlite3.Connection) -> Link | None:
    """The newest link, None in a file without a chain."""
    try:
        row = db.execute(f"SELECT {LINK} FROM links ORDER BY id DESC LIMIT 1").fetchone()
    except sqlite3.OperationalError:  # no such table
        return None
    return Link(*row) if row else None


def load(db: sqlite3.Connection, link: Link) -> Tip:
    """The newest link, to go on with. If its content is not what was stored, or is gone, a new link begins after it,
    so that the difference stays to be seen."""
    whole = Tip(link, b"", RecordsPart(), EntriesPart())
    if link.id == 0:
        return whole
    (before,) = db.execute("SELECT digest FROM links WHERE id = ?", (link.id - 1,)).fetchone() or (b"",)
    ends = link.first_record, link.first_record - 1, link.first_entry, link.first_entry - 1
    begun = Tip(Link(link.id, *ends, 0, b"", b"", b""), before, RecordsPart(), EntriesPart())
    again = begun.grown(*content(db, link))
    again.link.records = link.records
    return again if again.link == link else whole.next()


def behind(db: sqlite3.Connection, head: Head) -> dict[str, int] | None:
    """What the head outside has and the file lacks: counts of records and entries; None if nothing."""
    there = next(links(db, head.link, head.link), None)
    if there is not None and head.last_record <= there.last_record and head.last_entry <= there.last_entry:
        if there.digest.hex() == head.digest:
            return None
        if there.id and load_digest(db, there) != there.digest:
            return None  # what it covers is damaged, so nothing can be said of its beginning; a check finds the damage
        there.last_record, there.last_entry = head.last_record, head.last_entry
        if load_digest(db, there).hex() == head.digest:
            return None
    link = newest(db)
    assert link is not None
    return {
        "link": head.link,
        "records": max(0, head.records - link.records),
        "entries": max(0, head.last_entry - link.last_entry),
    }


def load_digest(db: sqlite3.Connection, link: Link) -> bytes:
    """The digest of what a link covers as it is in the file now, after the stored digest of the link before it."""
    (before,) = db.execute("SELECT digest FROM links WHERE id = ?", (link.id - 1,)).fetchone() or (b"",)
    records, entries = content(db, link)
    parts = RecordsPart(), EntriesPart()
    parts[0].add(records)
    parts[1].add(entries)
    ends = link.first_record, link.last_record, link.first_entry, link.last_entry
    return digest(before, parts[0].digest(), parts[1].digest(), ends)

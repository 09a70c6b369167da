"""Whether the file still holds what was stored: each part compared with the chain, and what a difference touches."""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from hearth.link import messages

from tuyere.logbook import differences, digests, head, incidents, migrations
from tuyere.logbook.boards import Boards
from tuyere.logbook.digests import EntriesPart, Entry, Head, Link, RecordsPart
from tuyere.logbook.errors import NoSuchEntry
from tuyere.logbook.missing import Spans
from tuyere.logbook.rows import Flaw, Sound
from tuyere.logbook.store import Store

_head = struct.Struct(messages.HEAD)
unpack = _head.unpack_from
ODD = (sqlite3.Error, TypeError, ValueError, AttributeError, struct.error)  # of a damaged page or row
SEVERAL = 1000  # flaws after which the rest is only counted


class Soundness:
    """`book.soundness`: the file against its chain. It finds damage and accidents, not somebody who computes the whole
    chain again."""

    def __init__(self, store: Store, boards: Boards, spans: Spans) -> None:
        self._store, self._boards, self._spans = store, boards, spans

    def all(self) -> Sound:
        """The whole file. It reads every page: some 15 s of processor time for each GB."""
        outside = head.read(self._store.path)  # first: an engine that writes meanwhile puts a newer head down
        with self._store.still():
            db, found = self._store.db, Sound()
            newest = digests.newest(db)
            if newest is None:
                found.flaws.append(Flaw("no_chain", "the links of the chain are gone, so nothing can be compared"))
                return found
            found.links, found.records, found.entries = newest.id, newest.records, newest.last_entry
            found.head = newest.digest.hex()
            incidents.told(db, found)
            for flaw in self._everything(newest, outside):
                if len(found.flaws) < SEVERAL:
                    found.flaws.append(flaw)
                else:
                    found.more += 1
            return found

    def of(self, cook: int) -> Sound:
        """What belongs to one cook: the links that cover its records, and its rows in the other tables."""
        with self._store.still():
            db, found = self._store.db, Sound()
            newest = digests.newest(db)
            spans = self._spans.of(cook)
            if newest is None:
                found.flaws.append(Flaw("no_chain", "the links of the chain are gone, so nothing can be compared"))
                return found
            wanted: set[int] = set()
            for span in spans:
                sql = "SELECT min(id), max(id) FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ?"
                low, high = db.execute(sql, (span.number, span.boot, span.first, span.last)).fetchone()
                if low is not None:
                    wanted |= set(range(_link_of(db, low, newest.id), _link_of(db, high, newest.id) + 1))
            found.links = len(wanted)
            for first, last in _runs(sorted(wanted)):
                found.flaws += self._links(first, last, entries=False)
            found.records = sum(span.records for span in spans)
            found.flaws += differences.of_cook(db, cook, [(span.number, span.boot) for span in spans])
            incidents.told(db, found, wanted)
            return found

    def _everything(self, newest: Link, outside: Head | None) -> Iterator[Flaw]:
        db = self._store.db
        parts = (
            _integrity(db), _schema(db), self._links(1, newest.id, entries=True), self._not_chained(newest),
            differences.of_all(db), _spans(db), self._end(outside),
        )  # fmt: skip
        for part in parts:
            try:
                yield from part
            except ODD as error:  # a page that cannot be read ends this part; the others go on
                yield _unreadable(error)

    def _not_chained(self, newest: Link) -> Iterator[Flaw]:
        sql = "SELECT count(*) FROM records WHERE id > ?"
        (there,) = self._store.db.execute(sql, (newest.last_record,)).fetchone()
        if there:
            yield Flaw("not_chained", f"added by another program, covered by no link: {_count(there, 'record')}")

    def _end(self, outside: Head | None) -> Iterator[Flaw]:
        db = self._store.db
        (book,) = db.execute("SELECT digest FROM links WHERE id = 0").fetchone() or (b"",)
        if outside is not None and outside.book == book.hex():
            lost = digests.behind(db, outside)
            if lost is not None:
                yield incidents.end_lost(lost)

    def _links(self, first: int, last: int, *, entries: bool) -> Iterator[Flaw]:
        """Links first..last against what they cover; entries too, if asked for."""
        db = self._store.db
        (before,) = db.execute("SELECT digest FROM links WHERE id = ?", (first - 1,)).fetchone() or (b"",)
        due, ends, total = first, None, None
        for link in digests.links(db, first, last):
            if link.id != due:
                yield Flaw("links_gone", f"links {due} to {link.id - 1} of the chain are gone", link=due)
                before, ends, total = b"", None, None
            due = link.id + 1
            if ends not in (None, (link.first_record, link.first_entry)):
                yield Flaw("link", f"link {link.id} of the chain does not go on where the one before it ends", link.id)
            try:
                yield from self._records(link, _rows(db, link))
                if entries:
                    yield from _entries(link, digests.entries_of(db, link))
            except ODD as error:
                flaw = _unreadable(error)
                flaw.link = link.id
                yield flaw
            ends_of = link.first_record, link.last_record, link.first_entry, link.last_entry
            if before and digests.digest(before, link.of_records, link.of_entries, ends_of) != link.digest:
                yield Flaw("link", f"link {link.id} of the chain, or the one before it, is damaged", link.id)
            if total is not None and link.records - total != link.last_record - link.first_record + 1:
                yield Flaw("link", f"link {link.id} of the chain counts wrong: it is damaged", link.id)
            before, total = link.digest, link.records
            ends = link.last_record + 1, link.last_entry + 1
        if due <= last:
            yield Flaw("links_gone", f"links {due} to {last} of the chain are gone", link=due)

    def _records(self, link: Link, rows: list[Any]) -> Iterator[Flaw]:
        lost = link.last_record - link.first_record + 1 - len(rows)
        if not lost and _same(RecordsPart(), [row[:5] for row in rows], link.of_records):
            for id, _, boot, _, data, sequence, kind, at in rows:
                if unpack(data)[:4] != (kind, boot, sequence, at):
                    yield self._flaw("record", link, rows, f"the columns of record {id} differ from its bytes")
            return
        if lost > 0:
            yield self._flaw("records_gone", link, rows, _gone(lost, f"{_count(lost, 'record')} of link {link.id}"))
        else:
            yield self._flaw("record", link, rows, "one or more of these records are not as they were stored")

    def _flaw(self, kind: str, link: Link, rows: list[Any], words: str) -> Flaw:
        """With the place of a link's records: board, boot, sequence, and when."""
        around = [row for row in rows if isinstance(row[4], bytes) and len(row[4]) >= _head.size]
        db = self._store.db
        if not around:  # all of them are gone: their neighbours tell where they were
            sql = f"SELECT {digests.RECORD} FROM records WHERE id"
            around += db.execute(f"{sql} < ? ORDER BY id DESC LIMIT 1", (link.first_record,)).fetchall()
            around += db.execute(f"{sql} > ? ORDER BY id LIMIT 1", (link.last_record,)).fetchall()
        flaw = Flaw(kind, words, link.id, cooks=sorted({row[3] for row in around if isinstance(row[3], int)}))
        if around:
            first, last = (_head.unpack_from(row[4]) for row in (around[0], around[-1]))
            (name,) = db.execute("SELECT name FROM boards WHERE id = ?", (around[0][1],)).fetchone() or ("?",)
            ends = f"record {first[2]} of boot {first[1]} to record {last[2]} of boot {last[1]}, board {name}"
            flaw.words = f"{words}: {'between' if not rows else 'from'} {ends}"
            try:
                flaw.utc = self._boards.clock(around[0][1], around[0][2]).utc(first[3])
            except NoSuchEntry:
                flaw.utc = 0
        return flaw


def _rows(db: sqlite3.Connection, link: Link) -> list[Any]:
    """Records of a link, with the columns that repeat what is in their bytes."""
    sql = f"SELECT {digests.RECORD}, sequence, kind, at FROM records WHERE id BETWEEN ? AND ? ORDER BY id"
    return db.execute(sql, (link.first_record, link.last_record)).fetchall()


def _entries(link: Link, rows: list[Entry]) -> Iterator[Flaw]:
    lost = link.last_entry - link.first_entry + 1 - len(rows)
    if lost or not _same(EntriesPart(), rows, link.of_entries):
        tables = sorted({row[1] for row in rows})
        words = _gone(lost, _count(lost, "entry", "entries")) if lost > 0 else "an entry is not as it was stored"
        yield Flaw(
            "entries", f"in link {link.id} of the chain {words}; it is about {', '.join(tables) or 'unknown rows'}",
            link.id, cooks=differences.cooks_of(rows),
        )  # fmt: skip


def _same(part: Any, rows: Sequence[Any], stored: bytes) -> bool:
    """Whether rows have this digest. Rows of other types than were stored have none."""
    try:
        part.add(rows)
    except ODD:
        return False
    return bool(part.digest() == stored)


def _unreadable(error: Exception) -> Flaw:
    return Flaw("sqlite", f"a part of the file cannot be read: {error}")


def _integrity(db: sqlite3.Connection) -> Iterator[Flaw]:
    for (line,) in db.execute(f"PRAGMA integrity_check({SEVERAL})"):
        if line != "ok":
            yield Flaw("sqlite", f"SQLite says: {line}")


def _schema(db: sqlite3.Connection) -> Iterator[Flaw]:
    """The tables and indexes of the file against those that a new file has."""
    sql = "SELECT name, sql FROM sqlite_master WHERE type IN ('table', 'index') AND name NOT LIKE 'sqlite%'"
    fresh = sqlite3.connect(":memory:", isolation_level=None)
    try:
        migrations.migrate(fresh)
        wanted, there = dict(fresh.execute(sql)), dict(db.execute(sql))
    finally:
        fresh.close()
    for name in sorted(wanted.keys() | there.keys()):
        if wanted.get(name) != there.get(name):
            what = "is gone" if name not in there else "is not of this program" if name not in wanted else "differs"
            yield Flaw("schema", f"the definition of {name} {what}")


def _spans(db: sqlite3.Connection) -> Iterator[Flaw]:
    """What is counted of each cook against its records."""
    counted = """SELECT cook, board, boot, min(sequence), max(sequence), count(*), sum(kind = 1), sum(kind = 2)
        FROM records WHERE cook IS NOT NULL GROUP BY cook, board, boot"""
    there = {row[:3]: row for row in db.execute(counted)}
    kept = {
        row[:3]: row for row in db.execute("SELECT cook, board, boot, first, last, records, cycles, states FROM spans")
    }
    for key in sorted(there.keys() | kept.keys(), key=repr):
        if there.get(key) != kept.get(key):
            words = f"boot {key[2]} of cook {key[0]} has other records than were counted when they were stored"
            yield Flaw("span", words, cooks=[key[0]] if isinstance(key[0], int) else [])


def _link_of(db: sqlite3.Connection, record: int, newest: int) -> int:
    """The link that covers a record, by bisection."""
    low, high = 1, max(newest, 1)
    while low < high:
        middle = (low + high) // 2
        row = db.execute("SELECT id, last_record FROM links WHERE id >= ? ORDER BY id LIMIT 1", (middle,)).fetchone()
        if row is None or row[1] >= record:
            high = middle
        else:
            low = max(row[0], middle) + 1
    return low


def _runs(numbers: Iterable[int]) -> Iterator[tuple[int, int]]:
    """Runs of consecutive numbers."""
    first = last = None
    for number in numbers:
        if last is None or number != last + 1:
            if first is not None and last is not None:
                yield first, last
            first = number
        last = number
    if first is not None and last is not None:
        yield first, last


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def _gone(number: int, what: str) -> str:
    return f"{what} {'is' if number == 1 else 'are'} gone"

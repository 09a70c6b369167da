"""A damaged logbook: what can be read of it in a new file, or tonight's cook carried on in a new one."""

from __future__ import annotations

import contextlib
import itertools
import os
import sqlite3
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from msgspec import Struct

from tuyere.logbook import fragments, head, migrations
from tuyere.logbook.errors import LogbookDamaged, LogbookMissing
from tuyere.logbook.fragments import ENTRY, INCIDENT, LINK, RECORD
from tuyere.logbook.lock import Lock, lock_path
from tuyere.logbook.logbook import Logbook
from tuyere.logbook.rows import Cook, Sound
from tuyere.logbook.sqlite_file import create, synced

NEWEST = 6000  # pages looked through for tonight's cook: some 25 MB, several cooks
SOME = 5000  # rows written at a time
OF_BOARDS = ("boards", "layouts", "boots", "pairs", "cores")


class Salvaged(Struct):
    """What a salvage brought back; `sound` says what is lost."""

    records: int
    cooks: int
    sound: Sound


class Carried(Struct):
    """What tonight's new logbook has of the damaged one; cook None: none was open, or it could not be read."""

    aside: Path
    cook: Cook | None
    records: int


def salvage(damaged: Path, target: Path) -> Salvaged:
    """Write what can be read of `damaged` into the new logbook `target`; `damaged` is only read.

    Records, entries and links keep their numbers, so that the old digests still show what is whole.
    """
    if not damaged.exists():
        raise LogbookMissing(f"there is no file {damaged}; give the damaged logbook")
    part = target.with_name(target.name + ".part")
    _forget(part)
    tables = fragments.tables(damaged)
    steps = [step for step in migrations.STEPS if step.__name__ in tables.steps] or list(migrations.STEPS)
    db = _new(part)
    with contextlib.closing(db):
        migrations.migrate(db, steps)
        held = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        db.execute("BEGIN")
        if LINK in held:
            db.execute(f"DELETE FROM {LINK}")
        entries: list[Any] = []
        for some in _portions(fragments.shaped(damaged)):
            for name, rows in some.items():
                if name in held:
                    _write(db, name, rows)
            entries += some.get(ENTRY, [])
        for name, its in fragments.joined(tables, entries).items():
            if name in held and name != INCIDENT:
                _insert(db, name, its)
        if "spans" in held:
            _count(db, only_new=True)
        if LINK in held and not db.execute(f"SELECT 1 FROM {LINK} WHERE id = 0").fetchone():
            first = db.execute(f"SELECT 1 FROM {LINK} LIMIT 1").fetchone()
            db.execute(
                f"INSERT INTO {LINK} VALUES (0, 1, 0, 1, 0, 0, x'', x'', ?)", (b"" if first else os.urandom(32),)
            )
        (records,) = db.execute("SELECT count(*) FROM records").fetchone()
        db.execute("COMMIT")
    with Logbook(part) as book:
        with book.together():
            _placeholders(book)
        book.incident("salvaged", file=damaged.name, cook=0, lost=0)
        sound, cooks = book.soundness.all(), len(book.cooks.all())
    if not records and not cooks:
        _forget(part)
        raise LogbookDamaged(f"nothing of a logbook could be read from {damaged}; bring back a backup")
    synced(part, target)
    _forget(part)
    return Salvaged(records, cooks, sound)


def set_aside(path: Path) -> Path:
    """Rename a damaged logbook, with its log and its head, to the first free name; returns it."""
    for number in itertools.count(1):
        aside = path.with_name(f"{path.stem}-damaged-{number}{path.suffix}")
        if not aside.exists():
            break
    os.replace(path, aside)
    for there, new in ((Path(f"{path}-wal"), Path(f"{aside}-wal")), (head.path_of(path), head.path_of(aside))):
        with contextlib.suppress(FileNotFoundError):
            os.replace(there, new)
    with contextlib.suppress(FileNotFoundError):
        os.unlink(f"{path}-shm")  # SQLite makes it again
    return aside


def carry_on(path: Path, now: int) -> Carried:
    """Set the damaged logbook at `path` aside and begin a new one with the cook that was open; `now` UTC ms.

    Its records, pieces, events, texts and alarms come along as far as they can be read. The board is then asked for
    the records that are missing.
    """
    lock = Lock(path)  # LogbookBusy if another engine is at it
    try:
        aside = set_aside(path)
    finally:
        lock.release()
    tables = fragments.tables(aside)
    records: dict[int, Any] = {}
    entries: list[Any] = []
    for name, row in fragments.shaped(aside, NEWEST):
        if name == RECORD:
            records[row[0]] = row
        elif name == ENTRY:
            entries.append(row)
    rows = fragments.joined(tables, entries)
    standing = max((row for row in rows.get("cooks", []) if row.get("ended") == 0), key=_id, default=None)
    cook = standing["id"] if standing else None
    with Logbook(path) as book, book.together():
        db = book.writing()
        db.execute("PRAGMA defer_foreign_keys = ON")
        for name, its in rows.items():
            if name in OF_BOARDS:
                _insert(db, name, its)
            elif cook is not None and name not in ("spans", INCIDENT):
                _insert(db, name, [row for row in its if row.get("id" if name == "cooks" else "cook") == cook])
        mine = [records[id] for id in sorted(records) if cook is not None and records[id][7] == cook]
        db.executemany(
            "INSERT OR IGNORE INTO records (board, boot, sequence, kind, at, bytes, cook) VALUES (?, ?, ?, ?, ?, ?, ?)",
            [row[1:] for row in mine],
        )
        _parents(db)
        _count(db, only_new=False)
        book.incident("salvaged", file=aside.name, cook=cook or 0, lost=0)
        found = book.cooks.get(cook) if cook is not None else None
        if found is not None:
            book.events.note_once(found.id, "logbook_set_aside", now, now, f"aside:{aside.name}", text=aside.name)
    return Carried(aside, found, len(mine))


def _id(row: dict[str, Any]) -> int:
    return row["id"] if isinstance(row.get("id"), int) else 0


def _portions(rows: Iterable[tuple[str, Any]]) -> Iterator[dict[str, list[Any]]]:
    some: dict[str, list[Any]] = {}
    for count, (name, row) in enumerate(rows, 1):
        some.setdefault(name, []).append(row)
        if count % SOME == 0:
            yield some
            some = {}
    yield some


def _write(db: sqlite3.Connection, name: str, rows: list[Any]) -> None:
    """Rows that begin with their id; of a record as many columns as the table has by now."""
    columns = [column for (column,) in db.execute("SELECT name FROM pragma_table_info(?)", (name,))]
    names, marks = ", ".join(columns), ", ".join("?" * len(columns))
    sql = f"INSERT OR IGNORE INTO {name} ({names}) VALUES ({marks})"
    db.executemany(sql, rows if len(rows[0]) == len(columns) else [row[: len(columns)] for row in rows])


def _parents(db: sqlite3.Connection) -> None:
    """Boards and boots whose rows are lost while a record, a boot or a cook names them."""
    db.execute(
        "INSERT OR IGNORE INTO boards (id, name) SELECT board, 'salvaged ' || board FROM "
        "(SELECT board FROM records UNION SELECT board FROM boots UNION SELECT board FROM cooks)"
    )
    db.execute("INSERT OR IGNORE INTO boots (board, boot) SELECT DISTINCT board, boot FROM records")


def _placeholders(book: Logbook) -> None:
    """Boards, boots and cooks whose rows are lost while their records are there, so that those can be reached."""
    db = book.writing()
    _parents(db)
    lost = "SELECT DISTINCT cook, board FROM spans WHERE cook NOT IN (SELECT id FROM cooks) ORDER BY cook"
    for cook, board in db.execute(lost).fetchall():
        db.execute(
            "INSERT OR IGNORE INTO cooks (id, name, started, board, simulated, ended) VALUES (?, ?, 1, ?, 0, 1)",
            (cook, f"cook {cook}, salvaged", board),
        )
        if times := book.reading.trend(cook).at:
            db.execute("UPDATE cooks SET started = ?, ended = ? WHERE id = ?", (times[0], times[-1], cook))


def _insert(db: sqlite3.Connection, name: str, rows: Iterable[dict[str, Any]]) -> None:
    """Rows as dicts, as far as they fit the table; what does not fit any more is left out."""
    columns = {column for (column,) in db.execute("SELECT name FROM pragma_table_info(?)", (name,))}
    for row in rows:
        its = {column: value for column, value in row.items() if column in columns}
        names, marks = ", ".join(its), ", ".join("?" * len(its))
        with contextlib.suppress(sqlite3.IntegrityError):
            db.execute(f"INSERT INTO {name} ({names}) VALUES ({marks})", list(its.values()))


def _count(db: sqlite3.Connection, *, only_new: bool) -> None:
    """What each cook has of each boot, from the records that are there; only_new: where nothing is known of it."""
    db.execute(
        f"""INSERT OR {"IGNORE" if only_new else "REPLACE"} INTO spans (cook, board, boot, first, last, records, cycles,
            states) SELECT cook, board, boot, min(sequence), max(sequence), count(*), sum(kind = 1), sum(kind = 2)
            FROM records WHERE cook IS NOT NULL GROUP BY cook, board, boot"""
    )


def _new(path: Path) -> sqlite3.Connection:
    create(path)
    db = sqlite3.connect(path, isolation_level=None)
    db.execute(f"PRAGMA application_id = {migrations.APPLICATION}")
    db.execute("PRAGMA synchronous = OFF")  # the file counts only once it has its name
    return db


def _forget(part: Path) -> None:
    logs = (Path(f"{part}{end}") for end in ("-wal", "-shm", "-journal"))
    for path in (part, *logs, lock_path(part), head.path_of(part)):
        path.unlink(missing_ok=True)

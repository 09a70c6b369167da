"""How the file came to its present shape: named steps, each in a transaction, names kept in the file.

A step that has been released is never edited; a new shape is a new step at the end.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Sequence

from tuyere.logbook import chain, old_sentences, views
from tuyere.logbook.said import pack

APPLICATION = 0x54555952  # "TUYR" in the file's header, so that a foreign file is known at sight


def boards_and_records(db: sqlite3.Connection) -> None:
    """What boards send: their hellos, their clocks and their records, byte for byte."""
    for statement in (
        "CREATE TABLE boards (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT",
        "CREATE TABLE layouts (id INTEGER PRIMARY KEY, json TEXT NOT NULL UNIQUE) STRICT",
        # id gives the order in which boots became known
        """CREATE TABLE boots (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            board INTEGER NOT NULL REFERENCES boards (id),
            boot INTEGER NOT NULL,
            seen INTEGER NOT NULL DEFAULT 0,
            firmware TEXT NOT NULL DEFAULT '',
            core TEXT NOT NULL DEFAULT '',
            layout INTEGER REFERENCES layouts (id),
            hello TEXT NOT NULL DEFAULT '',
            UNIQUE (board, boot)) STRICT""",
        """CREATE TABLE pairs (
            board INTEGER NOT NULL REFERENCES boards (id),
            boot INTEGER NOT NULL,
            at_ms INTEGER NOT NULL,
            utc_ms INTEGER NOT NULL,
            PRIMARY KEY (board, boot, at_ms)) STRICT, WITHOUT ROWID""",
        """CREATE TABLE records (
            id INTEGER PRIMARY KEY,
            board INTEGER NOT NULL,
            boot INTEGER NOT NULL,
            sequence INTEGER NOT NULL,
            kind INTEGER NOT NULL,
            at INTEGER NOT NULL,
            bytes BLOB NOT NULL,
            UNIQUE (board, boot, sequence)) STRICT""",
        # few among many cycles, and a replay begins at one
        "CREATE INDEX states ON records (board, boot, sequence) WHERE kind = 2",
        """CREATE TABLE gaps (
            board INTEGER NOT NULL REFERENCES boards (id),
            boot INTEGER NOT NULL,
            first INTEGER NOT NULL,
            last INTEGER NOT NULL CHECK (last >= first),
            cause TEXT NOT NULL,
            PRIMARY KEY (board, boot, first, last)) STRICT, WITHOUT ROWID""",
        "CREATE TABLE cores (hash TEXT PRIMARY KEY, files BLOB NOT NULL) STRICT, WITHOUT ROWID",
    ):
        db.execute(statement)


def cooks_and_events(db: sqlite3.Connection) -> None:
    """What people do: cooks, pieces, events, alarms; and which records and gaps belong to which cook."""
    for statement in (
        """CREATE TABLE cooks (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            name TEXT NOT NULL,
            started INTEGER NOT NULL,
            board INTEGER NOT NULL REFERENCES boards (id),
            simulated INTEGER NOT NULL,
            ended INTEGER NOT NULL DEFAULT 0,
            meat_on INTEGER NOT NULL DEFAULT 0) STRICT""",
        "ALTER TABLE records ADD COLUMN cook INTEGER",
        "ALTER TABLE gaps ADD COLUMN cook INTEGER",
        # what a cook has of each boot, counted as it is stored: spares every reader a walk through all records
        """CREATE TABLE spans (
            cook INTEGER NOT NULL REFERENCES cooks (id),
            board INTEGER NOT NULL,
            boot INTEGER NOT NULL,
            first INTEGER NOT NULL,
            last INTEGER NOT NULL,
            records INTEGER NOT NULL,
            cycles INTEGER NOT NULL,
            states INTEGER NOT NULL,
            PRIMARY KEY (cook, board, boot)) STRICT, WITHOUT ROWID""",
        """CREATE TABLE pieces (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            cook INTEGER NOT NULL REFERENCES cooks (id),
            name TEXT NOT NULL,
            cut TEXT NOT NULL DEFAULT '',
            mass REAL,
            probe INTEGER NOT NULL DEFAULT 0,
            place TEXT NOT NULL DEFAULT 'pit',
            shade INTEGER,
            shade_at INTEGER NOT NULL DEFAULT 0,
            wrap TEXT NOT NULL DEFAULT '',
            on_at INTEGER NOT NULL DEFAULT 0,
            hand REAL,
            hand_at INTEGER NOT NULL DEFAULT 0) STRICT""",
        """CREATE TABLE events (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            cook INTEGER NOT NULL REFERENCES cooks (id),
            at INTEGER NOT NULL,
            noted INTEGER NOT NULL,
            kind TEXT NOT NULL,
            piece INTEGER NOT NULL DEFAULT 0,
            value REAL,
            text TEXT NOT NULL DEFAULT '') STRICT""",
        "CREATE INDEX events_of_cook ON events (cook, at)",
        """CREATE TABLE alarms (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            cook INTEGER REFERENCES cooks (id),
            raised INTEGER NOT NULL,
            level TEXT NOT NULL,
            what TEXT NOT NULL,
            why TEXT NOT NULL,
            checks TEXT NOT NULL,
            acknowledged INTEGER NOT NULL DEFAULT 0,
            shelved INTEGER NOT NULL DEFAULT 0,
            cleared INTEGER NOT NULL DEFAULT 0) STRICT""",
        "CREATE INDEX alarms_of_cook ON alarms (cook, raised)",
        # names of phases and the like: the board knows only numbers
        """CREATE TABLE texts (
            cook INTEGER NOT NULL REFERENCES cooks (id),
            name TEXT NOT NULL,
            text TEXT NOT NULL,
            PRIMARY KEY (cook, name)) STRICT, WITHOUT ROWID""",
    ):
        db.execute(statement)


def events_of_the_board(db: sqlite3.Connection) -> None:
    """Events read from the board's records, each once however often they are read; notes that were withdrawn."""
    for statement in (
        "ALTER TABLE events ADD COLUMN source TEXT NOT NULL DEFAULT ''",  # '' a person, else the record it comes from
        "ALTER TABLE events ADD COLUMN withdrawn INTEGER NOT NULL DEFAULT 0",
        "CREATE UNIQUE INDEX events_once ON events (cook, source, kind) WHERE source <> ''",
    ):
        db.execute(statement)


def details_of_pieces(db: sqlite3.Connection) -> None:
    """What a forecast wants to know of a piece; a piece from before has what is usual."""
    for statement in (
        "ALTER TABLE pieces ADD COLUMN flat REAL",  # thickness, m; NULL not measured
        "ALTER TABLE pieces ADD COLUMN point REAL",
        "ALTER TABLE pieces ADD COLUMN start REAL",  # C as it went on; NULL not taken
        "ALTER TABLE pieces ADD COLUMN intact INTEGER NOT NULL DEFAULT 1",
        "ALTER TABLE pieces ADD COLUMN target REAL NOT NULL DEFAULT 95.5",
        "ALTER TABLE pieces ADD COLUMN wanted_shade REAL NOT NULL DEFAULT 8.0",
        "ALTER TABLE pieces ADD COLUMN wrap_with TEXT NOT NULL DEFAULT 'paper'",
    ):
        db.execute(statement)


def forecasts_shown(db: sqlite3.Connection) -> None:
    """Every forecast that was shown, so that it can be judged by what came; piece 0 is the pit."""
    db.execute(
        """CREATE TABLE forecasts (
            cook INTEGER NOT NULL REFERENCES cooks (id),
            piece INTEGER NOT NULL,
            kind TEXT NOT NULL,
            at INTEGER NOT NULL,
            early INTEGER NOT NULL,
            likely INTEGER NOT NULL,
            late INTEGER NOT NULL,
            PRIMARY KEY (cook, piece, kind, at)) STRICT, WITHOUT ROWID"""
    )


def cuts_of_power(db: sqlite3.Connection) -> None:
    """Boots that ended with records in the board's RAM: how many is known only within bounds."""
    db.execute(
        """CREATE TABLE cuts (
            board INTEGER NOT NULL REFERENCES boards (id),
            boot INTEGER NOT NULL,
            reached INTEGER NOT NULL,
            least INTEGER NOT NULL,
            most INTEGER NOT NULL,
            cook INTEGER,
            PRIMARY KEY (board, boot)) STRICT, WITHOUT ROWID"""
    )


def typed_text(db: sqlite3.Connection) -> None:
    """Alarms know their cause by a code; what was said becomes typed text, so that each reader has their own units."""
    db.execute("ALTER TABLE alarms ADD COLUMN code TEXT NOT NULL DEFAULT ''")
    db.execute("ALTER TABLE events ADD COLUMN said TEXT NOT NULL DEFAULT ''")  # JSON of what no person wrote, or ''
    for id, what, why, checks in db.execute("SELECT id, what, why, checks FROM alarms").fetchall():
        new = (
            old_sentences.CODES.get(what, old_sentences.OTHER),
            pack(old_sentences.convert(what)),
            pack(old_sentences.convert(why)),
            pack([old_sentences.convert(check) for check in json.loads(checks)]),
        )
        db.execute("UPDATE alarms SET code = ?, what = ?, why = ?, checks = ? WHERE id = ?", (*new, id))
    for id, words in db.execute("SELECT id, text FROM events WHERE source <> '' AND text <> ''").fetchall():
        said = old_sentences.convert(words)
        if not isinstance(said, str):
            db.execute("UPDATE events SET text = '', said = ? WHERE id = ?", (pack(said), id))


def doubtful_clocks(db: sqlite3.Connection) -> None:
    """Boots whose times are estimates in spite of their pairs: the computer's clock was changed, by an unknown time."""
    db.execute("ALTER TABLE boots ADD COLUMN doubtful INTEGER NOT NULL DEFAULT 0")


def chained(db: sqlite3.Connection) -> None:
    """The chain of digests. What the file holds already is chained from now on; an incident says so."""
    chain.begin(db)


def origins(db: sqlite3.Connection) -> None:
    """Where a cook's log comes from: "" our own board, "import" another logbook, "foreign" another program. And the
    view for those who analyse."""
    db.execute("ALTER TABLE cooks ADD COLUMN origin TEXT NOT NULL DEFAULT ''")
    views.make(db)


def calls_made(db: sqlite3.Connection) -> None:
    """Every step in the life of every call: what a restarted engine goes on from, and what the morning reads."""
    for statement in (
        """CREATE TABLE calls (
            id INTEGER PRIMARY KEY AUTOINCREMENT,
            cook INTEGER REFERENCES cooks (id),
            code TEXT NOT NULL,
            alarm INTEGER NOT NULL,
            step TEXT NOT NULL,
            at INTEGER NOT NULL,
            wall INTEGER NOT NULL,
            route TEXT NOT NULL,
            attempt TEXT NOT NULL,
            words TEXT NOT NULL) STRICT""",
        "CREATE INDEX calls_of_cook ON calls (cook, id)",
        "CREATE INDEX calls_of_route ON calls (route, step, id) WHERE route <> ''",
    ):
        db.execute(statement)


def places_of_pieces(db: sqlite3.Connection) -> None:
    """Pieces that are held, felt for, divided. A piece from before has none of it."""
    for statement in (
        "ALTER TABLE pieces ADD COLUMN held INTEGER NOT NULL DEFAULT 0",
        "ALTER TABLE pieces ADD COLUMN oven REAL",  # C; NULL not held in an oven
        "ALTER TABLE pieces ADD COLUMN tender_at INTEGER NOT NULL DEFAULT 0",
        "ALTER TABLE pieces ADD COLUMN not_tender_at INTEGER NOT NULL DEFAULT 0",
        "ALTER TABLE pieces ADD COLUMN part_of INTEGER NOT NULL DEFAULT 0",  # no key: an import renumbers pieces
        "ALTER TABLE pieces ADD COLUMN parted_at INTEGER NOT NULL DEFAULT 0",
    ):
        db.execute(statement)


Step = Callable[[sqlite3.Connection], None]
STEPS: tuple[Step, ...] = (
    boards_and_records, cooks_and_events, events_of_the_board, details_of_pieces, forecasts_shown,
    cuts_of_power, typed_text, doubtful_clocks, chained, origins, calls_made, places_of_pieces,
)  # fmt: skip


def done(db: sqlite3.Connection) -> list[str]:
    """Names of the steps this file has been through, in order; empty for a new file."""
    if not db.execute("SELECT 1 FROM sqlite_master WHERE name = 'migrations'").fetchone():
        return []
    return [name for (name,) in db.execute("SELECT name FROM migrations ORDER BY number")]


def unknown(db: sqlite3.Connection) -> list[str]:
    """Names in the file that this program does not know: a later one wrote it."""
    known = {step.__name__ for step in STEPS}
    return [name for name in done(db) if name not in known]


def pending(db: sqlite3.Connection) -> list[Step]:
    """Steps this file has still before it."""
    past = set(done(db))
    return [step for step in STEPS if step.__name__ not in past]


def migrate(
    db: sqlite3.Connection, steps: Sequence[Step] | None = None, follow: chain.Chain | None = None
) -> list[str]:
    """Run what is pending (or the given steps), each whole or not at all; returns the names run.

    follow: the chain that takes the changes in.
    """
    run = []
    for step in pending(db) if steps is None else steps:
        db.execute("BEGIN IMMEDIATE")
        try:
            db.execute(
                "CREATE TABLE IF NOT EXISTS migrations (number INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT"
            )
            step(db)
            db.execute("INSERT INTO migrations (name) VALUES (?)", (step.__name__,))
            if follow is not None:
                follow.start()
                follow.seal()
            db.execute("COMMIT")
            if follow is not None:
                follow.committed()
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise
        run.append(step.__name__)
    return run

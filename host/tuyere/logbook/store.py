"""The connection to the file: opening it without harm, transactions, and the chain of what is written."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import threading
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from tuyere import paths
from tuyere.logbook import backup, head, migrations
from tuyere.logbook.chain import Chain
from tuyere.logbook.errors import (
    BadEntry,
    LogbookBusy,
    LogbookDamaged,
    LogbookError,
    LogbookGone,
    LogbookMissing,
    LogbookNewer,
    LogbookOld,
    LogbookTaken,
    NotWritable,
)
from tuyere.logbook.lock import Lock
from tuyere.logbook.sqlite_file import ERRORS, create, in_words, look

BUSY_MS = 5000  # readers and checkpoints take far less


def _text(data: bytes) -> str:
    """Decodes a text of the file. A damaged letter is replaced, so that the rest of the row stays readable."""
    return data.decode("utf-8", "replace")


class Store:
    """One connection, usable from several threads; one transaction at a time."""

    def __init__(self, path: Path, *, owner: bool = True) -> None:
        self.path = Path(path).absolute()
        self.owner = owner
        self._guard = threading.RLock()
        self._depth = 0
        self._lock: Lock | None = None
        self.damaged = ""  # what SQLite said of a damaged page, once it met one
        self.chain: Chain | None = None  # of the owner
        self._head: head.HeadFile | None = None
        if owner:
            try:
                self.path.parent.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise NotWritable(
                    f"the folder {self.path.parent} for the logbook cannot be made ({error.strerror}); "
                    "point TUYERE_HOME to another folder"
                ) from error
            self._lock = Lock(self.path)
        try:
            self.db = self._open()
            self._remember()
        except BaseException:
            if self._lock:
                self._lock.release()
            raise

    # -- is the file still at its path -----------------------------------------------------------

    def _remember(self) -> None:
        """Note which files are open. Before anything counts as stored, they must still be at these paths."""
        self._file, self._log = paths.identity(self.path), paths.identity(self._log_path)

    @property
    def _log_path(self) -> Path:
        return Path(f"{self.path}-wal")  # a part of the file: https://www.sqlite.org/wal.html

    def must_be_there(self) -> None:
        """LogbookGone unless the open file is the one at its path.

        A lock or a write-ahead log that somebody took away from beside it is made again.
        """
        if not self.owner:
            return
        with self._guard:
            if paths.identity(self.path) != self._file:
                raise LogbookGone(
                    f"the logbook {self.path} was moved, deleted or replaced while the engine writes to it; "
                    "nothing more is stored or taken from the board until it is back at its place"
                )
            if self._lock is not None and not self._lock.stands:
                try:
                    lock = Lock(self.path)
                except LogbookBusy as error:
                    raise LogbookTaken(f"another engine has taken over the logbook {self.path}") from error
                self._lock.release()
                self._lock = lock
            if paths.identity(self._log_path) != self._log and not self._depth:
                self.db.close()  # this writes what the lost log holds into the file
                self.db = self._open()
                self._remember()

    # -- opening ---------------------------------------------------------------

    def _connect(self, how: str) -> sqlite3.Connection:
        db = sqlite3.connect(
            f"{self.path.as_uri()}?{how}",
            uri=True,
            isolation_level=None,  # we begin and commit ourselves
            check_same_thread=False,  # _guard allows one thread at a time
            timeout=BUSY_MS / 1000,
        )
        db.text_factory = _text
        db.execute("PRAGMA foreign_keys = ON")
        return db

    def _open(self) -> sqlite3.Connection:
        exists = look(self.path)
        db: sqlite3.Connection | None = None
        try:
            if self.owner:
                create(self.path)
                db = self._connect("mode=rw")
                if not exists:
                    # before WAL, so that it is in the file and not only in its log
                    db.execute(f"PRAGMA application_id = {migrations.APPLICATION}")
            else:
                db = self._reader() if exists else None
                if db is None or not migrations.done(db):  # an owner may be creating it right now
                    raise LogbookMissing(f"there is no logbook at {self.path} yet; `tuyere watch` begins one")
            later = migrations.unknown(db)
            if later:
                raise LogbookNewer(
                    f"the logbook {self.path} was written by a later version of Tuyere "
                    f"(it has been through {later[0]}); update this one, the file was left as it is"
                )
            if self.owner:
                db.execute("PRAGMA journal_mode = WAL")
                db.execute("PRAGMA synchronous = FULL")  # what is committed is on the disk
                db.execute("PRAGMA temp_store = MEMORY")
                self._follow(db)
            elif migrations.pending(db):
                db.close()
                db = self._after_owner()
            self._touch(db)
            return db
        except ERRORS as error:
            if db:
                db.close()
            raise in_words(self.path, error) from error
        except BaseException:
            if db:
                db.close()
            raise

    def _follow(self, db: sqlite3.Connection) -> None:
        """Run pending migrations and continue the chain."""
        pending = migrations.pending(db)
        if pending and migrations.done(db):
            backup.before(self.path, pending[0].__name__)
        self.chain = chain = Chain(db)
        chain.start()
        migrations.migrate(db, follow=chain)
        outside = head.read(self.path)
        db.execute("BEGIN IMMEDIATE")
        try:
            chain.meet(outside)
            chain.seal()
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise
        chain.committed()
        (book,) = db.execute("SELECT digest FROM links WHERE id = 0").fetchone()
        self._head = head.HeadFile(self.path, book, outside.turn if outside else 0)
        if chain.tip is not None:
            self._head.write(chain.tip.link)

    def _reader(self) -> sqlite3.Connection:
        """Open read-only. This also works in a folder that cannot be written, if no write-ahead log is left there."""
        db = self._connect("mode=ro")
        try:
            db.execute("SELECT count(*) FROM sqlite_master").fetchone()
            return db
        except sqlite3.OperationalError:
            db.close()
            if os.path.exists(f"{self.path}-wal"):
                raise
            return self._connect("mode=ro&immutable=1")

    def _after_owner(self) -> sqlite3.Connection:
        """Own the file for a moment to run its migrations, then open it for reading."""
        try:
            Store(self.path).close()
        except LogbookBusy as error:
            raise LogbookOld(
                f"the logbook {self.path} is in the hands of an engine of an earlier version; end that engine first"
            ) from error
        return self._reader()

    def _touch(self, db: sqlite3.Connection) -> None:
        """Read the ends of the main tables, so that damage there shows at once."""
        db.execute("SELECT * FROM records ORDER BY id DESC LIMIT 1").fetchall()
        db.execute("SELECT board, boot, sequence FROM records ORDER BY board DESC, boot DESC, sequence DESC LIMIT 1")
        db.execute("SELECT * FROM cooks").fetchall()
        db.execute("SELECT * FROM boots").fetchall()

    def close(self) -> None:
        """Close the file and give the lock back; a second close does nothing."""
        with self._guard:
            self.db.close()
            if self._lock:
                self._lock.release()
                self._lock = None

    def check(self) -> list[str]:
        """What SQLite finds broken in the whole file; empty when sound. Slow on big files."""
        rows = self.rows("PRAGMA quick_check")
        return [str(row[0]) for row in rows if row[0] != "ok"]

    @property
    def chain_of_owner(self) -> Chain:
        """The chain, of one who may write."""
        if self.chain is None:
            raise NotWritable(f"the logbook {self.path} was opened for reading only; writing is the engine's job")
        return self.chain

    # -- transactions ------------------------------------------------------------

    @contextlib.contextmanager
    def together(self) -> Iterator[None]:
        """Everything written inside is stored together, durably, or not at all. May be nested.

        Other threads wait meanwhile; so in a coroutine never `await` inside.
        """
        if not self.owner:
            raise NotWritable(f"the logbook {self.path} was opened for reading only; writing is the engine's job")
        with self._guard:
            if not self._depth:
                self.must_be_there()
            with self._begin("BEGIN IMMEDIATE", self.chain):
                yield

    @contextlib.contextmanager
    def _begin(self, how: str, chain: Chain | None = None) -> Iterator[None]:
        with self._guard, self.told():
            point = f"p{self._depth}"
            self.db.execute(f"SAVEPOINT {point}" if self._depth else how)
            self._depth += 1
            try:
                yield
                if chain and self._depth == 1:
                    chain.seal()
            except BaseException:
                self._depth -= 1
                if self.db.in_transaction:  # a full disk may have rolled back already
                    self.db.execute(f"ROLLBACK TO {point}" if self._depth else "ROLLBACK")
                if chain and not self._depth:
                    chain.undone()
                raise
            self._depth -= 1
            try:
                self.db.execute(f"RELEASE {point}" if self._depth else "COMMIT")
            except BaseException:
                if not self._depth:
                    if self.db.in_transaction:
                        self.db.execute("ROLLBACK")
                    if chain:
                        chain.undone()
                raise
            if chain and not self._depth and (link := chain.committed()) and self._head:
                self._head.write(link)

    def still(self) -> contextlib.AbstractContextManager[None]:
        """A context in which all reads see the same state of the file."""
        return self._begin("BEGIN")

    @contextlib.contextmanager
    def told(self) -> Iterator[None]:
        """Raise errors of SQLite as ours. A message about damage is also kept in `damaged`."""
        try:
            yield
        except ERRORS as error:
            said = in_words(self.path, error)
            if isinstance(said, LogbookDamaged):
                self.damaged = str(said)
            raise said from error

    def broken(self, what: str) -> LogbookError:
        """What to raise where SQLite gave what was never written; also kept in `damaged`."""
        error = sqlite3.DatabaseError(f"{what} is not as it was written")
        error.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
        said = in_words(self.path, error)
        self.damaged = str(said)
        return said

    def next_record(self) -> int:
        """The id of the next record: one past any that was ever chained, so that a link never covers two records of
        one id."""
        chained = self.chain.tip.link.last_record if self.chain and self.chain.tip else 0
        newest: int = self.row("SELECT coalesce(max(id), 0) FROM records")[0]
        return max(chained, newest) + 1

    def rows(self, sql: str, args: Sequence[Any] = ()) -> list[Any]:
        with self._guard, self.told():
            return self.db.execute(sql, args).fetchall()

    def row(self, sql: str, args: Sequence[Any] = ()) -> Any:
        with self._guard, self.told():
            return self.db.execute(sql, args).fetchone()

    def insert(self, sql: str, args: Sequence[Any] = ()) -> int:
        """One row in its own transaction (or the one around it); returns its id."""
        with self.together():
            return int(self.db.execute(sql, args).lastrowid or 0)

    def change(self, table: str, allowed: dict[str, Callable[[Any], Any]], number: int, fields: dict[str, Any]) -> int:
        """Set some columns of one row; returns how many rows that was."""
        unknown = [name for name in fields if name not in allowed]
        if unknown:
            raise BadEntry(f'there is no "{unknown[0]}" to set; there are {", ".join(allowed)}')
        if not fields:
            return len(self.rows(f"SELECT id FROM {table} WHERE id = ?", (number,)))
        values = [allowed[name](value) for name, value in fields.items()]
        with self.together():
            sets = ", ".join(f"{name} = ?" for name in fields)
            return self.db.execute(f"UPDATE {table} SET {sets} WHERE id = ?", (*values, number)).rowcount

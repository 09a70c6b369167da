"""The file under the logbook: what lies at its path, new files, and SQLite's errors in plain words."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from pathlib import Path

from tuyere import paths
from tuyere.logbook import migrations
from tuyere.logbook.errors import (
    DiskFull,
    LogbookBusy,
    LogbookDamaged,
    LogbookError,
    NotALogbook,
    NotWritable,
)  # fmt: skip

MAGIC = b"SQLite format 3\x00"  # https://www.sqlite.org/fileformat2.html, section 1.3.1
APPLICATION_AT = 68  # same page, section 1.3: the application id, four bytes big-endian


ERRORS = (sqlite3.Error, UnicodeDecodeError)  # the second: SQLite's message repeats a damaged name


def in_words(path: Path, error: Exception) -> LogbookError:
    """An error of SQLite as one of ours (result codes: https://www.sqlite.org/rescode.html)."""
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
    if isinstance(error, UnicodeDecodeError):
        code, error = sqlite3.SQLITE_CORRUPT, ValueError("a name in it is no text")
    if code == sqlite3.SQLITE_FULL:
        return DiskFull(
            f"the disk of the logbook {path} is full and nothing of this batch was stored; "
            "free some space, the board keeps its records meanwhile"
        )
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH):
        return NotWritable(
            f"the logbook {path} or its folder cannot be written ({error}); "
            "change its permissions, or point TUYERE_HOME to another folder"
        )
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return LogbookBusy(f"the logbook {path} is kept locked by another program; close that one and try again")
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return LogbookDamaged(
            f"the logbook {path} is damaged ({error}); it was left as it is: "
            "`tuyere log salvage` writes what can be read of it into a new file, or bring back a backup"
        )
    if code == sqlite3.SQLITE_IOERR:
        return LogbookError(f"the disk failed under the logbook {path} ({error}); check the disk and free space on it")
    return LogbookError(f"the logbook {path} could not do that: {error}")


def create(path: Path) -> None:
    """Make an empty file that only its user can read, whatever the umask; one that is there stays. SQLite gives its
    log the same mode."""
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, paths.PRIVATE))


def synced(part: Path, target: Path) -> None:
    """Give a finished file its name, once it is on the disk."""
    with open(part, "rb+") as file:
        os.fsync(file.fileno())
    os.replace(part, target)
    if os.name == "posix":
        handle = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def look(path: Path) -> bool:
    """Whether a logbook is at this path; False for no file or an empty one. NotALogbook for another file."""
    try:
        with open(path, "rb") as file:
            head = file.read(100)
    except FileNotFoundError:
        return False
    except IsADirectoryError as error:
        raise NotALogbook(f"{path} is a folder where the logbook should be; move it away") from error
    except OSError as error:
        raise NotWritable(
            f"the logbook {path} cannot be read ({error.strerror}); "
            "change its permissions, or point TUYERE_HOME to another folder"
        ) from error
    if not head:
        return False
    foreign = NotALogbook(
        f"{path} is not a logbook of this program, or its first page is damaged; "
        "it was left as it is: move it away to begin a new one, or bring back a backup"
    )
    if head[:16] != MAGIC:
        raise foreign
    if int.from_bytes(head[APPLICATION_AT : APPLICATION_AT + 4], "big") == migrations.APPLICATION:
        return True
    try:
        with contextlib.closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as db:
            if db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                raise foreign
    except ERRORS as error:
        raise in_words(path, error) from error
    return False

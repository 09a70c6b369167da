"""Copies of the logbook by SQLite's online backup, while it is written to: https://www.sqlite.org/backup.html"""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

from tuyere import paths
from tuyere.logbook import digests
from tuyere.logbook.errors import DiskFull, LogbookError, LogbookMissing, NotWritable
from tuyere.logbook.sqlite_file import create, in_words, look, synced

KEEP = 3  # daily copies
SPARE = 200 << 20  # bytes that a copy leaves free on the disk
DAILY = "logbook-????-??-??.sqlite"


def folder(logbook: Path) -> Path:
    """Where the automatic copies lie."""
    return logbook.parent / "backups"


def copy(logbook: Path, target: Path) -> Path:
    """Copy the logbook as it is at this moment; `target` is whole or not there. Returns it."""
    if not look(logbook):
        raise LogbookMissing(f"there is no logbook at {logbook} to copy")
    part = target.with_name(target.name + ".part")
    part.unlink(missing_ok=True)
    try:
        create(part)
        with (
            contextlib.closing(sqlite3.connect(f"{logbook.as_uri()}?mode=ro", uri=True)) as source,
            contextlib.closing(sqlite3.connect(part, isolation_level=None)) as made,
        ):
            made.execute("PRAGMA synchronous = OFF")  # it is flushed before it gets its name
            source.backup(made)  # in one step, so that a writer does not make it begin again
            made.execute("PRAGMA journal_mode = DELETE")
            newest = digests.newest(made)
            if newest is not None and newest.id and digests.load_digest(made, newest) != newest.digest:
                raise LogbookError(f"the copy of {logbook} does not end as the chain says; check it with `log check`")
        synced(part, target)
    except sqlite3.Error as error:
        raise in_words(logbook, error) from error
    except OSError as error:
        raise NotWritable(f"the backup {target} cannot be written ({error.strerror}); give another place") from error
    finally:
        part.unlink(missing_ok=True)
    return target


def before(logbook: Path, step: str) -> Path:
    """A copy before the file is brought up to date with `step`; one that is there already stays."""
    target = folder(logbook) / f"logbook-before-{step}.sqlite"
    if target.exists():
        return target
    _room(logbook)
    return copy(logbook, target)


def due(logbook: Path, now: int) -> Path | None:
    """Where today's copy goes, by UTC; None if it is there, or nothing was stored since the newest copy."""
    target = folder(logbook) / f"logbook-{datetime.fromtimestamp(now / 1000, UTC):%Y-%m-%d}.sqlite"
    if target.exists() or not look(logbook):
        return None
    copies = sorted(folder(logbook).glob(DAILY))
    return target if not copies or _head(copies[-1]) != _head(logbook) else None


def daily(logbook: Path, now: int) -> Path | None:
    """Today's copy, if it is due; the oldest beyond KEEP are deleted."""
    target = due(logbook, now)
    if target is None:
        return None
    _room(logbook)
    copy(logbook, target)
    for old in sorted(folder(logbook).glob(DAILY))[:-KEEP]:
        old.unlink(missing_ok=True)
    return target


def _room(logbook: Path) -> None:
    paths.ensure(folder(logbook))
    need = logbook.stat().st_size + SPARE
    free = shutil.disk_usage(folder(logbook)).free
    if free < need:
        raise DiskFull(
            f"no backup of {logbook}: {free >> 20:,} MB are free and {need >> 20:,} MB are needed; free some space"
        )


def _head(logbook: Path) -> bytes | None:
    try:
        with contextlib.closing(sqlite3.connect(f"{logbook.as_uri()}?mode=ro", uri=True)) as db:
            newest = digests.newest(db)
    except sqlite3.Error:
        return None
    return newest.digest if newest else None

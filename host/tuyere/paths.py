"""Where Tuyere keeps its files: one folder, TUYERE_HOME or the user's data directory."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import platformdirs

PRIVATE = 0o600  # mode of new files: the user's alone


def private(path: str, flags: int) -> int:
    """An `opener` for `open`: a new file can be read by its user only, whatever the umask."""
    return os.open(path, flags, PRIVATE)


def home() -> Path:
    """The folder of this user's logbook: $TUYERE_HOME if set, else the platform's data directory.

    OSError if it names a user who is not there, or its name is no UTF-8.
    """
    chosen = os.environ.get("TUYERE_HOME", "").strip()
    try:
        found = Path(chosen).expanduser()
    except RuntimeError:  # "~name" of a user that is not there
        raise FileNotFoundError(errno.ENOENT, "there is no such user", chosen) from None
    if any("\ud800" <= letter <= "\udfff" for letter in chosen):  # it could not be written in a log or a message
        raise OSError(errno.EILSEQ, "its name is not UTF-8", chosen)
    return found.absolute() if chosen else Path(platformdirs.user_data_dir("tuyere", False))


def ensure(folder: Path) -> Path:
    """Make the folder, readable by its owner only, and return it."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder


def identity(file: Path | int) -> tuple[int, int] | None:
    """Device and inode of a file, by its path or descriptor: the same for the same file only. None if it is gone."""
    try:
        found = os.stat(file)
    except OSError:
        return None
    return found.st_dev, found.st_ino


def logbook_path(folder: Path) -> Path:
    """The logbook (SQLite)."""
    return folder / "logbook.sqlite"


def engine_file(folder: Path) -> Path:
    """Port, token and pid of the running engine; only its owner can read it."""
    return folder / "engine.json"


def wake_file(folder: Path) -> Path:
    """Who is called, and how; it holds secrets, so only its owner can read it."""
    return folder / "wake.json"


def sent_folder(folder: Path) -> Path:
    """What became of each sending of a call, one file each, until the engine has read it."""
    return folder / "sent"


def twin_file(folder: Path) -> Path:
    """What the running twin says of itself; it holds a lock on this file while it lives."""
    return folder / "twin.json"


def engine_log(folder: Path) -> Path:
    """What the engine has to say."""
    return folder / "engine.log"


def twin_log(folder: Path) -> Path:
    """What the twin has to say."""
    return folder / "twin.log"

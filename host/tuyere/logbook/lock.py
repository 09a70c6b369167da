"""One owner per logbook: a lock of the operating system. It is released when its process ends, in any way."""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path

from tuyere import paths
from tuyere.logbook.errors import LogbookBusy, NotWritable

if sys.platform == "win32":
    import msvcrt

    def _take(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


def lock_path(logbook: Path) -> Path:
    """The file that is locked."""
    return logbook.with_name(logbook.name + ".lock")


def holder(logbook: Path) -> int:
    """The number of the process that took the lock last, 0 if unknown. That process may have ended."""
    try:
        with open(lock_path(logbook), "rb") as file:
            text = file.read(32).strip()
    except OSError:
        return 0
    return int(text) if text.isdigit() else 0


class Lock:
    """Held from construction to `release`. Raises LogbookBusy if somebody else holds it."""

    def __init__(self, logbook: Path) -> None:
        self._path = path = lock_path(logbook)
        try:
            self._descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            what = f"the lock {path}" if os.path.exists(path) else f"the logbook folder {logbook.parent}"
            raise NotWritable(
                f"{what} cannot be written ({error.strerror}); "
                "change its permissions, or point TUYERE_HOME to another folder"
            ) from error
        try:
            _take(self._descriptor)
        except OSError as error:
            os.close(self._descriptor)
            raise LogbookBusy(
                f"another engine already owns the logbook {logbook}; "
                "use `tuyere watch` to attach to it, or end it with `tuyere keep --end`"
            ) from error
        with contextlib.suppress(OSError):  # for information only; a full disk does not matter
            os.ftruncate(self._descriptor, 0)
            # Windows locks the first byte against readers
            os.write(self._descriptor, f" {os.getpid()}\n".encode())

    @property
    def stands(self) -> bool:
        """Whether the locked file is still at its path. If not, a second owner could lock a new file there."""
        return paths.identity(self._descriptor) == paths.identity(self._path)

    def release(self) -> None:
        """Release the lock. The file stays: without it two owners could lock two files of one name."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1

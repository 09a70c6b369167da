"""One owner per logbook: a lock of the operating system, which ends with its process however that ends."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from tuyere.logbook.errors import LogbookBusy, NotWritable

if sys.platform == "win32":
    import msvcrt

    def _take(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


class Lock:
    """Held from construction to `release`. Raises LogbookBusy if somebody else holds it."""

    def __init__(self, logbook: Path) -> None:
        path = logbook.with_name(logbook.name + ".lock")
        try:
            self._descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise NotWritable(
                f"the logbook folder {logbook.parent} cannot be written ({error.strerror}); "
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

    def release(self) -> None:
        """Give the lock back. The file stays: removing it would let two owners lock two files of one name."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1

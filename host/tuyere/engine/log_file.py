"""The engine's log file is bounded: what grows too long becomes the one before it."""

from __future__ import annotations

import contextlib
import os
import shutil
from pathlib import Path

from tuyere import paths

MOST = 1 << 20  # bytes; twice as many are kept


def rotate(file: Path) -> None:
    """Move a log that is too long to "name.1", and go on with an empty one.

    Copied and cut, not renamed: processes have the file open as their standard error and append to it. A disk that
    refuses does not matter to the night.
    """
    with contextlib.suppress(OSError):
        if file.stat().st_size <= MOST:
            return
        old = file.with_name(file.name + ".1")
        with open(file, "rb") as now, open(old, "wb", opener=paths.private) as kept:
            shutil.copyfileobj(now, kept)
        os.truncate(file, 0)

"""What no one foresaw: its details go to a file, and a person gets one sentence."""

from __future__ import annotations

import contextlib
import os
import tempfile
import traceback
from datetime import datetime
from pathlib import Path

from tuyere import paths

NAME = "unexpected.log"


def keep(home: Path, error: BaseException, doing: str) -> str:
    """Write the traceback to a file in this home, else among the temporary files; the sentence to show."""
    words = " ".join(str(error).split())
    what = f"{type(error).__name__}: {words}" if words else type(error).__name__
    where = _write(home, f"{datetime.now():%Y-%m-%d %H:%M:%S} {doing}\n" + "".join(traceback.format_exception(error)))
    kept = f"the details are in {where}: send them in with what you did" if where else "the details could not be kept"
    return f"{doing} failed in a way that was not foreseen ({what}); {kept}"


def of_system(error: OSError) -> str:
    """A file or folder that cannot be used, as one sentence."""
    what = os.fsdecode(error.filename) if isinstance(error.filename, str | bytes) else "a file"
    return (
        f"{what} cannot be used ({error.strerror or error}): look at its permissions and at the space on its disk, "
        "or set TUYERE_HOME to another folder"
    )


def _write(home: Path, text: str) -> str:
    with (
        contextlib.suppress(OSError),
        open(home / NAME, "a", encoding="utf-8", errors="backslashreplace", opener=paths.private) as out,
    ):
        out.write(text)
        return str(home / NAME)
    with contextlib.suppress(OSError):
        handle, name = tempfile.mkstemp(prefix="tuyere-", suffix=".log")
        with open(handle, "w", encoding="utf-8", errors="backslashreplace") as out:
            out.write(text)
        return name
    return ""

"""A command as a person runs it: in a real pseudo-terminal, or as a user whom permissions bind."""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import select
import shutil
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

WITHIN = 45.0  # s; a loaded machine is slow, not wrong


def environment(home: Path | str) -> dict[str, str]:
    """Ours, with this home and a plain terminal."""
    return {**os.environ, "TUYERE_HOME": str(home), "TERM": "xterm-256color", "LANG": "C.UTF-8", "NO_COLOR": "1"}


def bound(command: list[str], home: Path | str, within: float = WITHIN) -> subprocess.CompletedProcess[str]:
    """Run it to its end with nobody at the keyboard. Root passes all permissions by: that power is given up first."""
    if os.geteuid() == 0:
        if shutil.which("setpriv") is None:
            pytest.skip("root passes permissions by, and setpriv is not here to give that up")
        command = ["setpriv", "--bounding-set=-dac_override,-dac_read_search", *command]
    return subprocess.run(
        command, env=environment(home), stdin=subprocess.DEVNULL, capture_output=True, encoding="utf-8",
        errors="replace", timeout=within, check=False,
    )  # fmt: skip


class Terminal:
    """The person's end: `keys` types bytes, `until` waits for words on the screen, `wait` for the end."""

    def __init__(self, process: subprocess.Popen[bytes], descriptor: int) -> None:
        self.process, self._descriptor = process, descriptor
        self.shown = b""
        self._read = 0  # how far what was shown has been waited for

    def keys(self, typed: bytes) -> None:
        os.write(self._descriptor, typed)

    def until(self, words: str) -> None:
        """Words that come after those waited for last; the screen's own control codes must not break them."""
        wanted, end = words.encode(), time.monotonic() + WITHIN
        while (at := self.shown.find(wanted, self._read)) < 0:
            assert time.monotonic() < end and self._more(1.0) is not None, self.told()
        self._read = at + len(wanted)

    def wait(self) -> int:
        """Its exit code."""
        end = time.monotonic() + WITHIN
        while self._more(0.2) is not None:
            assert time.monotonic() < end, self.told()
        return self.process.wait(WITHIN)

    def told(self) -> str:
        return self.shown.decode("utf-8", "replace")[-4000:]

    def _more(self, seconds: float) -> bytes | None:
        """What came, empty if nothing did; None once nobody holds the other end."""
        if not select.select([self._descriptor], [], [], seconds)[0]:
            return b""
        try:
            data = os.read(self._descriptor, 1 << 16)
        except OSError:  # Linux says EIO when the last process there has gone
            return None
        self.shown += data
        return data or None


@contextlib.contextmanager
def terminal(arguments: list[str], home: Path, rows: int = 24, columns: int = 80) -> Iterator[Terminal]:
    """`tuyere` with these arguments in a terminal of that size; it is ended at the end."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    options: dict[str, Any] = {"stdin": theirs, "stdout": theirs, "stderr": theirs, "start_new_session": True}
    process = subprocess.Popen([sys.executable, "-m", "tuyere", *arguments], env=environment(home), **options)
    os.close(theirs)
    try:
        yield Terminal(process, ours)
    finally:
        process.kill()
        process.wait()
        os.close(ours)

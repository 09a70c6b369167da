"""The person at the bench: what is said to them, and what they answer, while the board goes on."""

from __future__ import annotations

import asyncio
import os
import shutil
import sys
import threading
from typing import Protocol


class Hands(Protocol):
    """Whoever carries out the check."""

    def say(self, words: str) -> None:
        """A line to read."""

    def live(self, words: str) -> None:
        """A line that the next one replaces."""

    async def ask(self, question: str) -> str:
        """A line from the person, without blanks around it; "q" when nobody is there any more."""

    def typed(self) -> str | None:
        """A line that was typed without being asked for, None if none."""


def _more() -> bytes:
    """What was typed. b"" when nobody is there any more; a terminal that is gone raises an error for it."""
    try:
        return os.read(0, 4096)
    except OSError:
        return b""


class Terminal:
    """Standard input and error. Made inside a running event loop."""

    def __init__(self) -> None:
        self._lines: asyncio.Queue[str] = asyncio.Queue()
        self._loop = asyncio.get_running_loop()
        self._is_live = self._gone = False
        threading.Thread(target=self._read, name="hands", daemon=True).start()

    def _read(self) -> None:
        """In a thread, straight from the descriptor: a thread inside `sys.stdin` would hold up the program's end."""
        part = b""
        while data := _more():
            *whole, part = (part + data).split(b"\n")
            for line in whole:
                self._loop.call_soon_threadsafe(self._lines.put_nowait, line.decode(errors="replace").strip())
        self._gone = True
        self._loop.call_soon_threadsafe(self._lines.put_nowait, "q")

    def say(self, words: str) -> None:
        """A line."""
        print(("\n" if self._is_live else "") + words, file=sys.stderr, flush=True)
        self._is_live = False

    def live(self, words: str) -> None:
        """Over the last one, cut to the terminal: a line that wraps could not be written over. Nothing in a file."""
        if sys.stderr.isatty():
            columns = shutil.get_terminal_size().columns
            print(f"\r\x1b[K{words[: columns - 1]}", end="", file=sys.stderr, flush=True)
            self._is_live = True

    async def ask(self, question: str) -> str:
        """Waits for Enter. Keys pressed before the question do not count."""
        while os.isatty(0) and self.typed() is not None:
            pass
        self.say(question)
        return "q" if self._gone and self._lines.empty() else await self._lines.get()

    def typed(self) -> str | None:
        """Whether Enter was pressed meanwhile."""
        return None if self._lines.empty() else self._lines.get_nowait()

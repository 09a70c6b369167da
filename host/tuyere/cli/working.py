"""What a command does while somebody waits: nothing for work under a second, then what, for how long, how far.

On a terminal one line on standard error is written over; elsewhere a line is written once. Standard output stays data.
"""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from typing import TextIO

PATIENCE = 1.0  # s until anything is said
EVERY = 0.2  # s between writings
BAR, WIDE = 20, 80  # columns
COMPILING = "preparing the simulation for this computer, once after an update"


class Doing:
    """One piece of work. `now` is a clock in s; `show` is called now and then while it goes on."""

    def __init__(self, words: str, out: TextIO, now: Callable[[], float]) -> None:
        self.words, self._out, self._now = words, out, now
        self._began = now()
        self._share: float | None = None  # done so far; None where nobody knows
        self._compiled = self._compiling = 0  # functions: ready, and begun; one may wait for another
        self._ever: set[str] = set()  # what was said where lines cannot be written over
        self._width = 0

    def move(self, share: float) -> None:
        """The share that is done, 0..1."""
        self._share = min(1.0, max(0.0, share))
        self.show()

    def compiling(self, begins: bool) -> None:
        """A function is being compiled, or is ready."""
        self._compiled += not begins
        self._compiling += 1 if begins else -1
        self.show()

    def line(self) -> str:
        """'planning, 4 s', 'rehearsing [=====     ] 31 %, 12 s to go'."""
        spent = self._now() - self._began
        if self._compiling:
            return f"{COMPILING}: {self._compiled} parts ready, {spent:.0f} s"
        if not self._share:
            return f"{self.words}, {spent:.0f} s"
        full = round(self._share * BAR)
        left = spent * (1.0 - self._share) / self._share
        return f"{self.words} [{'=' * full}{' ' * (BAR - full)}] {self._share * 100:.0f} %, {left:.0f} s to go"

    def show(self) -> None:
        """Write how it stands, once it has taken a second."""
        if self._now() - self._began < PATIENCE:
            return
        if not self._out.isatty():
            what = COMPILING if self._compiling else self.words
            if what not in self._ever:
                self._ever.add(what)
                print(f"{what}...", file=self._out, flush=True)
            return
        line = self.line()[: _columns(self._out) - 1]  # a longer one would begin a new line each time
        self._out.write("\r" + line.ljust(self._width))
        self._out.flush()
        self._width = len(line)

    def clear(self) -> None:
        """Take the line away."""
        if self._width:
            self._out.write("\r" + " " * self._width + "\r")
            self._out.flush()
            self._width = 0


def _columns(out: TextIO) -> int:
    """How wide the terminal is; 80 where that is not known."""
    try:
        return os.get_terminal_size(out.fileno()).columns or WIDE
    except (OSError, ValueError):
        return WIDE


@contextlib.contextmanager
def working(words: str, *, follow: bool = True, now: Callable[[], float] = time.monotonic) -> Iterator[Doing]:
    """Say what is being done while the block runs, by work that never compiles anything.

    follow: a thread writes the line again while nothing else does. Without it nothing is written between two shares:
    for work that forks, which a process with threads cannot do.
    """
    work = Doing(words, sys.stderr, now)
    ended = threading.Event()

    def write() -> None:
        while not ended.wait(EVERY):
            work.show()

    thread = threading.Thread(target=write, name="progress", daemon=True)
    if follow:
        thread.start()
    try:
        yield work
    finally:
        ended.set()
        if follow:
            thread.join()
        work.clear()

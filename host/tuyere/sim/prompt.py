"""A twin that can be loaded: it begins at MicroPython's prompt, like a bare board. A release brings it back there.

The prompt is that of the same interpreter, on a pseudo-terminal of its own, with the twin's folder as the board's
flash. Two functions of a Pico are imitated: `machine.reset()`, which runs what was loaded, and the soft reset.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import time
import tty
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tuyere.sim.twin import TWIN_BOARD, Ended, Twin, interpreter

RAW, FRIENDLY = b"\x01", b"\x02"  # Ctrl-A, Ctrl-B
PARTS = ".prompt"  # folder of the modules that stand in for the Pico's own
MARK = "reset-asked"
# `machine` is a module that a file may stand in for (MicroPython documentation, "Extending built-in libraries").
MACHINE = f"""
import sys
def reset():
    open("{PARTS}/{MARK}", "w").close()
    sys.exit()
"""


class Prompt:
    """MicroPython's prompt in `folder`."""

    def __init__(self, folder: Path) -> None:
        command, name = interpreter()
        if name != "MicroPython":
            raise Ended("only MicroPython has a prompt to load a board by, and this machine has no build of it")
        self._folder = folder
        self._command = [*command, "-i"]
        parts = folder / PARTS
        parts.mkdir(exist_ok=True)
        (parts / "machine.py").write_text(MACHINE, encoding="utf-8")
        self._mark = parts / MARK
        self._mark.unlink(missing_ok=True)
        self._waiting = b""
        self._raw = False
        self._start()

    def _start(self) -> None:
        self.near, far = os.openpty()  # can be read when the prompt has said something
        tty.setraw(self.near)
        tty.setraw(far)
        os.set_blocking(self.near, False)
        env = {**os.environ, "MICROPYPATH": f":.frozen:{PARTS}"}
        self._process = subprocess.Popen(self._command, cwd=self._folder, env=env, stdin=far, stdout=far, stderr=far)
        os.close(far)

    def exchange(self, came: bytes) -> bytes:
        """Bytes from the host to the prompt; returns what it says."""
        self._waiting += came
        if max(came.rfind(RAW), came.rfind(FRIENDLY)) >= 0:
            self._raw = came.rfind(RAW) > came.rfind(FRIENDLY)
        with contextlib.suppress(OSError):
            self._waiting = self._waiting[os.write(self.near, self._waiting) :]
        return self._take()

    def ended(self) -> bytes | None:
        """None while it runs, and once `machine.reset()` was called b""; after a soft reset what a Pico says then."""
        if self._process.poll() is None:
            return None
        said = self._take()
        os.close(self.near)
        if self._mark.exists():
            return said
        self._start()
        self._waiting = RAW if self._raw else b""
        return said + b"MPY: soft reboot\r\n"

    @property
    def full(self) -> bool:
        """Whether it has yet to take what it was told."""
        return bool(self._waiting)

    @property
    def reset(self) -> bool:
        """Whether `machine.reset()` was called."""
        return self._mark.exists()

    def close(self) -> None:
        """End it."""
        if self._process.poll() is None:
            self._process.kill()
            self._process.wait()
            os.close(self.near)

    def _take(self) -> bytes:
        said = b""
        with contextlib.suppress(OSError):  # nothing there, or the process has ended
            while part := os.read(self.near, 4096):
                said += part
        return said


class BareTwin(Twin):
    """A `Twin` without firmware. Load it by its prompt and reset it: then it runs what was loaded."""

    def __init__(self, *arguments: Any, **named: Any) -> None:
        self._prompt: Prompt | None = None
        self._since = 0.0
        self._stays = False  # at the prompt, through the next power-up
        super().__init__(*arguments, **named)

    def lay_out(self) -> None:
        """Only the parts of the board; its program comes by its prompt."""
        for file in TWIN_BOARD:
            shutil.copy(file, self.folder)

    def released(self) -> None:
        """To the prompt."""
        self._stays = True
        self.power_cut()

    @property
    def at_prompt(self) -> bool:
        """Whether the prompt is there, and not the program."""
        return self._prompt is not None

    def _power_up(self, cause: str = "power") -> None:
        if self._stays or not (self.folder / "main.py").exists():
            self._stays = False
            self._prompt, self._since = Prompt(self.folder), time.monotonic()
        else:
            super()._power_up(cause)

    def _end_process(self) -> None:
        if self._prompt:
            self._prompt.close()
            self._prompt = None
        super()._end_process()

    def _turn(self, stop: Callable[[], bool]) -> None:
        if self._prompt is None:
            try:
                super()._turn(stop)
            except Ended as problem:  # a board's program that ends leaves its prompt
                self.line.send(str(problem).encode() + b"\r\n")
                self.released()
            return
        came = self.line.wait(0.001 if self._prompt.full else 0.05, self._prompt.near)
        if came:
            self.heard = time.monotonic()
        self.line.send(self._prompt.exchange(came))
        last = self._prompt.ended()
        if last is None:
            return
        self.line.send(last)
        if self._prompt.reset:
            self._prompt = None
            self._let_pass(round((time.monotonic() - self._since) * 1000.0 * (self.speed or 1.0)))
            self._restart("power")

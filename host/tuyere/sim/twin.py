"""The twin: the board's own files, run by the MicroPython interpreter in front of a simulated pit.

The interpreter and this process take turns (see `beside.py`): the program says when it wants to wake and what the
fan does until then; simulated time goes there, at the chosen speed or as fast as it can; the readings go back.
While more than half of the board's ring waits for the host, simulated time waits too.
"""

from __future__ import annotations

import contextlib
import json
import os
import random
import shutil
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from tuyere import staging
from tuyere.sim import beside
from tuyere.sim.line import Line
from tuyere.sim.outside import Readings

# Bytes. A Pico leaves MicroPython about 190 KB of 32-bit words; here every word is 64 bits, so this is the tighter one.
HEAP = 256 * 1024
RING = 24576
HOLD_AT = 50  # percent of the ring
STEP_MS = 2000.0


class World(Protocol):
    """A pit and all around it: `tuyere.sim.outside.Outside`, or one of your own."""

    def step(self, seconds: float, fan: float) -> Readings:
        """Let `seconds` pass with the fan driven at 0..1."""


def interpreter() -> tuple[list[str], str]:
    """(command, name) of what runs the firmware: MicroPython where there is a build of it, else this Python."""
    here = Path(sys.executable).parent / "micropython"
    found = str(here) if here.exists() else shutil.which("micropython")
    if found:
        return [found, "-X", f"heapsize={HEAP}"], "MicroPython"
    return [
        sys.executable,
        "-u",
        "-I",
        "-S",
        "-c",
        "import sys; sys.path.insert(0, '.'); exec(open('main.py').read())",
    ], "CPython"


class Ended(Exception):
    """The firmware has ended; its message says how."""


class Twin:
    """A board that is not there.

    speed: simulated seconds a second, 0 for as fast as it goes. boots: where boot numbers are drawn from, by default
    the system's own randomness, so that no two nights bear the same. `away(ms)` is true
    while the script keeps the host away; then time does not wait for it.
    """

    def __init__(
        self,
        world: World,
        line: Line,
        *,
        speed: float = 60.0,
        boots: random.Random | None = None,
        name: str = "twin",
        ring_size: int = RING,
        away: Callable[[int], bool] = lambda ms: False,
    ) -> None:
        self.world = world
        self.line = line
        self.speed = speed
        self.name = name
        self.cycles = 0
        self.restarts = 0
        self.outside_ms = 0  # simulated ms since the twin began
        self._ring_size = ring_size
        self._away = away
        self._random = boots or random.SystemRandom()
        self._folder = tempfile.TemporaryDirectory(prefix="tuyere-twin-")
        staging.stage(Path(self._folder.name))
        shutil.copy(beside.__file__, Path(self._folder.name) / "beside.py")
        self._process: subprocess.Popen[bytes] | None = None
        self._started_ms = 0  # outside_ms when this boot began
        self._readings = world.step(0.001, 0.0)
        self._told = False
        self._came = b""
        self._beat = 0.0  # wall clock that belongs to outside_ms
        self.heard = time.monotonic()  # when the host last said something
        self.interpreter = interpreter()[1]
        self._power_up()

    def _power_up(self) -> None:
        given = {
            "identity": {
                "board": self.name,
                "kind": "twin",
                "simulated": True,
                "speed": self.speed,
                "outside_ms": self.outside_ms,
                "runs_on": self.interpreter,
            },
            "boot": self._random.getrandbits(32),
            "ring_size": self._ring_size,
        }
        command, _ = interpreter()
        script = [] if "-c" in command else ["main.py"]
        self._process = subprocess.Popen(
            command + script,
            cwd=self._folder.name,
            env={**os.environ, "TUYERE_BESIDE": json.dumps(given)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            bufsize=0,
        )
        self._started_ms = self.outside_ms
        self._beat = time.monotonic()

    def power_cut(self) -> None:
        """Take the board's power and give it back; its RAM is gone, the pit goes on."""
        self._end_process()
        self.restarts += 1
        self._power_up()

    def run(self, until_ms: int | None = None, stop: Callable[[], bool] = lambda: False) -> None:
        """Run until so much simulated time has passed, or until `stop()`; Ended if the firmware ends by itself."""
        while (until_ms is None or self.outside_ms < until_ms) and not stop():
            self._turn(stop)

    def close(self) -> None:
        """End the firmware, take the line away, remove the staged files."""
        self._end_process()
        self.line.close()
        self._folder.cleanup()

    def _end_process(self) -> None:
        if self._process:
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe:
                    pipe.close()
            self._process.kill()
            self._process.wait()
            self._process = None

    def _read(self, size: int) -> bytes:
        assert self._process and self._process.stdout
        data = b""
        while len(data) < size:
            part = self._process.stdout.read(size - len(data))
            if not part:
                code = self._process.wait()
                words = data.decode(errors="replace").strip()
                raise Ended(f"the firmware ended with exit code {code}: ...{words[-500:]}")
            data += part
        return data

    def _turn(self, stop: Callable[[], bool]) -> None:
        """One exchange: let time pass until the board wants to wake or the host speaks."""
        due, duty, percent, flags, size = struct.unpack(beside.OUT, self._read(struct.calcsize(beside.OUT)))
        if size:
            self.line.send(self._read(size))
        if flags & beside.RELEASE:
            self.power_cut()
            return
        due += self._started_ms
        if due > self.outside_ms and self._pass(due, percent, stop):
            self._readings = self.world.step((due - self.outside_ms) / 1000.0, duty / 65535.0)
            self.outside_ms = due
            self._told = self._told or self._readings.told
            self.cycles += 1
        self._reply()

    def _pass(self, due: int, percent: int, stop: Callable[[], bool]) -> bool:
        """Wait as the speed asks; False if the host spoke first, or if time must wait for the host."""
        if percent > HOLD_AT and not self._away(self.outside_ms):
            self._listen(0.1)
            self._beat = time.monotonic()
            return False
        if not self.speed:
            self._listen(0.0)
            return True
        wake = self._beat + (due - self.outside_ms) / 1000.0 / self.speed
        while not stop():
            left = wake - time.monotonic()
            if left <= 0.0:
                self._beat = max(wake, time.monotonic() - 1.0)
                return True
            if self._listen(min(left, 0.2)):
                return False
        return False

    def _listen(self, seconds: float) -> bool:
        came = self.line.wait(seconds)
        if came:
            self._came += came
            self.heard = time.monotonic()
        return bool(came)

    def _reply(self) -> None:
        assert self._process and self._process.stdin
        readings = self._readings
        meats = [-10000 if meat is None else max(-5000, min(30000, round(meat * 100))) for meat in readings.meat_c]
        ambient = max(-5000, min(12500, round(readings.ambient_c * 100)))
        pit = max(-5000, min(50000, round(readings.pit_c * 100)))
        part, self._came = self._came[:4096], self._came[4096:]
        frame = struct.pack(
            beside.BACK,
            self.outside_ms - self._started_ms,
            pit,
            *meats,
            ambient,
            readings.faults,
            beside.TOLD if self._told else 0,
            self.line.room,
            len(part),
        )
        self._told = False
        with contextlib.suppress(BrokenPipeError):
            self._process.stdin.write(frame + part)

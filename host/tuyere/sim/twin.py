"""The twin: the board's own files, run by the MicroPython interpreter in front of a simulated pit.

The interpreter and this process take turns (see `twin_board`). The program says when it wants to wake and what its pins
give the fan until then. Simulated time moves there, at the chosen speed or as fast as it can. Then the readings of the
board's parts go back. While more than half of the board's ring waits for the host, simulated time waits, too. A
watchdog watches as on the board.
"""

from __future__ import annotations

import contextlib
import json
import os
import random
import select
import shutil
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol

from tuyere import staging
from tuyere.sim import wires as on_wires
from tuyere.sim.outside import Readings
from tuyere.sim.pit_slots import PIECES
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.script import Hand
from tuyere.sim.twin_board import twin_frames as frames

# Bytes. A Pico leaves MicroPython about 190 KB of 32-bit words. Here words have 64 bits and the twin's own parts take
# 25 KB, so this is the tighter one.
HEAP = 320 * 1024
RING = 24576
HOLD_AT = 50  # percent of the ring
WATCHDOG_MS = 8000
SPIN = 10_000  # turns of no time, more than any board has to say at once
HANG_S = 30.0  # real seconds without a sign of life: the program hangs
FLASH_KB = 1280  # 1,200 KB for the spool, and what littlefs itself needs
TWIN_BOARD = tuple(
    Path(__file__).with_name("twin_board") / f"twin_{part}.py" for part in ("board", "flash", "frames", "parts")
)


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


class Hung(Exception):
    """The firmware does not respond."""


class Twin:
    """A simulated board.

    speed: simulated seconds per second; 0 is as fast as possible. boots: the source of boot numbers; the default is
    the system's randomness, so that no two nights share one. away(ms): true while the script keeps the host away; time
    does not wait for it then. converter: 31856 or 31855. wires: of the fan, 2 or 4. flash_kb: size of the flash, which
    survives every restart; it lies in `folder` with all loaded files. revive: the watchdog restarts a program that
    ends, as on a board; otherwise `Ended` is raised. hang_s: real seconds until a program counts as hung; the watchdog
    then restarts it. hands: the simulated cook's work, see
    `script.Hand`. meats: (cut, kg, thickness of its parts in m or None, C at which it comes out), in the order of the
    probes. trouble: what this cook practises. plan: the mark of the plan that it cooks; begins: UTC in ms at which it
    begins, None for now. No probe can feel these, nor when a piece without one came out, so the hello names them.
    `muted`: true passes nothing on the line, like an unplugged cable.
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
        converter: int = 31856,
        wires: int = 2,
        flash_kb: int = FLASH_KB,
        revive: bool = False,
        hang_s: float = HANG_S,
        hands: Sequence[Hand] = (),
        meats: Sequence[tuple[str, float, float | None, float | None, float]] = (),
        trouble: str = "",
        plan: str = "",
        begins: int | None = None,
    ) -> None:
        self.world = world
        self.line = line
        self.speed = speed
        self.name = name
        self.cycles = 0
        self.restarts = 0
        self.outside_ms = 0  # simulated ms since the twin began
        self.drive = 0  # what the pins give the fan, 0..65535
        self.servo_us = 0  # the damper's pulse, 0 for none
        self.lit = False  # the button's lamp, at this moment
        self.calling = False  # the buzzer calls for a person
        self._given = {"ring_size": ring_size, "converter": converter, "wires": wires, "flash_kb": flash_kb}
        self._revive = revive
        self._hang_s = hang_s
        self._told_of = {"hands": list(hands), "meats": list(meats), "trouble": trouble, "plan": plan, "begins": begins}
        self._came_out = [0] * PIECES  # outside_ms by piece, 0 for not yet
        self.muted = False
        self._fed_ms = 0
        self._mark = 0  # the watchdog's SCRATCH0: it outlives a bite
        self._away = away
        self._random = boots or random.SystemRandom()
        self._temporary = tempfile.TemporaryDirectory(prefix="tuyere-twin-")
        self.folder = Path(self._temporary.name)
        self.lay_out()
        self._process: subprocess.Popen[bytes] | None = None
        self._started_ms = 0  # outside_ms when this boot began
        self._readings = world.step(0.001, 0.0)
        self._told = self._held = False
        self._came = b""
        self._beat = 0.0  # wall clock that belongs to outside_ms
        self.heard = time.monotonic()  # when the host last said something
        self.interpreter = interpreter()[1]
        self._power_up()

    def lay_out(self) -> None:
        """Put the firmware on the board, and the board's parts beside it."""
        staging.stage(self.folder)
        for file in TWIN_BOARD:
            shutil.copy(file, self.folder)

    def released(self) -> None:
        """The board restarts for an upload. The twin has nothing to upload, so its program starts again."""
        self.power_cut()

    def _power_up(self, cause: str = "power") -> None:
        given = {
            **self._given,
            "identity": {
                "board": self.name,
                "kind": "twin",
                "simulated": True,
                "speed": self.speed,
                "outside_ms": self.outside_ms,
                "runs_on": self.interpreter,
                "came_out": self._came_out,
                **self._told_of,
            },
            "boot": self._random.getrandbits(32),
            "cause": cause,
            "mark": self._mark,
        }
        command, _ = interpreter()
        script = [] if "-c" in command else ["main.py"]
        self._process = subprocess.Popen(
            command + script,
            cwd=self.folder,
            env={**os.environ, "TUYERE_BESIDE": json.dumps(given)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            bufsize=0,
        )
        assert self._process.stdout
        self._signs = select.poll()
        self._signs.register(self._process.stdout, select.POLLIN | select.POLLHUP)
        self._spun = 0  # consecutive turns in which the board let no time pass
        self._fed_ms = self.outside_ms
        self._started_ms = self.outside_ms
        self._beat = time.monotonic()

    def power_cut(self, seconds: float = 0.0) -> None:
        """Cut the board's power for `seconds`. The RAM is lost; the pit goes on without the fan."""
        self._end_process()
        self.drive = self.servo_us = self._mark = 0
        self._let_pass(round(seconds * 1000.0))
        self._restart("power")

    def bite(self) -> None:
        """Let the watchdog run out and restart the board. The pins keep their levels until then."""
        self._end_process()
        self._let_pass(max(0, self._fed_ms + WATCHDOG_MS - self.outside_ms))
        self._restart("watchdog")

    def _restart(self, cause: str) -> None:
        self.restarts += 1
        self.drive = self.servo_us = 0
        self._power_up(cause)

    def _let_pass(self, ms: int) -> None:
        """Advance the pit by `ms` while the board is off or hangs."""
        until = self.outside_ms + ms
        while self.outside_ms < until:
            self._step(min(2000, until - self.outside_ms))

    def _step(self, ms: int) -> None:
        readings = self._readings = self.world.step(ms / 1000.0, on_wires.air(self._readings, self.drive))
        self.outside_ms += ms
        self._told = self._told or readings.told
        self._held = self._held or readings.held
        for i in range(PIECES if readings.out else 0):
            if readings.out >> i & 1 and not self._came_out[i]:
                self._came_out[i] = self.outside_ms

    def run(self, until_ms: int | None = None, stop: Callable[[], bool] = lambda: False) -> None:
        """Run until `until_ms` of simulated time, or until `stop()` is true. Raises Ended if the firmware exits."""
        while (until_ms is None or self.outside_ms < until_ms) and not stop():
            self._turn(stop)

    def close(self) -> None:
        """End the firmware, close the line and remove the staged files."""
        self._end_process()
        self.line.close()
        self._temporary.cleanup()

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
            if not self._signs.poll(self._hang_s * 1000.0):
                raise Hung
            part = self._process.stdout.read(size - len(data))
            if not part:
                code = self._process.wait()
                words = data.decode(errors="replace").strip()
                raise Ended(f"the firmware ended with exit code {code}: ...{words[-500:]}")
            data += part
        return data

    def _turn(self, stop: Callable[[], bool]) -> None:
        """One exchange: let time pass until the board wants to wake or the host sends something."""
        try:
            head = self._read(struct.calcsize(frames.OUT))
            due, drive, servo, percent, flags, mark, size = struct.unpack(frames.OUT, head)
            body = self._read(size)
        except Hung:
            self.bite()
            return
        except Ended:  # its last output is not a frame
            if not self._revive:
                raise
            self.bite()
            return
        self.drive, self.servo_us, self._mark = drive, servo, mark
        self.lit, self.calling = bool(flags & frames.LIT), bool(flags & frames.CALLING)
        if body and not self.muted:
            self.line.send(body)
        if flags & frames.RELEASED:
            self.released()
            return
        if flags & frames.FED:
            self._fed_ms = self.outside_ms
        due += self._started_ms
        self._spun = self._spun + 1 if due <= self.outside_ms else 0
        if self._spun > SPIN:  # on a chip, the watchdog would have run out by now
            self.bite()
            return
        if due > self.outside_ms and self._pass(due, percent, stop):
            if due > self._fed_ms + WATCHDOG_MS:
                self.bite()
                return
            self._step(due - self.outside_ms)
            self.cycles += 1
        self._reply()

    def _pass(self, due: int, percent: int, stop: Callable[[], bool]) -> bool:
        """Wait until `due` at the chosen speed. False if the host spoke first, or if time waits for the host."""
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
        if came and self.muted:
            return False
        if came:
            self._came += came
            self.heard = time.monotonic()
        return bool(came)

    def _reply(self) -> None:
        assert self._process and self._process.stdin
        part, self._came = self._came[:4096], self._came[4096:]
        now = self.outside_ms - self._started_ms
        frame = on_wires.frame(self._readings, now, self._told, self._held, self.line.room, len(part))
        self._told = self._held = False
        with contextlib.suppress(BrokenPipeError):
            self._process.stdin.write(frame + part)

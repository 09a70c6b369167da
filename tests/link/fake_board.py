"""A board for tests: the firmware's own loop on CPython, before a pit of three lines, on simulated time."""

from __future__ import annotations

import os
import random
import select
import threading
import tty
from collections.abc import Callable
from typing import Any

from hearth.core import fields
from hearth.loop import Loop


class Wire:
    """A byte stream in memory, as the firmware wants it: `read()` what came, `write()` what it takes."""

    def __init__(self) -> None:
        self.to_board = bytearray()
        self.from_board = bytearray()

    def read(self) -> bytes:
        data = bytes(self.to_board[:256])
        del self.to_board[:256]
        return data

    def write(self, data: bytes) -> int:
        self.from_board += data
        return len(data)

    def take(self) -> bytes:
        data = bytes(self.from_board)
        self.from_board.clear()
        return data


class Terminal:
    """The same over a raw pseudo-terminal; `name` is what the host opens."""

    def __init__(self) -> None:
        self.master, self.slave = os.openpty()
        tty.setraw(self.master)
        tty.setraw(self.slave)
        os.set_blocking(self.master, False)
        self.name = os.ttyname(self.slave)

    def read(self) -> bytes:
        try:
            return os.read(self.master, 256)
        except BlockingIOError:
            return b""

    def write(self, data: bytes) -> int:
        try:
            return os.write(self.master, data)
        except BlockingIOError:
            return 0

    def wait(self, seconds: float) -> None:
        select.select([self.master], [], [], seconds)

    def close(self) -> None:
        os.close(self.master)
        os.close(self.slave)


class FakeBoard:
    """What `hearth.loop.Loop` needs of a board. Time moves only by `sleep_until`."""

    def __init__(
        self, stream: Any, boot: int = 7, *, board: str = "fake-1", simulated: bool = True, ring: int = 0
    ) -> None:
        self.stream = stream
        self.ring_size = ring
        self.folder: str | None = None
        self.boot = boot
        self.name, self.simulated = board, simulated
        self.begun = 0  # simulated ms before this boot
        self.clock = 0
        self.pit = 20.0
        self.lit = 0.2
        self.demand = 0
        self.faults = 0
        self.meats = [5.0, 5.0, 5.0]
        self.button = self.button_held = self.button_let_go = False
        self.began_by, self.last_cycle = "power", -1  # what began this boot, and the last cycle before it
        self.trouble = ""  # that a twin practises
        self.hands: list[Any] = []  # what a twin's hello says that its hands will do
        self.cooks: dict[str, Any] = {}  # and of the plan that it cooks
        self.between: Callable[[Callable[[], int]], object] = lambda serve: serve()
        self.noise = random.Random(3)

    @property
    def identity(self) -> dict[str, Any]:
        said: dict[str, Any] = {
            "board": self.name,
            "kind": "twin" if self.simulated else "pico",
            "simulated": self.simulated,
        }
        if self.simulated:
            said["outside_ms"] = self.begun
            said["hands"] = self.hands
            said.update(self.cooks)
            said["trouble"] = self.trouble
        return said

    def draw_boot(self) -> int:
        return self.boot

    def elapsed(self) -> int:
        return self.clock

    def sleep_until(self, due: int, serve: Callable[[], int]) -> None:
        self.between(serve)
        self.move((due - self.clock) / 1000)
        self.clock = due

    def move(self, seconds: float) -> None:
        """A fire with inertia in a box that leaks heat; only the shape matters here."""
        self.lit += seconds / 300 * (self.demand / fields.FULL - self.lit)
        self.pit += seconds / 900 * (20 + 260 * self.lit - self.pit)
        for i in range(3):
            self.meats[i] += seconds / (9000 + 2000 * i) * (min(self.pit, 98) - self.meats[i])

    def read(self, now: Any) -> None:
        now.pit = round(100 * self.pit + self.noise.uniform(-20, 20))
        now.faults = self.faults
        now.meat_1, now.meat_2, now.meat_3 = (round(100 * meat) for meat in self.meats)
        now.ambient = 1500

    def told(self) -> bool:
        pressed, self.button = self.button, False
        return pressed

    def held(self) -> bool:
        held, self.button_held = self.button_held, False
        return held

    def let_go(self) -> bool:
        let_go, self.button_let_go = self.button_let_go, False
        return let_go

    def configure(self, settings: Any) -> None:
        pass

    def cause(self) -> str:
        return self.began_by

    def finished(self) -> int:
        return self.last_cycle

    def fan(self, duty: int, demand: int = 0) -> None:
        self.demand = duty

    def show(self, out: Any) -> None:
        pass

    def end(self) -> None:
        self.demand = 0

    def feed(self, cycles: int) -> None:
        pass

    def release(self) -> None:
        raise SystemExit


class BoardOnTerminal:
    """The fake board in a thread, on a pseudo-terminal, as fast as its host keeps up; at `limit` cycles it waits."""

    def __init__(self, **board: Any) -> None:
        self.terminal = Terminal()
        self.board = FakeBoard(self.terminal, **board)
        self.board.between = self._between
        self.limit: int | None = 0  # cycles it may run; None for no limit
        self.cycles = 0
        self._ending = False
        self._restart: int | None = None
        self.loop = Loop(self.board)
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    @property
    def port(self) -> str:
        return self.terminal.name

    def restart(self, boot: int) -> None:
        """Power the board off and on: another boot, an empty ring; the pit goes on."""
        self._restart = boot

    def close(self) -> None:
        self._ending = True
        self._thread.join(5)
        self.terminal.close()

    def _between(self, serve: Callable[[], int]) -> None:
        while not self._ending and self._restart is None:
            full = serve()
            if full < 50 and (self.limit is None or self.cycles < self.limit):
                return
            self.terminal.wait(0.005)

    def _run(self) -> None:
        while not self._ending:
            self._between(self.loop.talk.serve)
            if self._restart is not None:
                self.board.boot, self._restart = self._restart, None
                self.board.begun += self.board.clock
                self.board.clock = 0
                self.loop = Loop(self.board)
            elif not self._ending:
                self.loop.step()
                self.cycles += 1

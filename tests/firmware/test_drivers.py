"""Drivers against the bits of their datasheets."""

from __future__ import annotations

import pytest
from hearth.core import fields
from hearth.drivers.blower import Blower
from hearth.drivers.max31856 import Max31856


class Chip:
    """A MAX31856 on SPI: sixteen registers, address first, bit 7 to write (datasheet 19-7534, "Serial interface")."""

    def __init__(self) -> None:
        self.registers = bytearray(16)
        self.selected = False
        self.silent = False

    def select(self, level: int) -> None:
        self.selected = level == 0

    def write(self, data: bytes) -> None:
        assert self.selected and data[0] & 0x80, "a write needs the select line and bit 7"
        if not self.silent:
            for i, value in enumerate(data[1:]):
                self.registers[(data[0] & 0x7F) + i] = value

    def write_readinto(self, data: bytes, into: bytearray) -> None:
        assert self.selected and len(data) == len(into) and not data[0] & 0x80
        for i in range(1, len(into)):
            into[i] = 0xFF if self.silent else self.registers[data[0] + i - 1]

    def couple(self, register: int, faults: int = 0) -> None:
        self.registers[0x0C:0x0F] = register.to_bytes(3, "big")
        self.registers[0x0F] = faults


@pytest.fixture
def chip() -> Chip:
    return Chip()


def test_set_up_asks_for_type_k_and_open_circuit_tests(chip: Chip) -> None:
    Max31856(chip, chip.select, hertz=60)
    assert chip.registers[0] & 0x80, "converts by itself"
    assert chip.registers[0] & 0x30 == 0x10, "looks for an open couple"
    assert not chip.registers[0] & 0x01, "60 Hz"
    assert chip.registers[1] & 0x0F == 0x03, "type K"
    chip.registers[0] = 0
    Max31856(chip, chip.select, hertz=50)
    assert chip.registers[0] & 0x01, "50 Hz"


# Bit patterns: linearised couple temperature, 19 bits, 1/128 C, left-justified in 24 (datasheet table 4).
@pytest.mark.parametrize(
    ("register", "hundredths"),
    [
        (0x019000, 2500),
        (0x078000, 12000),
        (0x640000, 160000),
        (0x000000, 0),
        (0xFFFFE0, -1),
        (0xF06000, -25000),
        (0x000020, 0),
    ],
)
def test_couple_temperature(chip: Chip, register: int, hundredths: int) -> None:
    driver = Max31856(chip, chip.select)
    driver.read()
    chip.couple(register)
    assert driver.read() == (hundredths, 0)


@pytest.mark.parametrize(
    ("status", "fault"),
    [
        (0x01, fields.PROBE_OPEN),
        (0x02, fields.PROBE_SHORT),
        (0x40, fields.PROBE_RANGE),
        (0x08, fields.PROBE_RANGE),
        (0x04, fields.PROBE_RANGE),
        (0x80, fields.COLD_JUNCTION),
        (0x20, fields.COLD_JUNCTION),
        (0x10, fields.COLD_JUNCTION),
        (0x03, fields.PROBE_OPEN | fields.PROBE_SHORT),
    ],
)
def test_fault_bits(chip: Chip, status: int, fault: int) -> None:
    driver = Max31856(chip, chip.select)
    driver.read()
    chip.couple(0x078000, status)
    assert driver.read()[1] == fault


def test_a_silent_chip_is_never_a_reading_and_comes_back(chip: Chip) -> None:
    driver = Max31856(chip, chip.select)
    chip.couple(0x078000)
    chip.silent = True
    assert driver.read()[1] == fields.PROBE_SILENT
    chip.silent = False
    chip.registers[0] = 0  # it lost its power meanwhile
    assert driver.read()[1] == fields.PROBE_SILENT
    chip.couple(0x078000)
    assert driver.read()[1] == fields.PROBE_SILENT  # set up again, nothing converted yet
    assert driver.read() == (12000, 0)


def test_the_register_before_the_first_conversion_is_no_reading(chip: Chip) -> None:
    driver = Max31856(chip, chip.select)
    assert driver.read() == (0, fields.PROBE_SILENT)


class Pin:
    duty = -1

    def duty_u16(self, duty: int) -> None:
        self.duty = duty


def test_blower_is_off_from_the_start_and_linear() -> None:
    pin = Pin()
    blower = Blower(pin)
    assert pin.duty == 0
    for asked, given in ((10000, 65535), (2500, 16383), (-5, 0), (20000, 65535)):
        blower.set(asked)
        assert pin.duty == given

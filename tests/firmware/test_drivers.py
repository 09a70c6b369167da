"""The pit's converters against the bits of their datasheets."""

from __future__ import annotations

import pytest
from hearth.core import fields
from hearth.drivers.max31855 import Max31855
from hearth.drivers.max31856 import Max31856


class Chip:
    """A MAX31856 on SPI: sixteen registers, address first, bit 7 to write (datasheet 19-7534, "Serial interface").

    Notes what a chip that still converts is told about its filter: that must not be ("change the notch frequency only
    while in the normally off mode").
    """

    def __init__(self) -> None:
        self.registers = bytearray(16)
        self.selected = False
        self.silent = False
        self.swapped = False
        self.filter_changed_while_converting = False

    def select(self, level: int) -> None:
        self.selected = level == 0

    def write(self, data: bytes) -> None:
        assert self.selected and data[0] & 0x80, "a write needs the select line and bit 7"
        if self.silent:
            return
        for i, value in enumerate(data[1:]):
            register = (data[0] & 0x7F) + i
            if register == 0 and self.registers[0] & 0x80 and (self.registers[0] ^ value) & 0x01:
                self.filter_changed_while_converting = True
            self.registers[register] = value

    def write_readinto(self, data: bytes, into: bytearray) -> None:
        assert self.selected and len(data) == len(into) and not data[0] & 0x80
        for i in range(1, len(into)):
            into[i] = 0xFF if self.silent else self.registers[data[0] + i - 1]
        if self.swapped:
            for i in range(0, len(into) - 1, 2):
                into[i], into[i + 1] = into[i + 1], into[i]

    def couple(self, register: int, faults: int = 0) -> None:
        self.registers[0x0C:0x0F] = register.to_bytes(3, "big")
        self.registers[0x0F] = faults


@pytest.fixture
def chip() -> Chip:
    return Chip()


@pytest.mark.parametrize(("hertz", "bit"), [(50, 1), (60, 0)])
def test_set_up_asks_for_type_k_open_circuit_tests_and_the_mains_filter(chip: Chip, hertz: int, bit: int) -> None:
    chip.registers[0] = 0x80 | (1 - bit)  # converting with the other filter
    Max31856(chip, chip.select, hertz=hertz)
    assert chip.registers[0] & 0x80, "converts by itself"
    assert chip.registers[0] & 0x30 == 0x10, "looks for an open couple"
    assert not chip.registers[0] & 0x0E, "cold junction on, faults shown as they are"
    assert chip.registers[0] & 0x01 == bit
    assert not chip.filter_changed_while_converting
    assert chip.registers[1] & 0x0F == 0x03, "type K"


def test_set_up_writes_the_limits_of_couple_and_cold_junction(chip: Chip) -> None:
    Max31856(chip, chip.select)
    signed = [value - 256 if value > 127 else value for value in chip.registers]
    assert (signed[3], signed[4]) == (85, -40), "C, one bit a degree"
    assert int.from_bytes(chip.registers[5:7], "big", signed=True) / 16 == 500.0
    assert int.from_bytes(chip.registers[7:9], "big", signed=True) / 16 == -50.0
    assert chip.registers[9] == 0, "no offset in the chip"


# Bit patterns: linearised couple temperature, 19 bits, 1/128 C, left-justified in 24 (datasheet, table "linearized
# thermocouple temperature data format"; 25, 120 and -1/128 C also computed).
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
        (0xFF, fields.PROBE_OPEN | fields.PROBE_SHORT | fields.PROBE_RANGE | fields.COLD_JUNCTION),
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


@pytest.mark.parametrize("register", range(10))
def test_one_wrong_bit_anywhere_in_the_configuration_is_no_reading(chip: Chip, register: int) -> None:
    driver = Max31856(chip, chip.select)
    driver.read()
    chip.couple(0x078000)
    assert driver.read() == (12000, 0)
    chip.registers[register] ^= 0x40
    assert driver.read() == (0, fields.PROBE_SILENT)


def test_swapped_bytes_on_the_bus_are_no_reading(chip: Chip) -> None:
    driver = Max31856(chip, chip.select)
    driver.read()
    chip.couple(0x078000)
    chip.swapped = True
    for _ in range(3):
        assert driver.read()[1] == fields.PROBE_SILENT


class Line:
    """A MAX31855 on SPI: 32 bits, most significant first, read only (datasheet 19-5793, table "memory map")."""

    def __init__(self, bits: int = 0) -> None:
        self.bits = bits
        self.selected = False

    def select(self, level: int) -> None:
        self.selected = level == 0

    def readinto(self, into: bytearray) -> None:
        assert self.selected and len(into) == 4
        into[:] = self.bits.to_bytes(4, "big")


def bits(couple: float, cold: float, faults: int = 0) -> int:
    return (round(couple * 4) & 0x3FFF) << 18 | (1 << 16 if faults else 0) | (round(cold * 16) & 0xFFF) << 4 | faults


def read(word: int) -> tuple[int, int]:
    line = Line(bits(25, 25))
    driver = Max31855(line, line.select)
    assert driver.read() == (0, fields.PROBE_SILENT)  # what stands there at power-up is no conversion
    line.bits = word
    return driver.read()


def test_bits_are_where_the_datasheet_says() -> None:
    """+1000.00 -> 0011 1110 1000 00, -0.25 -> all ones, cold junction +25.0 -> 0001 1001 0000 (datasheet tables)."""
    assert bits(1000, 25) >> 18 == 0b00111110100000
    assert bits(-0.25, 25) >> 18 == 0b11111111111111
    assert bits(0, 25) >> 4 & 0xFFF == 0b000110010000
    assert read(bits(25, 25)) == (2500, 0)
    assert read(bits(-0.25, -0.25))[1] == 0
    assert read(bits(-0.25, -0.25))[0] == pytest.approx(-25, abs=2)


@pytest.mark.parametrize(
    ("faults", "fault"),
    [
        (1, fields.PROBE_OPEN),
        (2, fields.PROBE_SHORT),
        (4, fields.PROBE_TO_SUPPLY),
        (5, fields.PROBE_OPEN | fields.PROBE_TO_SUPPLY),
    ],
)
def test_faults_of_the_31855(faults: int, fault: int) -> None:
    assert read(bits(120, 25, faults))[1] == fault


@pytest.mark.parametrize(
    "word",
    [
        0,  # data line stuck low, or nothing there
        0xFFFFFFFF,  # stuck high
        bits(120, 25) | 1 << 17,  # reserved bits, always 0
        bits(120, 25) | 1 << 3,
        bits(120, 25) | 1 << 16,  # a fault, but none of the three
        bits(120, 25) | 1,  # open, but no fault
    ],
)
def test_what_a_31855_cannot_say_is_no_reading(word: int) -> None:
    assert read(word) == (0, fields.PROBE_SILENT)


def test_a_31855_whose_bits_all_stand_still_is_frozen_and_one_other_frame_ends_it() -> None:
    line = Line(bits(120, 25))
    driver = Max31855(line, line.select, stays=5)
    assert [driver.read()[1] for _ in range(8)] == [fields.PROBE_SILENT, 0, 0, 0, 0] + [fields.PROBE_FROZEN] * 3
    line.bits = bits(120, 25.0625)
    assert driver.read()[1] == 0
    for turn in range(20):  # the couple may stand still as long as it likes
        line.bits = bits(120, 25 + turn % 2 / 16)
        assert driver.read() == (driver.read()[0], 0)


@pytest.mark.parametrize(
    ("couple", "cold", "fault"),
    [
        (120, 85.0625, fields.COLD_JUNCTION),
        (120, 85, 0),
        (120, -40.0625, fields.COLD_JUNCTION),
        (499, 25, 0),
        (510, 25, fields.PROBE_RANGE),
        (-70, 25, fields.PROBE_RANGE),
    ],
)
def test_ranges_of_the_31855(couple: float, cold: float, fault: int) -> None:
    assert read(bits(couple, cold))[1] == fault

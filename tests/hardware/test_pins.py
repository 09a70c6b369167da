"""The pin map against the chip, the board's edge and the firmware."""

import tomllib
from pathlib import Path

import pytest
from hearth import board

PINS = tomllib.loads((Path(__file__).parents[2] / "hardware" / "pins.toml").read_text())

# The Pico's edge, pins 1..40 from the USB socket (Raspberry Pi Pico datasheet, figure "pinout"; from memory).
EDGE = (
    "GP0 GP1 GND GP2 GP3 GP4 GP5 GND GP6 GP7 GP8 GP9 GND GP10 GP11 GP12 GP13 GND GP14 GP15 "
    "GP16 GP17 GND GP18 GP19 GP20 GP21 GND GP22 RUN GP26 GP27 AGND GP28 ADC_VREF 3V3 3V3_EN GND VSYS VBUS"
)

# RP2040 datasheet, section "GPIO functions", function F1 (SPI), which repeats every 8 pins; from memory. F4 is PWM:
# slice (gp / 2) mod 8, and every pin has it. ADC inputs are GP26-29.
SPI = ("RX", "CSn", "SCK", "TX")
STOPPED = set(range(8)) | set(range(16, 24))  # slices 0-3: seen on an emulated RP2040 with MicroPython 1.28
WAYS = {"gpio": ("in", "out"), "pwm": ("out",), "spi": ("in", "out"), "adc": ("analog",)}

NAMES = (
    "fan fan_supply tach clock to_converter from_converter converter button lamp buzzer servo "
    "mux_1 mux_2 mux_4 probes supply drain"
)


def test_every_name_and_no_other():
    assert list(PINS) == NAMES.split()


def test_no_pin_is_used_twice():
    for key in ("gp", "pin"):
        used = [row[key] for row in PINS.values()]
        assert len(used) == len(set(used))


@pytest.mark.parametrize("name", NAMES.split())
def test_the_edge_and_the_chip_have_what_a_pin_says(name):
    row = PINS[name]
    gp = row["gp"]
    assert EDGE.split()[row["pin"] - 1] == f"GP{gp}"
    assert row["way"] in WAYS[row["use"]]
    if row["use"] == "adc":
        assert gp in (26, 27, 28)
    if row["use"] == "spi":
        block = 1 if gp & 8 else 0
        assert row["signal"] == f"SPI{block} {SPI[gp & 3]}"
        assert row["way"] == ("in" if row["signal"].endswith("RX") else "out")
    if row["use"] == "pwm":
        assert row["slice"] == (gp >> 1) & 7
    assert row["what"] and row["why"]


def test_two_frequencies_never_share_a_slice():
    slices = [row["slice"] for row in PINS.values() if row["use"] == "pwm"]
    assert len(slices) == len(set(slices))


@pytest.mark.parametrize("name", ["fan", "servo"])
def test_what_moves_air_stands_on_a_slice_that_a_soft_reset_stops(name):
    assert PINS[name]["gp"] in STOPPED


def test_the_firmware_uses_these_pins():
    used = {name: gp for name, gp in board.PINS.items() if name != "led"}  # the Pico's own lamp is on no edge
    assert used == {name: row["gp"] for name, row in PINS.items()}

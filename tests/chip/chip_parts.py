"""What is soldered to the emulated Pico, on the pins that hardware/pins.toml names, as rp2040py's external devices.

The converter is the twin's own chip (`twin_parts`), here behind a real bus: one byte at a time.
"""

from __future__ import annotations

import random
import sys
import tomllib
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "host" / "tuyere" / "sim" / "twin_board"))  # the twin's chips lie flat on a board
from twin_parts import REFERENCE, Couple31856  # noqa: E402

PINS: dict[str, dict[str, Any]] = tomllib.loads((ROOT / "hardware" / "pins.toml").read_text(encoding="utf-8"))
GP: dict[str, int] = {name: pin["gp"] for name, pin in PINS.items()}
BYTE_NS = 8000  # eight bits at the 1 MHz that board.py asks for
DIVIDER_MV = 22214  # what the dividers of 47 k over 8.2 k make full scale of
OPEN = 65535  # counts of a probe that is not plugged in
_ROSC = 0x40060  # RP2040 datasheet 2.17.8: ring oscillator at 0x40060000, RANDOMBIT at 0x1C
_RANDOMBIT = 0x1C


class Converter:
    """A MAX31856 on SPI 0: takes bytes while its select pin is low, each as long as the clock makes it."""

    def __init__(self) -> None:
        self.couple = Couple31856()
        self.transfers: list[bytes] = []  # what was clocked out, one entry a selection
        self.mode = -1  # of SPI, as the chip has set it
        self.stuck = False  # the bus never ends a byte
        self.began: list[float] = []  # ns of the chip's clock at which all registers were asked for
        self._said = bytearray()
        self._answer = bytearray(17)

    def attach(self, chip: Any) -> None:
        """Put it on the pins."""
        from rp2040py.gpio_pin import GPIOPinState

        bus = chip.spi[0]
        selected = False
        back = 0xFF

        def byte(value: int) -> None:
            nonlocal back
            self.mode = bus.spi_mode
            back = self.byte(value) if selected else 0xFF
            if len(self._said) == 1 and value == 0:
                self.began.append(chip.clock.nanos)
            if not self.stuck:
                alarm.schedule(BYTE_NS)

        def select(now: Any, _before: Any) -> None:
            nonlocal selected
            if selected and now != GPIOPinState.LOW:
                self.let_go()
            selected = now == GPIOPinState.LOW

        alarm = chip.clock.create_alarm(lambda: bus.complete_transmit(back))
        bus.on_transmit = byte
        chip.gpio[GP["converter"]].add_listener(select)

    def byte(self, value: int) -> int:
        """One byte out and one in, while it is selected."""
        self._said.append(value)
        at = len(self._said) - 1
        if at == 0 and value < 0x80:
            self.couple.answer(bytes((value,)), self._answer)
        return self._answer[at] if 0 < at < 17 and self._said[0] < 0x80 else 0xFF

    def let_go(self) -> None:
        """It is no longer selected: what was written takes effect."""
        said = bytes(self._said)
        self._said.clear()
        if said:
            self.transfers.append(said)
            if said[0] & 0x80:
                self.couple.write(said)


class Analog:
    """The ADC's three pins: probes behind the multiplexer, supply and the drain of the blower's switch."""

    def __init__(self) -> None:
        self.probes = [OPEN, OPEN, OPEN, OPEN, 0, 0, 0, REFERENCE]  # counts of 65535
        self.supply_mv = 12000

    def attach(self, chip: Any) -> None:
        """Put it on the pins."""
        from rp2040py.gpio_pin import GPIOPinState

        def high(name: str) -> bool:
            return bool(chip.gpio[GP[name]].value == GPIOPinState.HIGH)

        def sample(channel: int) -> None:
            counts = self.supply_mv * 65535 // DIVIDER_MV
            if channel == GP["probes"] - 26:
                counts = self.probes[high("mux_1") + 2 * high("mux_2") + 4 * high("mux_4")]
            elif channel == GP["drain"] - 26 and (high("fan") or not high("fan_supply")):
                counts = 0  # its own switch conducts, or its 12 V are off
            chip.adc.channel_values[channel] = counts >> 4
            convert(channel)

        convert = chip.adc.on_adc_read
        chip.adc.on_adc_read = sample


class Gate:
    """The gate of the blower's switch: what the registers of its PWM slice make of the pin."""

    def attach(self, chip: Any) -> None:
        """Put it on the pin."""
        self._chip = chip

    @property
    def pulsed(self) -> bool:
        """True while the slice has the pin and counts."""
        from rp2040py.gpio_pin import FUNCTION_PWM

        return bool(self._chip.gpio[GP["fan"]].ctrl & 0x1F == FUNCTION_PWM and self._slice.csr & 1)

    @property
    def share(self) -> float:
        """Share of the time in which the pin is high, 0..1 (RP2040 datasheet 4.5.2.2: CC counts out of TOP + 1)."""
        from rp2040py.gpio_pin import GPIOPinState

        if not self.pulsed:
            return 1.0 if self._chip.gpio[GP["fan"]].value == GPIOPinState.HIGH else 0.0
        return min(1.0, float((self._slice.cc & 0xFFFF) / (self._slice.top + 1)))

    @property
    def hertz(self) -> float:
        """Periods a second (4.5.2.6: f = f_sys / ((TOP + 1) (CSR_PH_CORRECT + 1) (DIV_INT + DIV_FRAC/16)))."""
        divider = self._slice.div / 16
        return float(self._chip.clk_sys / ((self._slice.top + 1) * (2 if self._slice.csr & 2 else 1) * divider))

    @property
    def _slice(self) -> Any:
        return self._chip.pwm.channels[PINS["fan"]["slice"]]


class Dice:
    """The ring oscillator's random bit, from a seed. The emulator's own never changes: every boot would be the same."""

    def __init__(self, seed: int = 1) -> None:
        self._bits = random.Random(seed)

    def attach(self, chip: Any) -> None:
        """Put it in the chip."""
        rosc = chip.peripherals[_ROSC]
        read = rosc.read_uint32
        rosc.read_uint32 = lambda offset: self._bits.getrandbits(1) if offset == _RANDOMBIT else read(offset)


class Watch:
    """When the watchdog was fed, ns of the chip's clock; and its bite, without the wait."""

    def __init__(self) -> None:
        self.fed: list[float] = []
        self.loaded = 0

    def attach(self, chip: Any) -> None:
        """Look at the watchdog's counter."""
        self._timer = timer = chip.watchdog.timer
        self._set = load = timer.set

        def fed(value: int) -> None:
            self.fed.append(chip.clock.nanos)
            self.loaded = value
            load(value)

        timer.set = fed

    def hurry(self, counts: int = 1000) -> None:
        """Move its counter close to the end."""
        self._set(counts)

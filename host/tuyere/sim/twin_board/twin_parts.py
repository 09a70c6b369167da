# mypy: ignore-errors
"""The twin's `machine`: pins and the chips behind them, at the level of registers, bits and counts.

The firmware gets `Machine` in place of the module `machine`, and `Clock` in place of `time`. Each frame brings what the
chips see through `Machine.sees`. Runs on MicroPython and CPython.
"""

import twin_frames as frames
from hearth.board import PINS
from hearth.core.fields import COLD_JUNCTION, PROBE_OPEN, PROBE_RANGE, PROBE_SHORT, PROBE_TO_SUPPLY
from hearth.drivers.max31855 import voltage
from hearth.drivers.supply import FULL_SCALE_MV

TICKS = 1 << 30  # ticks of a 32-bit board wrap at this value
BEFORE_WRAP = 600000  # ms; ticks start this long before the wrap, so that every night has one
REFERENCE = 65535 * 10000 // 32000  # counts at the reference resistor: 10 kohm below 22 kohm
# A lead of the couple on ground or on 3.3 V: the MAX31856 holds the couple at 0.735 V through 2 kohm (data sheet). So
# its bias drives 0.37 mA or 1.28 mA through some 5 ohm of lead: 1.8 mV and 6.4 mV, 45 C too cold and 157 C too hot.
# Neither sets a bit for certain: OVUV comes below ground and more than 0.35 V above the supply, and ends conversions.
ON_GROUND, ON_SUPPLY = -4500, 15700  # 0.01 C
DIVIDER, PULL = 55, 100  # kohm: the divider of the drain, and the pull-up of the drain without a blower
TURNS = 3000  # 1/min, a four-wire fan at full speed
REASON, SCRATCH = 0x40058008, 0x4005800C  # registers of the watchdog


class Pin:
    """A pin: its last level and the handler of its edges."""

    def __init__(self, number):
        self.number = number
        self.level = 1  # pulled up
        self.driven = False
        self.duty = 0
        self.pulse_ns = 0
        self.handler = None

    def __call__(self, level=None):
        if level is None:
            return self.level
        self.level = level
        return None

    def irq(self, handler, trigger, hard):
        """Call `handler` on edges."""
        self.handler = handler


class Pins:
    """`machine.Pin`. One number always gives the same object."""

    IN, OUT, PULL_UP, IRQ_FALLING = 0, 1, 1, 4

    def __init__(self):
        self.all = {}

    def __call__(self, number, mode=None, pull=None, value=None):
        if number not in self.all:
            self.all[number] = Pin(number)
        pin = self.all[number]
        if mode is not None:  # plain: no pulses any more
            pin.duty = pin.pulse_ns = 0
            pin.driven = mode == self.OUT
        if value is not None:
            pin.level = value
        return pin


class PWM:
    """`machine.PWM` on a pin."""

    def __init__(self, pin, freq, duty_u16):
        self._pin = pin
        self.hertz = freq
        self.duty_u16(duty_u16)

    def freq(self, hertz):
        """Set the frequency, Hz."""
        self.hertz = hertz

    def duty_u16(self, duty):
        """Set the high time of each period, 0..65535."""
        self._pin.duty = duty
        self._pin.driven = True

    def duty_ns(self, ns):
        """Set the high time of each period, ns."""
        self._pin.pulse_ns = ns

    def deinit(self):
        """Stop the slice."""


class Couple31856:
    """A MAX31856: sixteen registers. The address comes first; its bit 7 means write."""

    def __init__(self):
        self.registers = bytearray(16)
        self.write(b"\x83\x7f\xc0\x7f\xff\x80\x00")

    def write(self, data):
        """A write from the bus."""
        registers = self.registers
        first = data[0] & 0x7F
        registers[first : first + len(data) - 1] = data[1:]
        self._converts = registers[0] & 0x80
        self._warmest = signed(registers[3], 128) * 100
        self._coldest = signed(registers[4], 128) * 100
        self._hottest = signed(registers[5] << 8 | registers[6], 32768) * 100 // 16
        self._lowest = signed(registers[7] << 8 | registers[8], 32768) * 100 // 16

    def answer(self, data, into):
        """A read from the bus."""
        first = data[0]
        into[1:] = self.registers[first : first + len(into) - 1]

    def sees(self, hot, cold, faults):
        """One conversion, if the chip is set to convert. hot, cold: 0.01 C. faults: PROBE_ bits."""
        if not self._converts:
            return
        registers = self.registers
        if faults & frames.COUPLE_LIVE:  # it suspends its conversions
            registers[15] |= 0x02
            return
        hot += ON_GROUND if faults & PROBE_SHORT else ON_SUPPLY if faults & PROBE_TO_SUPPLY else 0
        raw = -(-hot * 128 // 100) & 0x7FFFF  # the least that the driver rounds down to the same 0.01 C
        registers[12] = raw >> 11
        registers[13] = raw >> 3 & 255
        registers[14] = raw << 5 & 224
        status = 0
        if cold > self._warmest:
            status |= 0x20
        if cold < self._coldest:
            status |= 0x10
        if hot > self._hottest:
            status |= 0x08
        if hot < self._lowest:
            status |= 0x04
        if faults:
            status |= 0x01 if faults & PROBE_OPEN else 0
            status |= 0x40 if faults & PROBE_RANGE else 0
            status |= 0x80 if faults & COLD_JUNCTION else 0
        registers[15] = status


def signed(value, half):
    """`value` read as two's complement; `half` is the weight of the sign bit."""
    return value - 2 * half if value >= half else value


class Couple31855:
    """A MAX31855: 32 bits, read only. It treats the couple as a straight line of 41.276 uV/C."""

    def __init__(self):
        self._bits = bytearray(4)
        self._turn = 0

    def write(self, data):
        """Ignored: the chip has no input."""

    def answer(self, data, into):
        """A read from the bus: 32 bits, then nothing."""
        for i in range(len(into)):
            into[i] = self._bits[i] if i < 4 else 0

    def sees(self, hot, cold, faults):
        """One conversion. hot, cold: 0.01 C. faults: PROBE_ bits."""
        told = 1 if faults & PROBE_OPEN else 0
        told |= 2 if faults & PROBE_SHORT else 0
        told |= 4 if faults & (PROBE_TO_SUPPLY | frames.COUPLE_LIVE) else 0
        self._turn ^= 1
        chip = cold * 16 // 100 + self._turn  # the chip's own temperature always moves a little
        line = chip + (voltage(hot * 16 // 100) - voltage(chip)) * 1600 // 41276
        first = (line // 4 & 0x3FFF) << 2 | (1 if told else 0)
        second = (chip & 0xFFF) << 4 | told
        self._bits[0], self._bits[1] = first >> 8, first & 255
        self._bits[2], self._bits[3] = second >> 8, second & 255


class SPI:
    """`machine.SPI` with one chip, which answers while its select line is low."""

    def __init__(self, machine):
        self._machine = machine
        self._select = machine.Pin(PINS["converter"])

    def write(self, data):
        """Clock `data` out."""
        if self._select.level == 0 and self._machine.bus in (frames.BUS_FINE, frames.BUS_FROZEN):
            self._machine.couple.write(data)

    def write_readinto(self, data, into):
        """Clock `data` out and the same number of bytes in."""
        bus = self._machine.bus
        if self._select.level == 0 and bus != frames.BUS_SILENT and bus != frames.BUS_LOW:
            self._machine.couple.answer(data, into)
            if bus == frames.BUS_SWAPPED:
                for i in range(0, len(into) - 1, 2):
                    into[i], into[i + 1] = into[i + 1], into[i]
            return
        for i in range(len(into)):
            into[i] = 0 if bus == frames.BUS_LOW else 0xFF

    def readinto(self, into):
        """Fill `into` from the bus."""
        self.write_readinto(b"\0", into)


class Probes:
    """The ADC pin behind the multiplexer."""

    def __init__(self, machine):
        self._machine = machine
        self._selects = [machine.Pin(PINS[name]) for name in ("mux_1", "mux_2", "mux_4")]

    def read_u16(self):
        """Counts of the channel that the select lines choose."""
        one, two, four = self._selects
        chosen = 0 if self._machine.mux_stuck else one.level | two.level << 1 | four.level << 2
        return self._machine.channels[chosen]


class SupplyPin:
    """The ADC pin at the supply's divider."""

    def __init__(self, machine):
        self._machine = machine

    def read_u16(self):
        """Counts of the supply."""
        return self._machine.supply


class DrainPin:
    """The ADC pin at the drain of the blower's switch. Its level depends on the gate's place in its pulse."""

    def __init__(self, machine):
        self._machine = machine
        self._clock = machine.clock
        self._gate = machine.Pin(PINS["fan"])
        self._feeds = machine.Pin(PINS["fan_supply"])

    def read_u16(self):
        """Counts of the drain at this very moment. It hangs on the fan's 12 V: by a two-wire blower, else by 100 k."""
        machine = self._machine
        fault = machine.fan
        if not machine.fed_fan():
            return 0
        if machine.wires == 4:
            return machine.supply * DIVIDER // (DIVIDER + PULL)
        conducts = self._clock.us % 1000 * 65535 < self._gate.duty * 1000
        if fault == frames.FAN_SWITCH_SHORTED or (conducts and fault != frames.FAN_SWITCH_OPEN):
            return 0
        return machine.supply * DIVIDER // (DIVIDER + PULL) if fault == frames.FAN_UNPLUGGED else machine.supply


class Clock:
    """`time`: ticks that wrap as on the board. Sleep takes no time; it only moves the phase of the pulses."""

    def __init__(self):
        self.now = 0  # ms since power-up
        self.us = 0

    def ticks_ms(self):
        """Ticks of the chip, ms."""
        return TICKS - BEFORE_WRAP + self.now & TICKS - 1

    def ticks_diff(self, later, earlier):
        """Difference of two ticks, ms, correct across the wrap."""
        return (later - earlier + (TICKS >> 1) & TICKS - 1) - (TICKS >> 1)

    def sleep_us(self, us):
        """Move the phase of the pulses on by `us`."""
        self.us += us

    def sleep_ms(self, ms):
        """Return at once."""


class WDT:
    """`machine.WDT`: records that it was fed."""

    def __init__(self, machine):
        self._machine = machine

    def feed(self):
        """Feed the watchdog."""
        self._machine.fed = True


class Machine:
    """`machine` for one board. converter: 31855 or 31856. wires: of the fan, 2 or 4. cause: of this boot. mark: the
    content of the watchdog's SCRATCH0, which survives the boot."""

    WDT_RESET = 3

    def __init__(self, converter=31856, wires=2, cause="power", mark=0):
        self.clock = Clock()
        self.Pin = Pins()
        self.PWM = PWM
        self.couple = Couple31855() if converter == 31855 else Couple31856()
        self.bus = frames.BUS_FINE
        self.mux_stuck = False
        self.channels = [65535, 65535, 65535, 65535, 0, 0, 0, REFERENCE]
        self.supply = 0
        self.fan = frames.FAN_WELL
        self.fed = False
        self.mem32 = {REASON: 1 if cause == "watchdog" else 0, SCRATCH: mark}
        self.wires = wires
        self._gate = self.Pin(PINS["fan"])
        self._feeds = self.Pin(PINS["fan_supply"])
        self._tach = self.Pin(PINS["tach"])

    def SPI(self, number, **more):
        """`machine.SPI`."""
        return SPI(self)

    def ADC(self, pin):
        """`machine.ADC`."""
        kinds = {PINS["probes"]: Probes, PINS["supply"]: SupplyPin, PINS["drain"]: DrainPin}
        return kinds[pin.number](self)

    def WDT(self, timeout):
        """`machine.WDT`."""
        return WDT(self)

    def unique_id(self):
        """The chip's number: eight bytes."""
        return b"tuyere.."

    def reset_cause(self):
        """The cause of this boot."""
        return self.WDT_RESET if self.mem32[REASON] else 1

    def reset(self):
        """Do nothing: the twin restarts the process."""

    def drive(self):
        """What the fan gets, 0..65535: its 12 V, and what its low side or its speed wire makes of them. A pin that
        nobody drives leaves the low side open and the wire low."""
        if not self.fed_fan():
            return 0
        if self.fan == frames.FAN_SWITCH_SHORTED:
            return 65535
        if not self._gate.driven:
            return 0
        return 65535 - self._gate.duty if self.wires == 4 else self._gate.duty

    def fed_fan(self):
        """True while the fan has its 12 V."""
        return self._feeds.level != 0 or self.fan == frames.FAN_SUPPLY_SHORTED

    def sees(self, now, hot, cold, faults, bus, probes, supply, fan):
        """Set what the parts of the board see from time `now` (ms) on."""
        self.fan = fan
        if self.wires == 4 and self._tach.handler and fan != frames.FAN_UNPLUGGED:
            for _ in range(TURNS * (now - self.clock.now) // 30000 * self.drive() // 65535):
                self._tach.handler(self._tach)
        self.clock.now = now
        self.bus = bus
        if bus != frames.BUS_FROZEN:
            self.couple.sees(hot, cold, faults)
        self.channels[:4] = probes
        self.supply = min(65535, supply * 65535 // FULL_SCALE_MV)

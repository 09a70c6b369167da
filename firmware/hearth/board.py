"""The board: pins to drivers, clock, byte stream. The only file that knows on what it runs.

`loop.run` needs of a board: `elapsed`, `sleep_until`, the parts (`configure`, `read`, `told`, `held`, `let_go`, `fan`,
`show`, `feed`, `end`, `release`), `stream`, `identity`, `draw_boot`, `ring_size`, `folder`, `cause`, `finished`.
`open_board` gives the Pico's, or the one that a twin laid beside `hearth`, which is a Pico too, with simulated chips on
its pins.

Guard: hang
    cause: a program that stands still, a bus that never answers
    evidence: the watchdog, fed only by a finished cycle (armed once the parts are made; before that nothing is
        driven); 8 s
    clears: by itself: see short outage
    does: restart: the pins let go, and resistors on the board hold either kind of fan off
    bounds: none
    reads: The board hung and was restarted
    tests: test_twin

Guard: clock wraps
    cause: the millisecond counter starts again from 0 after some days
    evidence: differences of ticks only
    clears: -
    does: nothing happens
    bounds: none
    reads: -
    tests: board_cases, test_twin
"""

import sys

from .core.fields import ABSENT, PERIOD_MS, PROBE_SILENT, TRIPPED
from .core.law import clip
from .core.records import Settings
from .drivers.blower import Blower
from .drivers.button import Button
from .drivers.buzzer import Buzzer
from .drivers.fan4 import Fan4
from .drivers.lamp import Lamp
from .drivers.max31855 import Max31855
from .drivers.max31856 import Max31856
from .drivers.mux import Mux
from .drivers.ntc import Ntc
from .drivers.sense import Drain, Tach
from .drivers.servo import HERTZ as SERVO
from .drivers.servo import TRAVEL_MS, Servo
from .drivers.supply import Supply
from .drivers.usb_line import UsbLine

# What is on which GP; the same as in hardware/pins.toml, and a test holds them together. The fan and the servo are on
# PWM slices that a soft reset stops (GP0-7, GP16-23).
PINS = {
    "mux_1": 2,
    "mux_2": 3,
    "mux_4": 4,
    "tach": 12,
    "buzzer": 13,
    "lamp": 14,
    "button": 15,
    "fan": 16,
    "converter": 17,
    "clock": 18,
    "to_converter": 19,
    "from_converter": 20,
    "servo": 21,
    "fan_supply": 22,
    "led": 25,
    "probes": 26,
    "supply": 27,
    "drain": 28,
}
# RP2040 datasheet, 4.7: REASON, bit 0 when the watchdog's timer ran out; SCRATCH0 outlives what the watchdog restarts,
# and is 0 after the supply or the RUN pin went low. MicroPython and its start use none but SCRATCH4 to 7.
_REASON = 0x40058008
_SCRATCH = 0x4005800C
_MARK = 11  # in SCRATCH0: this; 2 bits, how often the watchdog has bitten since; 24 bits, the last finished cycle
_BITES = 3  # three bites take half a minute: 8 s until each, and some 2 s to start


def open_board():
    """The board this program runs on; None, with the fan off and the prompt free, after a release."""
    if sys.platform == "rp2":
        pico = Pico()
        return None if pico.released else pico
    import twin_board  # the twin's own board, staged next to this package

    return twin_board.TwinBoard()


def usb_line():
    """The USB serial line as bytes; from here on Ctrl-C on it stops nothing."""
    import select

    import micropython

    micropython.kbd_intr(-1)  # a byte 0x03 in the stream is data
    return UsbLine(sys.stdin.buffer, sys.stdout.buffer, select)


class Pico:
    """A Pico and what is soldered to it. `machine`, `os`, `time` and `stream` are the board's own unless handed in.

    Made, it drives nothing and is fitted to the default settings; `configure` fits it to others.
    """

    ring_size = 0  # bytes of the ring in RAM; 0 for the loop's own
    folder = "/"  # where the store's files live: a name is put right behind it
    WATCHDOG_MS = 8000

    def __init__(self, machine=None, os=None, time=None, stream=None):
        if machine is None:
            import machine
        if os is None:
            import os
        if time is None:
            import time
        self._machine, self._os, self._time = machine, os, time
        self._finished = self._take_mark()
        self.released = self._was_released()
        if not self.released:
            self.stream = stream if stream else usb_line()  # first: nothing stops the program after this
        out = machine.Pin.OUT
        self._fan_supply = self._pin("fan_supply", out, value=0)
        self._fan_pwm = self._pwm("fan", 1000)
        self._servo_pwm = self._pwm("servo", SERVO)
        self._buzzer = Buzzer(self._pin("buzzer", out, value=0))
        self._lamp = Lamp((self._pin("lamp", out, value=0), self._pin("led", out, value=0)))
        self._switch = self._pin("button", machine.Pin.IN, machine.Pin.PULL_UP)
        self._button = Button()
        self._select = self._pin("converter", out, value=1)
        self._selects = [self._pin(name, out, value=0) for name in ("mux_1", "mux_2", "mux_4")]
        self._adc = machine.ADC(self._pin("probes"))
        self._supply = Supply(machine.ADC(self._pin("supply")))
        self._drain = Drain(machine.ADC(self._pin("drain")), self._supply.counts, time.sleep_us)
        # No pull-up of the chip's: with the board's 10 k in series it would hold the wire above what counts as low.
        self._tach = Tach(self._pin("tach", machine.Pin.IN), machine.Pin.IRQ_FALLING)
        self._fan = self._make_fan(2)
        self._ended = self._tripped = False
        self._fitted = {"fan": (2,)}
        self._ticks = time.ticks_ms()
        self._elapsed = self._read_at = 0
        self.configure(Settings())
        self.identity = {"board": machine.unique_id().hex(), "kind": "pico", "simulated": False}
        if not self.released:
            self._watchdog = machine.WDT(timeout=self.WATCHDOG_MS)

    def _pin(self, name, *mode, **more):
        return self._machine.Pin(PINS[name], *mode, **more)

    def _pwm(self, name, hertz):
        return self._machine.PWM(self._pin(name), freq=hertz, duty_u16=0)

    # -- who and when -----------------------------------------------------------------

    def draw_boot(self):
        """A random number for this power-up."""
        return int.from_bytes(self._os.urandom(4), "little")

    def cause(self):
        """What began this boot: "watchdog" if it had to step in, else "power" (a restart that was asked for, too)."""
        machine = self._machine
        if machine.reset_cause() == machine.WDT_RESET and machine.mem32[_REASON] & 1:
            return "watchdog"
        return "power"

    def finished(self):
        """Number of the last cycle that was finished before this boot, its low 24 bits, if that was within the last
        half minute; -1 where nobody knows how long the board was gone."""
        return self._finished

    def _take_mark(self):
        """Read what `feed` has left, and count the bite: a mark speaks for the restarts that follow it at once."""
        memory = self._machine.mem32
        mark = memory[_SCRATCH]
        bites = (mark >> 24 & 3) + 1
        if mark >> 26 != _MARK or bites > _BITES or self.cause() != "watchdog":
            memory[_SCRATCH] = 0
            return -1
        memory[_SCRATCH] = _MARK << 26 | bites << 24 | mark & 0xFFFFFF
        return mark & 0xFFFFFF

    def elapsed(self):
        """Milliseconds since power-up; the chip's ticks wrap every 12.4 days, this does not."""
        ticks = self._time.ticks_ms()
        self._elapsed += self._time.ticks_diff(ticks, self._ticks)
        self._ticks = ticks
        return self._elapsed

    def sleep_until(self, due, serve):
        """Serve the link until `due`, and look after button, lamp and buzzer."""
        while self.elapsed() < due:
            serve()
            now = self._elapsed
            self._button.step(not self._switch(), now)
            self._lamp.step(now)
            self._buzzer.step(now)
            self._time.sleep_ms(2)

    # -- parts ------------------------------------------------------------------------

    def configure(self, settings):
        """Fit the parts to a settings record, at boot and after every change of it. What is as before is left alone."""
        self._settings = settings
        if self._new("converter", settings.converter, settings.mains, settings.frozen_after):
            self._converter = self._make_converter(settings)
        if self._new("fan", settings.fan_wires):
            self._fan.set(0)
            self._fan = self._make_fan(settings.fan_wires)
        if self._new("servo", settings.servo_shut, settings.servo_open):
            self._servo_pwm.duty_ns(0)
            self._servo = self._make_servo(settings.servo_shut, settings.servo_open)
        if self._new("probes", settings.probe_ohms, settings.probe_beta, settings.series_ohms):
            self._ntc = Ntc(settings.probe_ohms, settings.probe_beta, settings.series_ohms)
            self._mux = Mux(self._selects, self._adc, self._time.sleep_us, settings.series_ohms)

    def _make_converter(self, settings):
        old = settings.converter == 31855
        spi = self._machine.SPI(
            0,
            baudrate=1000000,
            polarity=0,
            phase=0 if old else 1,
            sck=self._pin("clock"),
            mosi=self._pin("to_converter"),
            miso=self._pin("from_converter"),
        )
        if old:
            return Max31855(spi, self._select, settings.frozen_after * 1000 // PERIOD_MS)
        return Max31856(spi, self._select, settings.mains)

    def _make_fan(self, wires):
        self._fan_pwm.duty_u16(0)
        self._fan_pwm.freq(25000 if wires == 4 else 1000)
        if wires == 4:
            return Fan4(self._fan_pwm, self._fan_supply, self._tach, self._drain)
        return Blower(self._fan_pwm, self._fan_supply, self._drain)

    def _make_servo(self, shut, opened):
        return Servo(self._servo_pwm, shut, opened) if shut and opened else None

    def _new(self, part, *values):
        if self._fitted.get(part) == values:
            return False
        self._fitted[part] = values
        return True

    def read(self, now):
        """Fill `now` with the readings. A part that does not answer costs its reading, never more."""
        settings = self._settings
        at = self.elapsed()
        try:
            pit, now.faults = self._converter.read()
        except OSError:
            pit, now.faults = 0, PROBE_SILENT
        now.pit = clip(pit + settings.pit_offset, -5000, 50000)
        if self._mux.sound():
            now.meat_1 = self._probe(0, settings.meat_1_offset, 30000)
            now.meat_2 = self._probe(1, settings.meat_2_offset, 30000)
            now.meat_3 = self._probe(2, settings.meat_3_offset, 30000)
            now.ambient = self._probe(3, settings.ambient_offset, 12500)
        else:
            now.meat_1 = now.meat_2 = now.meat_3 = now.ambient = ABSENT
        now.supply = self._supply.read()
        now.fan_fault = self._fan.watch(now.supply, at - self._read_at)
        now.supply = min(now.supply, self._fan.least)
        now.turns = self._fan.turns
        self._read_at = at

    def _probe(self, channel, offset, highest):
        found = self._ntc.celsius(self._mux.read(channel))
        return found if found == ABSENT else clip(found + offset, -5000, highest)

    def told(self):
        """True once after a short press of the button: somebody opens the lid."""
        pressed, self._button.pressed = self._button.pressed, False
        return pressed

    def held(self):
        """True once when the button has been held for long; it may still be."""
        held, self._button.held = self._button.held, False
        return held

    def let_go(self):
        """True once when the button was let go after such a hold, by a finger: it does not stick."""
        let_go, self._button.let_go = self._button.let_go, False
        return let_go

    def fan(self, duty, demand=None):
        """Drive the fan at `duty`, 0.01 %, and the damper at the `demand` that it is a pulse of, `duty` if None."""
        if self._ended:
            return
        self._fan.set(duty)
        if self._servo:
            self._servo.set(duty if demand is None else demand)

    def show(self, out):
        """Show and call what the core decided: lamp and buzzer, until the next call."""
        if self._tripped and out.state != TRIPPED:
            self._fan.anew()
        self._tripped = out.state == TRIPPED
        self._lamp.show(out.state)
        self._buzzer.show(out)

    def feed(self, cycles):
        """The cycle of this number has finished: the watchdog may go on waiting, and a restart by it knows of it."""
        self._machine.mem32[_SCRATCH] = _MARK << 26 | cycles & 0xFFFFFF
        self._watchdog.feed()

    # -- ends -------------------------------------------------------------------------

    def end(self):
        """Everything off, the servo's pin plainly low and the fan's let go; only a restart drives them again.

        A stopped PWM slice leaves its pin at the level it happens to have: so the servo's duty goes to 0 first, and a
        period passes. The fan's pin is let go, not driven low: resistors on the board then hold either kind of fan off,
        whatever the settings say of it.
        """
        self._ended = True
        self._fan.set(0)
        self._fan_supply(0)
        if self._servo:
            self._servo.set(0)
            self._time.sleep_ms(TRAVEL_MS)
        self._servo_pwm.duty_u16(0)
        self._time.sleep_ms(1 + 1000 // SERVO)
        self._pin("servo", self._machine.Pin.OUT, value=0)
        self._servo_pwm.deinit()
        self._pin("fan", self._machine.Pin.IN)
        self._fan_pwm.deinit()
        self._pin("buzzer", self._machine.Pin.OUT, value=0)
        self._lamp.light(0)

    def release(self):
        """Restart to the prompt, without program and watchdog, so that files can be loaded."""
        self.end()
        with open(self.folder + "release", "w") as mark:
            mark.write("1")
        self._machine.reset()

    def _was_released(self):
        try:
            self._os.remove(self.folder + "release")
            return True
        except OSError:
            return False

"""A Pico on a made-up machine, for its cases. Runs on CPython and MicroPython.

The chips are those of the twin (`twin_parts`), on a clock that moves when it is slept on; what happens to the pulsed
pins is written down.
"""

import os

import twin_frames as frames
from hearth.board import PINS, Pico
from hearth.core import Now
from twin_parts import Clock, Machine

WARM = (40000, 30000, 20000, 52000)  # counts of the probes


class Ticking(Clock):
    """A clock that goes on while somebody sleeps."""

    def __init__(self, log):
        super().__init__()
        self._log = log

    def sleep_ms(self, ms):
        """Wait."""
        self.now += ms
        self._log.append(("wait", ms))


class Bench(Machine):
    """A machine that notes what is done to its pins, and whether it was restarted."""

    def __init__(self, converter=31856, wires=2, cause="power", mark=0):
        super().__init__(converter, wires, cause, mark)
        self.log = []
        self.clock = Ticking(self.log)
        self.armed = self.restarted = 0
        plain, pulsed = self.Pin, self.PWM

        class Noted(pulsed):
            """PWM, noted."""

            def duty_u16(noted, duty):
                """Noted."""
                super(Noted, noted).duty_u16(duty)
                self.log.append(("duty", noted._pin.number, duty))

            def deinit(noted):
                """Noted."""
                self.log.append(("stopped", noted._pin.number))

        def pin(number, mode=None, pull=None, value=None):
            if mode is not None:
                self.log.append(("plain" if mode == plain.OUT else "let go", number, value))
            return plain(number, mode, pull, value)

        self.PWM = Noted
        self.Pin = Caller(pin, plain)

    def WDT(self, timeout):
        """Noted."""
        self.armed = timeout
        return super().WDT(timeout)

    def reset(self):
        """Noted."""
        self.restarted += 1


class Caller:
    """`machine.Pin` with a function in front of it."""

    IN, OUT, PULL_UP, IRQ_FALLING = 0, 1, 1, 4

    def __init__(self, call, plain):
        self._call = call
        self.all = plain.all

    def __call__(self, number, mode=None, pull=None, value=None):
        return self._call(number, mode, pull, value)


class Here(Pico):
    """A Pico whose files lie in the working folder."""

    folder = ""


class NoLine:
    """Nobody on the cable."""


def made(settings=None, **kind):
    """(the machine, a Pico on it that has its first reading behind it)."""
    bench = Bench(**kind)
    pico = Here(bench, os, bench.clock, NoLine())
    if settings:
        pico.configure(settings)
    sees(bench)
    pico.read(Now())
    sees(bench)
    return bench, pico


def sees(
    bench, hot=12345, cold=2500, faults=0, bus=frames.BUS_FINE, probes=WARM, supply=12000, fan=frames.FAN_WELL, ms=0
):
    """One frame of the world."""
    bench.sees(bench.clock.now + ms, hot, cold, faults, bus, probes, supply, fan)


def reading(bench, pico, **world):
    """What `now` holds after one frame of the world."""
    now = Now()
    sees(bench, **world)
    pico.read(now)
    return now


def duty(bench, name):
    """What is on a pulsed pin."""
    return bench.Pin.all[PINS[name]].duty


def press(bench, pico, ms, rest=200):
    """Hold the button for so long while the board waits for its next cycle. The log begins anew: seconds of short waits
    would fill a board's heap."""
    bench.log.clear()
    pin = bench.Pin.all[PINS["button"]]
    pin.level = 1
    pico.sleep_until(pico.elapsed() + 100, lambda: None)
    pin.level = 0
    pico.sleep_until(pico.elapsed() + ms, lambda: None)
    pin.level = 1
    pico.sleep_until(pico.elapsed() + rest, lambda: None)

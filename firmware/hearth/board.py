"""The board: pins to drivers, clock, byte stream. The only file that knows on what it runs.

`loop.run` needs of a board: `elapsed`, `sleep_until`, the parts (`read`, `told`, `fan`, `feed`, `release`),
`stream`, `identity`, `draw_boot`, `ring_size`. `open_board` gives the Pico's, or the one that a twin laid
beside `hearth`.
"""

import sys

from .core.fields import ABSENT


def open_board():
    """The board this program runs on; None, with the fan off and the prompt free, after a release."""
    if sys.platform == "rp2":
        pico = Pico()
        return None if pico.released else pico
    import beside  # the twin's own board, staged next to this package

    return beside.Beside()


class Stream:
    """The USB serial line as bytes, both ways without blocking."""

    def __init__(self):
        import select

        import micropython

        micropython.kbd_intr(-1)  # a byte 0x03 in the stream is data
        self._in = sys.stdin.buffer
        self._out = sys.stdout.buffer
        self._poll = select.poll()
        self._poll.register(self._in, select.POLLIN)
        self._ready = select.poll()
        self._ready.register(self._out, select.POLLOUT)
        self._one = bytearray(1)

    def read(self):
        """What has come, at most 256 bytes."""
        got = bytearray()
        while len(got) < 256 and self._poll.poll(0):
            if not self._in.readinto(self._one):  # type: ignore[union-attr]  # the stubs lack it
                break
            got += self._one
        return got

    def write(self, data):
        """Write a little if there is room; how much went."""
        if not self._ready.poll(0):
            return 0
        return self._out.write(data[:64]) or 0


class Pico:
    """A Pico: thermocouple on SPI 0, blower on GP16 (a PWM slice that a soft reset stops), button on GP15."""

    ring_size = 0
    WATCHDOG_MS = 8000

    def __init__(self):
        import binascii
        import os
        import time

        import machine

        from .drivers.blower import Blower
        from .drivers.max31856 import Max31856

        self._machine, self._os, self._time = machine, os, time
        pwm = machine.PWM(machine.Pin(16), freq=1000, duty_u16=0)
        self._blower = Blower(pwm)
        spi = machine.SPI(
            0, baudrate=1000000, polarity=0, phase=1, sck=machine.Pin(18), mosi=machine.Pin(19), miso=machine.Pin(20)
        )
        self._pit = Max31856(spi, machine.Pin(17, machine.Pin.OUT, value=1))
        self._button = machine.Pin(15, machine.Pin.IN, machine.Pin.PULL_UP)
        self._down = self._pressed = False
        self.identity = {"board": binascii.hexlify(machine.unique_id()).decode(), "kind": "pico", "simulated": False}
        self._ticks = time.ticks_ms()
        self._elapsed = 0
        self.released = self._released()
        if not self.released:
            self.stream = Stream()
            self._watchdog = machine.WDT(timeout=self.WATCHDOG_MS)

    def draw_boot(self):
        """A random number for this power-up."""
        return int.from_bytes(self._os.urandom(4), "little")

    def elapsed(self):
        """Milliseconds since power-up; the chip's ticks wrap, this does not."""
        ticks = self._time.ticks_ms()
        self._elapsed += self._time.ticks_diff(ticks, self._ticks)
        self._ticks = ticks
        return self._elapsed

    def sleep_until(self, due, serve):
        """Serve the link until `due`."""
        while self.elapsed() < due:
            serve()
            down = not self._button.value()
            if down and not self._down:  # one press, one opening: a stuck button does not hold the lid open
                self._pressed = True
            self._down = down
            self._time.sleep_ms(2)

    def read(self, now):
        """Fill `now` with the readings."""
        pit, now.faults = self._pit.read()
        now.pit = max(-5000, min(50000, pit))
        now.meat_1 = now.meat_2 = now.meat_3 = now.ambient = ABSENT

    def told(self):
        """True once after the button was pressed."""
        pressed, self._pressed = self._pressed, False
        return pressed

    def fan(self, duty):
        """Drive the blower, 0.01 %."""
        self._blower.set(duty)

    def feed(self):
        """A cycle has finished: the watchdog may go on waiting."""
        self._watchdog.feed()

    def release(self):
        """Restart to the prompt, without program and watchdog, so that files can be loaded."""
        with open("release", "w") as mark:
            mark.write("1")
        self._machine.reset()

    def _released(self):
        try:
            self._os.remove("release")
            return True
        except OSError:
            return False

# mypy: ignore-errors
"""The twin's own board, staged next to `hearth` and run by the same interpreter.

It is the Pico of `hearth.board` with all its drivers, on the pins of `twin_parts`. Standard input and output are a pipe
to the twin. One frame goes out and one comes back, in lockstep (`twin_frames`). Runs on MicroPython and CPython.
"""

import json
import os
import struct
import sys

import twin_flash
import twin_frames as frames
from hearth.board import PINS, Pico
from hearth.drivers.button import LONG_MS
from twin_parts import SCRATCH, Machine

MOST = 4096  # bytes that wait for the next exchange
FROM_FLASH = 64  # records read from the flash per period; about as many as a Pico has time for
_BACK_SIZE = struct.calcsize(frames.BACK)


class Stream:
    """The serial line. Bytes wait here for the next exchange."""

    def __init__(self):
        self.came = b""
        self.going = bytearray(MOST)  # once and for all: a heap in fragments has no piece of this size left
        self.used = 0  # bytes of it
        self.room = 0

    def read(self):
        """Take the received bytes, at most 256, as over USB."""
        came, self.came = self.came[:256], self.came[256:]
        return came

    def write(self, data):
        """Queue as much of `data` as the line has room for. Returns the number of bytes queued."""
        count = min(len(data), self.room, MOST - self.used)
        self.going[self.used : self.used + count] = data[:count]
        self.used += count
        self.room -= count
        return count


class TwinBoard(Pico):
    """The board that `hearth.loop` gets from the twin."""

    def __init__(self):
        given = json.loads(os.getenv("TUYERE_BESIDE"))
        self.folder, self._flash = twin_flash.mount(given["flash_kb"])
        self.ring_size = given["ring_size"]
        self._boot = given["boot"]
        self._in = sys.stdin.buffer
        self._to = sys.stdout.buffer
        self._flush = self._to.flush if hasattr(self._to, "flush") else lambda: None
        self._parts = Machine(given["converter"], given["wires"], given["cause"], given["mark"])
        self._servo_pin = self._parts.Pin(PINS["servo"])
        self._lamp_pin = self._parts.Pin(PINS["lamp"])
        line = Stream()
        self.stream = line
        self._flags = 0
        self._buzzer = None
        self._came_out = given["identity"]["came_out"]
        self._begun = given["identity"]["outside_ms"]
        self._exchange(0, 0, 0)
        super().__init__(self._parts, os, self._parts.clock, line)
        self.identity = given["identity"]

    def draw_boot(self):
        """The number of this boot. The twin draws it, so that a seeded night can be repeated."""
        return self._boot

    def sleep_until(self, due, serve):
        """Let simulated time pass until `due`. The twin may return earlier with bytes from the host."""
        while self.elapsed() < due:
            self._lamp.step(self._elapsed)
            self._buzzer.step(self._elapsed)
            self._exchange(due, serve(FROM_FLASH), 0)
            if self._flags & (frames.TOLD | frames.HELD):
                self._press(LONG_MS + 100 if self._flags & frames.HELD else 200)
        serve()

    def end(self):
        """End as on the Pico, and show the final pins to the twin."""
        super().end()
        self._exchange(self._elapsed, 0, 0)

    def release(self):
        """Restart as a board does for an upload."""
        super().end()
        self._exchange(self._elapsed, 0, frames.RELEASED)
        sys.exit(0)

    def _calling(self):
        return self._buzzer is not None and self._buzzer.calling

    def _press(self, ms):
        """Play a press of `ms` to the button's driver. No simulated time passes."""
        now = self._elapsed
        for at in (-100, -50, 0, 50, ms - 1, ms, ms + 50):
            self._button.step(0 <= at < ms, now + at)

    def _exchange(self, due, percent, flags):
        stream = self.stream
        parts = self._parts
        if parts.fed:
            parts.fed = False
            flags |= frames.FED
        if self._lamp_pin.level:
            flags |= frames.LIT
        if self._calling():
            flags |= frames.CALLING
        servo = self._servo_pin.pulse_ns // 1000
        self._to.write(
            struct.pack(frames.OUT, due, parts.drive(), servo, percent, flags, parts.mem32[SCRATCH], stream.used)
        )
        if stream.used:
            self._to.write(memoryview(stream.going)[: stream.used])
        self._flush()
        stream.used = 0
        back = self._in.read(_BACK_SIZE)
        if len(back) < _BACK_SIZE:
            sys.exit(0)  # the twin has gone
        now, hot, cold, faults, bus, one, two, three, four, supply, fan, out, self._flags, stream.room, size = (
            struct.unpack(frames.BACK, back)
        )
        parts.sees(now, hot, cold, faults, bus, (one, two, three, four), supply, fan)
        parts.mux_stuck = self._flags & frames.MUX_STUCK != 0
        if self._flash:
            self._flash.fails = self._flags & frames.FLASH_FAILS != 0
        for i in range(len(self._came_out) if out else 0):
            if out >> i & 1 and not self._came_out[i]:
                self._came_out[i] = self._begun + now
        if size:
            stream.came += self._in.read(size)

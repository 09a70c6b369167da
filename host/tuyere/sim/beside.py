"""The twin's own board, staged next to `hearth` and run by the same interpreter.

Standard input and output are a pipe to the twin: one frame goes out and one comes back, in lockstep.
Out:  when to wake (ms), fan duty (0..65535), the ring's percent in use, flags, bytes for the host.
Back: time (ms), readings of the field table, flags, room for bytes to the host, bytes from the host.
Runs on MicroPython and CPython alike. The blower is the board's own driver on a pin that only notes its duty.
"""

import json
import os
import struct
import sys

from hearth.drivers.blower import Blower

OUT = "<QHBBH"
BACK = "<QihhhhBBHH"
RELEASE = 1
TOLD = 1
BACK_SIZE = struct.calcsize(BACK)


class Stream:
    """The serial line: bytes wait here for the next exchange."""

    def __init__(self):
        self.came = b""
        self.going = b""
        self.room = 0

    def read(self):
        """What has come, at most 256 bytes, as over USB."""
        came, self.came = self.came[:256], self.came[256:]
        return came

    def write(self, data):
        """Take as much as the line has room for; how much went."""
        part = data[: self.room]
        self.going += part
        self.room -= len(part)
        return len(part)


class Pin:
    """A PWM pin that notes its duty, 0..65535."""

    def __init__(self):
        self.duty = 0

    def duty_u16(self, duty):
        """Take a duty as `machine.PWM` does."""
        self.duty = duty


class Beside:
    """What `hearth.loop` needs of a board, brought by the twin."""

    def __init__(self):
        given = json.loads(os.getenv("TUYERE_BESIDE"))
        self.identity = given["identity"]
        self.ring_size = given["ring_size"]
        self._boot = given["boot"]
        self._in = sys.stdin.buffer
        self._to = sys.stdout.buffer
        self.stream = Stream()
        self._pin = Pin()
        self._blower = Blower(self._pin)
        self._told = False
        self._now = 0
        self._exchange(0, 0, 0)

    def draw_boot(self):
        """The number of this boot: drawn by the twin, so that a seeded night can be had again."""
        return self._boot

    def elapsed(self):
        """Simulated milliseconds since this boot."""
        return self._now

    def sleep_until(self, due, serve):
        """Let simulated time pass; the twin may come back earlier with bytes from the host."""
        while self._now < due:
            self._exchange(due, serve(), 0)
        serve()

    def read(self, now):
        """Fill `now` with the readings of the last exchange."""
        now.pit, now.meat_1, now.meat_2, now.meat_3, now.ambient = self._readings
        now.faults = self._faults

    def told(self):
        """True once after the button was pressed."""
        told, self._told = self._told, False
        return told

    def fan(self, duty):
        """Drive the blower from here on, 0.01 %."""
        self._blower.set(duty)

    def feed(self):
        """No watchdog here: a hung program hangs the lockstep, and the twin sees that."""

    def release(self):
        """Restart, as a board does for an upload."""
        self._exchange(self._now, 0, RELEASE)
        sys.exit(0)

    def _exchange(self, due, percent, flags):
        stream = self.stream
        self._to.write(struct.pack(OUT, due, self._pin.duty, percent, flags, len(stream.going)) + stream.going)
        if hasattr(self._to, "flush"):
            self._to.flush()
        stream.going = b""
        back = self._in.read(BACK_SIZE)
        if len(back) < BACK_SIZE:
            sys.exit(0)  # the twin has gone
        now, pit, one, two, three, ambient, faults, told, room, size = struct.unpack(BACK, back)
        self._now, self._faults, stream.room = now, faults, room
        self._readings = (pit, one, two, three, ambient)
        if told & TOLD:
            self._told = True
        if size:
            stream.came += self._in.read(size)

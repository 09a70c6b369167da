"""The twin's other end: a host on its line, its records read back, and a world that can be spoiled."""

from __future__ import annotations

import json
import os
import select
import struct
import threading
import time
from collections.abc import Callable

from hearth.core import Now, Out
from hearth.link import messages
from hearth.link.lines import Lines, encode
from tuyere.sim.outside import Outside, Readings
from tuyere.sim.twin import Twin

STANDS_S = 60.0


def hours(count: float) -> int:
    """ms."""
    return int(count * 3600_000)


def run_until(twin: Twin, done: Callable[[], bool], most: float = 3.0) -> None:
    """Let the twin run until the host, in its own thread, has what is waited for; `most` simulated hours. A twin that
    waits for its host for a minute of our own time fails: the test is to end, whatever is broken."""
    moved = [twin.outside_ms, time.monotonic()]

    def seen() -> bool:
        if twin.outside_ms != moved[0]:
            moved[:] = [twin.outside_ms, time.monotonic()]
        return done() or time.monotonic() - moved[1] > STANDS_S

    twin.run(until_ms=twin.outside_ms + hours(most), stop=seen)
    assert done()


class Host:
    """The other end of the line, in a thread: takes records in order, keeps every so many, notes what comes."""

    def __init__(self, path: str, keep_every: int = 20) -> None:
        self._far = os.open(path, os.O_RDWR | os.O_NOCTTY)
        self._lines = Lines()
        self._keep_every = keep_every
        self.records: list[bytes] = []
        self._read = 0  # of these, taken apart
        self._cycles: dict[int, list[tuple[Now, Out]]] = {}
        self.hellos: list[dict] = []
        self.answers: list[dict] = []
        self.notices: list[str] = []
        self.deaf = False  # it reads, and takes and keeps nothing
        self.boot: int | None = None
        self.expected = 0
        self._wake, self._waken = os.pipe()
        self.say("h", {"ask": 1})
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def say(self, kind: str, body: object) -> None:
        os.write(self._far, encode(kind, body if isinstance(body, bytes) else json.dumps(body).encode()))

    def raw(self, data: bytes) -> None:
        """Bytes that are no message."""
        os.write(self._far, data)

    def order(self, name: str, **arguments: object) -> None:
        self.say("o", {"id": len(self.answers), "name": name, **arguments})

    def close(self) -> None:
        os.close(self._waken)
        self._thread.join()
        os.close(self._far)
        os.close(self._wake)

    def _run(self) -> None:
        while self._wake not in select.select([self._far, self._wake], [], [])[0]:
            try:
                data = os.read(self._far, 65536)
            except OSError:  # the line was taken away
                return
            for kind, payload in self._lines.feed(data):
                self._take(kind, payload)

    def _take(self, kind: str, payload: bytes) -> None:
        if self.deaf:
            return
        if kind == messages.HELLO:
            self.hellos.append(json.loads(payload))
            if self.hellos[-1]["boot"] != self.boot:
                self.boot, self.expected = self.hellos[-1]["boot"], 0
            self.expected = max(self.expected, self.hellos[-1]["first"])
            self.say("f", struct.pack(messages.POSITION, self.boot, self.expected))
        elif kind == messages.NOTICE:
            self.notices.append(payload.decode())
        elif kind == messages.ANSWER:
            self.answers.append(json.loads(payload))
        elif kind == messages.RECORD:
            _, boot, sequence, _, _ = struct.unpack(messages.HEAD, payload[: messages.HEAD_SIZE])
            if boot == self.boot and sequence == self.expected:
                self.records.append(payload)
                self.expected += 1
                if self.expected % self._keep_every == 0:
                    self.say("k", struct.pack(messages.POSITION, boot, sequence))

    def cycles(self) -> list[tuple[Now, Out]]:
        """What every cycle of this boot was given and what it decided."""
        while self._read < len(self.records):
            record = self.records[self._read]
            self._read += 1
            kind, boot = struct.unpack_from(messages.HEAD, record)[:2]
            if kind == messages.CYCLE:
                now, out = Now(), Out()
                used = now.unpack(record[messages.HEAD_SIZE :])
                out.unpack(record[messages.HEAD_SIZE + used :])
                self._cycles.setdefault(boot, []).append((now, out))
        return self._cycles.get(self.boot, []) if self.boot is not None else []


class Spoiled(Outside):
    """A cooker whose readings are spoiled by `spoil(readings)` from `after` seconds on; notes how the fan turned."""

    def __init__(self, spoil: Callable[[Readings], None] = lambda readings: None, after: float = 0.0) -> None:
        super().__init__("upright", 1)
        self.spoil = spoil
        self.after = after
        self.air: list[float] = []

    def step(self, seconds: float, fan: float) -> Readings:
        """As the cooker, then spoiled."""
        self.air.append(fan)
        readings = super().step(seconds, fan)
        if self.now_s >= self.after:
            self.spoil(readings)
        return readings

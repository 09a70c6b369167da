"""Nights of the real twin, and logbooks made of their records, whole or tampered with."""

from __future__ import annotations

import contextlib
import itertools
import json
import os
import random
import shutil
import struct
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from hearth.core import fields
from hearth.link import messages
from hearth.link.lines import Lines, encode
from tuyere import staging
from tuyere.logbook import Logbook
from tuyere.logbook.decode import Layout, layout, layout_json
from tuyere.sim import pit_slots
from tuyere.sim.outside import Outside
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.script import Script
from tuyere.sim.twin import Twin

UTC = 1_778_000_000_000  # some instant
BOARD = "twin"


@dataclass
class Night:
    """What a host has of a night: a hello and all records of each boot, and the core that ran."""

    hellos: list[dict] = field(default_factory=list)
    records: list[bytes] = field(default_factory=list)
    files: dict[str, str] = field(default_factory=dict)  # source of the core
    interpreter: str = ""

    @property
    def core(self) -> str:
        return staging.core_hash(self.files)

    @cached_property
    def layout(self) -> Layout:
        text = layout_json(self.hellos[0])
        assert text
        return layout(text)

    def with_records(self, records: list[bytes]) -> Night:
        return replace(self, records=records)


def head(record: bytes) -> tuple[int, int, int, int, int]:
    """kind, boot, sequence, board ms, number of the settings."""
    return struct.unpack_from(messages.HEAD, record)


def find(night: Night, part: str, name: str) -> tuple[int, str]:
    """Offset and struct code of a field in a record's bytes; part is "now" or "out" (cycle), "memory" or "settings"."""
    at = messages.HEAD_SIZE
    if part in ("memory", "settings"):
        at += struct.calcsize(messages.STATE_HEAD)
    for one in ("now", "out") if part in ("now", "out") else ("memory", "settings"):
        for f in night.layout.parts[one]:
            if (one, f.name) == (part, name):
                return at, "<" + f.code
            at += struct.calcsize("<" + f.form)
    raise KeyError(name)


def read(night: Night, record: bytes, part: str, name: str) -> int:
    """A number of a record."""
    at, code = find(night, part, name)
    return int(struct.unpack_from(code, record, at)[0])


def tampered(night: Night, index: int, part: str, name: str, change: int) -> Night:
    """The night with one number of one record changed."""
    at, code = find(night, part, name)
    data = bytearray(night.records[index])
    (old,) = struct.unpack_from(code, data, at)
    struct.pack_into(code, data, at, old + change)
    return night.with_records([*night.records[:index], bytes(data), *night.records[index + 1 :]])


def cycles(night: Night, boot: int = 0) -> list[int]:
    """Indexes of the cycle records of a boot."""
    wanted = night.hellos[boot]["boot"]
    return [i for i, data in enumerate(night.records) if head(data)[:2] == (messages.CYCLE, wanted)]


def states(night: Night, cause: int, boot: int = 0) -> list[int]:
    """Indexes of the state records of a boot that were written for this cause."""
    wanted = night.hellos[boot]["boot"]
    found = [i for i, data in enumerate(night.records) if head(data)[:2] == (messages.STATE, wanted)]
    return [i for i in found if night.records[i][messages.HEAD_SIZE] == cause]


def fill(path: Path, night: Night, *, sources: bool = True, before: int = 0, gaps: str = "") -> int:
    """A logbook of this night at `path`; returns the number of its cook.

    sources: keep the core's source. before: so many records came before the cook began. gaps: a cause for
    every hole.
    """
    with Logbook(path) as book:
        for hello in night.hellos:
            book.boards.hello(BOARD, hello["boot"], hello, UTC)
        start = 0
        for hello in night.hellos:
            boot = hello["boot"]
            book.boards.pair(BOARD, boot, 0, UTC + start)
            its = [data for data in night.records if head(data)[1] == boot]
            start += max([head(data)[3] for data in its], default=0) + 30_000
        book.records.add(BOARD, head(night.records[0])[1], night.records[:before], None)
        cook = book.cooks.start("a night", UTC, BOARD, True)
        for hello in night.hellos:
            its = [data for data in night.records[before:] if head(data)[1] == hello["boot"]]
            book.records.add(BOARD, hello["boot"], its, cook)
            numbers = [head(data)[2] for data in its]
            for low, high in itertools.pairwise(numbers):
                if gaps and high > low + 1:
                    book.records.gap(BOARD, hello["boot"], low + 1, high - 1, gaps)
        if sources:
            book.cores.keep(night.core, night.files)
        return cook


class Host:
    """The other end of the twin's line, in step with it: takes records in order and keeps them."""

    def __init__(self, path: str, night: Night) -> None:
        self._far = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        self._night, self._lines = night, Lines()
        self._boot, self._expected, self._asked = -1, 0, 0
        self.answers: list[dict] = []
        self.ask()

    def ask(self) -> None:
        self._asked += 1
        self.say(messages.ASK, {"ask": self._asked})

    def order(self, name: str, **arguments: object) -> None:
        self._asked += 1
        self.say(messages.ORDER, {"id": self._asked, "name": name, **arguments})

    def say(self, kind: str, body: object) -> None:
        os.write(self._far, encode(kind, body if isinstance(body, bytes) else json.dumps(body).encode()))

    def close(self) -> None:
        os.close(self._far)

    def look(self) -> bool:
        """Take what has come; False, since nothing ends the night (`Twin.run` asks between any two turns)."""
        with contextlib.suppress(BlockingIOError):
            for kind, payload in self._lines.feed(os.read(self._far, 65536)):
                self._take(kind, payload)
        return False

    def _take(self, kind: str, payload: bytes) -> None:
        if kind == messages.HELLO:
            hello = json.loads(payload)
            if hello["boot"] != self._boot:
                self._night.hellos.append(hello)
                self._boot, self._expected = hello["boot"], 0
            self.say(messages.FETCH, struct.pack(messages.POSITION, self._boot, self._expected))
        elif kind == messages.ANSWER:
            self.answers.append(json.loads(payload))
        elif kind == messages.RECORD:
            _, boot, sequence, _, _ = head(payload)
            if boot == self._boot and sequence == self._expected:
                self._night.records.append(payload)
                self._expected += 1
                if self._expected % 20 == 0:
                    self.say(messages.KEEP, struct.pack(messages.POSITION, boot, sequence))


PROGRAMME = [
    [12110, 13500, fields.END_AFTER, 25],
    [10500, 11900, fields.END_AFTER, 20],
    [12110, 13500, fields.END_BY_HAND, 0],
]


def eventful(seed: int = 7) -> Night:
    """Two and a half hours on MicroPython: a programme, every kind of order, two power cuts, a probe fault, a trip."""
    script = Script.draw(seed, 3.0)
    script.add(pit_slots.PROBE_FAULT, 2.0 * 3600, fields.PROBE_OPEN, from_start=True)
    script.add(pit_slots.PROBE_FAULT, 2.05 * 3600, 0.0, from_start=True)
    twin = Twin(Outside("drum", seed, script), Line(), speed=0, boots=random.Random(seed))
    night = Night(files=staging.core_files(), interpreter=twin.interpreter)
    host = Host(twin.line.path, night)

    def until(hours: float) -> None:
        twin.run(until_ms=int(hours * 3600_000), stop=host.look)

    try:
        until(0.02)
        host.order("programme", rows=PROGRAMME)
        host.order("start")
        until(0.5)
        host.order("opened", seconds=60)
        until(0.6)
        host.order("band", low=11000, high=12500)
        until(0.65)
        host.order("fan", demand=3000, seconds=60)
        until(0.7)
        host.order("settings", values={"gain": 600, "lead": 60})
        until(0.8)
        host.order("phase", row=2)
        host.order("phase", row=9)
        until(1.1)
        host.ask()
        twin.power_cut()
        host.ask()
        until(1.15)
        host.order("start")
        until(1.25)
        host.order("settings", values={"gain": 500})
        until(2.1)  # an hour of this boot passes in here, and the fault with its trip
        host.order("start")
        host.order("acknowledge")
        host.order("start")
        until(2.3)
        twin.power_cut()
        host.ask()
        until(2.35)
    finally:
        host.close()
        twin.close()
    return night


def quiet(hours: float) -> Night:
    """A climb and then holding on MicroPython, in one boot."""
    twin = Twin(Outside("upright", 3), Line(), speed=0, boots=random.Random(3))
    night = Night(files=staging.core_files(), interpreter=twin.interpreter)
    host = Host(twin.line.path, night)
    try:
        host.order("start")
        twin.run(until_ms=int(hours * 3600_000), stop=host.look)
    finally:
        host.close()
        twin.close()
    return night


def another_core(folder: Path, name: str, change: Callable[[str], str]) -> Path:
    """A copy of the firmware with one file of its core changed, for `staging.HEARTH`."""
    copy = folder / "hearth"
    shutil.copytree(staging.HEARTH, copy, ignore=shutil.ignore_patterns("__pycache__"))
    file = copy / "core" / name
    old = file.read_text(encoding="utf-8")
    new = change(old)
    assert new != old
    file.write_text(new, encoding="utf-8")
    return copy

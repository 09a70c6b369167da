"""Decodes records with the layout that their own board announced. Today's field table may differ.

A layout is what `hearth.core.records.layout` gives and the hello carries:
{"now": [[name, struct code, count, scale], ...], "out": ..., "memory": ..., "settings": ...}.
The head of a record (`hearth.link.messages.HEAD`) is the same for all versions.
"""

from __future__ import annotations

import functools
import json
import struct
import sys
from array import array
from collections.abc import Collection, Iterator
from typing import Any

from hearth.core import fields
from hearth.link import messages
from msgspec import Struct

from tuyere.logbook.errors import LogbookDamaged

PARTS = ("now", "out", "memory", "settings")
SIZES = {code: struct.calcsize("<" + code) for code in "bBhHiIqQ"}
HEAD_NAMES = ("kind", "boot", "sequence", "at", "settings")
Number = int | float | None
Value = int | list[int]


class Field(Struct, frozen=True):
    """One field of a part: `count` 0 for a single number; a person reads value / scale."""

    name: str
    code: str
    count: int
    scale: int

    @property
    def form(self) -> str:
        return self.code * (self.count or 1)


def layout_json(hello: dict[str, Any]) -> str | None:
    """The layout in a hello (under "layout", or at its top) as canonical JSON; None if there is no usable one."""
    found = hello.get("layout", hello)
    try:
        parts = {part: [[str(name), code, count, scale] for name, code, count, scale in found[part]] for part in PARTS}
    except (KeyError, TypeError, ValueError):
        return None
    for rows in parts.values():
        for _, code, count, scale in rows:
            good = isinstance(code, str) and code in SIZES and type(count) is int and type(scale) is int
            if not good or not 0 <= count <= 4096 or scale < 1:
                return None
    return json.dumps(parts, separators=(",", ":"), sort_keys=True)


def _column(data: bytes, offset: int, size: int, code: str) -> list[int]:
    """The numbers at `offset` in every `size` bytes. Copying with strides takes a quarter of the time of unpacking."""
    width = SIZES[code]
    packed = bytearray(len(data) // size * width)
    for i in range(width):
        packed[i::width] = data[offset + i :: size]
    numbers = array(code)
    numbers.frombytes(packed)
    if sys.byteorder == "big":
        numbers.byteswap()
    return numbers.tolist()


class Layout:
    """How to read the records of one firmware."""

    def __init__(self, text: str) -> None:
        parts = json.loads(text)
        self.parts = {part: tuple(Field(*row) for row in parts[part]) for part in PARTS}
        self.cycle_fields = [("now", f) for f in self.parts["now"]] + [("out", f) for f in self.parts["out"]]
        form = "".join(f.form for _, f in self.cycle_fields)
        self.cycle = struct.Struct(messages.HEAD + form)
        inner = "".join(f.form for part in ("memory", "settings") for f in self.parts[part])
        self.state = struct.Struct(messages.HEAD + messages.STATE_HEAD[1:] + inner)
        self.absent = {f.name for f in self.parts["now"] if f.name.startswith("meat") or f.name == "ambient"}

    def fits(self, record: bytes) -> bool:
        """Whether a record has the length of this layout."""
        return len(record) == (self.cycle if record[0] == messages.CYCLE else self.state).size

    def pick(self, names: Collection[tuple[str, str]], data: bytes) -> dict[tuple[str, str], list[int]]:
        """Some fields of many cycle records laid end to end, as columns; ("head", ...) names the head's.

        A field this layout does not have is not in the answer, nor is a row of numbers.
        """
        columns: dict[tuple[str, str], list[int]] = {}
        offset = 0
        head = zip(HEAD_NAMES, messages.HEAD[1:], strict=True)
        for key, code, count in [
            *((("head", name), code, 0) for name, code in head),
            *(((part, f.name), f.code, f.count) for part, f in self.cycle_fields),
        ]:
            if key in names and not count:
                columns[key] = _column(data, offset, self.cycle.size, code)
            offset += SIZES[code] * (count or 1)
        return columns

    def scale(self, part: str, name: str) -> int:
        """Scale of a field, 1 if there is none of that name."""
        return next((f.scale for f in self.parts[part] if f.name == name), 1)

    def cycles(self, data: bytes) -> Iterator[dict[str, Any]]:
        """Many cycle records laid end to end -> dicts with head fields and now_*, out_* in a person's units."""
        names = [f"{part}_{f.name}" for part, f in self.cycle_fields]
        for numbers in self.cycle.iter_unpack(data):
            row: dict[str, Any] = {"boot": numbers[1], "sequence": numbers[2], "at": numbers[3], "settings": numbers[4]}
            i = len(HEAD_NAMES)
            for name, (_, f) in zip(names, self.cycle_fields, strict=True):
                if f.count:
                    row[name] = [self._person(f, number) for number in numbers[i : i + f.count]]
                else:
                    row[name] = self._person(f, numbers[i])
                i += f.count or 1
            yield row

    def _person(self, f: Field, number: int) -> Number:
        if f.name in self.absent and number <= fields.ABSENT:
            return None
        return number / f.scale if f.scale != 1 else number

    def state_parts(self, record: bytes) -> tuple[int, str, dict[str, Value], dict[str, Value]]:
        """A state record -> cause, hash of the core in hex, memory, settings; whole numbers as on the board."""
        try:
            numbers = self.state.unpack(record)
        except struct.error as error:
            raise LogbookDamaged(f"a state record has {len(record)} bytes where {self.state.size} belong") from error
        i = len(HEAD_NAMES)
        cause, core = numbers[i : i + 2]
        i += 2
        parts: list[dict[str, Value]] = []
        for part in ("memory", "settings"):
            values: dict[str, Value] = {}
            for f in self.parts[part]:
                values[f.name] = list(numbers[i : i + f.count]) if f.count else numbers[i]
                i += f.count or 1
            parts.append(values)
        return cause, core.hex(), parts[0], parts[1]


@functools.lru_cache(maxsize=64)
def layout(text: str) -> Layout:
    """The Layout of a canonical JSON text. Cached."""
    return Layout(text)

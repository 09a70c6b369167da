"""A row from its bytes. Format: https://www.sqlite.org/fileformat2.html, sections 1.6 and 2.1

The header of a row gives the types and sizes of its columns. Rows of one table share few headers, so how to read each
is worked out once.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from functools import lru_cache
from operator import itemgetter
from typing import Any

WHOLE = {1: "b", 2: "h", 4: "i", 6: "q"}  # type of a whole number -> its letter in a struct
HALVES = {3: ("bH", 16), 5: ("hI", 32)}  # of 3 and 6 bytes: the letters of both parts, and the bits of the second

Parts = tuple[Any, ...]


def varint(data: bytes, at: int) -> tuple[int, int]:
    """Number and where it ends, section 1.6. IndexError if the bytes end first."""
    value = data[at]
    if value < 0x80:
        return value, at + 1
    byte = data[at + 1]
    value = (value & 0x7F) << 7 | byte & 0x7F
    if byte < 0x80:
        return value, at + 2
    for i in range(2, 8):
        byte = data[at + i]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + i + 1
    value = value << 8 | data[at + 8]
    return (value - (1 << 64) if value >> 63 else value), at + 9


def values(payload: bytes) -> list[Any]:
    """The columns of a row, section 2.1. ValueError, IndexError or struct.error for bytes that are none."""
    end = payload[0] if payload[0] < 0x80 else varint(payload, 0)[0]
    form, columns = _shape(payload[:end])
    if form.size != len(payload) - end:
        raise ValueError("the columns do not fill the row")
    parts = form.unpack_from(payload, end)
    return [column(parts) for column in columns]


@lru_cache(maxsize=4096)
def _shape(head: bytes) -> tuple[struct.Struct, list[Callable[[Parts], Any]]]:
    """How to read the rows with this header: their bytes, and each column from the parts of these."""
    end, at = varint(head, 0)
    if end != len(head):
        raise ValueError("the header reaches beyond the row")
    letters, count = ">", 0
    columns: list[Callable[[Parts], Any]] = []
    while at < end:
        kind, at = varint(head, at)
        if kind in (0, 8, 9):  # no bytes: NULL, 0, 1
            columns.append(_constant(None if kind == 0 else kind - 8))
            continue
        if kind in WHOLE or kind == 7:
            letters += WHOLE.get(kind, "d")
            columns.append(itemgetter(count))
        elif kind in HALVES:
            letters += HALVES[kind][0]
            columns.append(_joined(count, HALVES[kind][1]))
            count += 1
        elif 12 <= kind < 1 << 40:
            letters += f"{(kind - 12) // 2}s"
            columns.append(_text(count) if kind % 2 else itemgetter(count))
        else:
            raise ValueError(f"there is no type {kind}")
        count += 1
    return struct.Struct(letters), columns


def _constant(value: int | None) -> Callable[[Parts], Any]:
    return lambda parts: value


def _joined(at: int, bits: int) -> Callable[[Parts], Any]:
    return lambda parts: parts[at] << bits | parts[at + 1]


def _text(at: int) -> Callable[[Parts], Any]:
    return lambda parts: parts[at].decode()

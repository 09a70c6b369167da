"""Records made from the field table: plain objects with one attribute a field, and their bytes.

Bytes are little-endian, packed, each field as narrow as its range allows. The
layout is sent in the hello, so a host of another version can still read it.
"""

import struct

from .fields import MEMORY, NOW, OUT, SETTINGS


def _split(name):
    """("rows[32]") -> ("rows", 32); ("pit") -> ("pit", 0)."""
    if name.endswith("]"):
        name, count = name[:-1].split("[")
        return name, int(count)
    return name, 0


def _code(low, high):
    if low >= 0:
        return "B" if high < 256 else "H" if high < 65536 else "I"
    if low >= -128 and high < 128:
        return "b"
    return "h" if low >= -32768 and high < 32768 else "i"


def layout(table):
    """[[name, struct code, count, scale], ...] of a table; count 0 for a single number."""
    return [[_split(row[0])[0], _code(row[3], row[4]), _split(row[0])[1], row[2]] for row in table]


def codes(table):
    """The struct format of a table, without byte order."""
    return "".join([code * (count or 1) for _, code, count, _ in layout(table)])


class Record:
    """One record: an attribute a field, set to the table's defaults."""

    TABLE = NAMES = ()
    FORM = "<"

    def __init__(self):
        for row, (name, count) in zip(self.TABLE, self.NAMES):
            setattr(self, name, [row[5]] * count if count else row[5])

    def values(self):
        """All numbers in the order of the table, rows of numbers laid flat."""
        flat = []
        for name, count in self.NAMES:
            if count:
                flat.extend(getattr(self, name))
            else:
                flat.append(getattr(self, name))
        return flat

    def set_values(self, flat):
        """Take all numbers in the order of the table."""
        i = 0
        for name, count in self.NAMES:
            setattr(self, name, list(flat[i : i + count]) if count else flat[i])
            i += count or 1

    def pack(self):
        """The record's bytes."""
        return struct.pack(self.FORM, *self.values())

    def unpack(self, data):
        """Take the numbers out of `data`; returns how many bytes were used."""
        size = struct.calcsize(self.FORM)
        self.set_values(struct.unpack(self.FORM, data[:size]))
        return size

    def wrong(self):
        """The first field out of its range as (name, value, low, high), or None."""
        for row, (name, count) in zip(self.TABLE, self.NAMES):
            value = getattr(self, name)
            for number in value if count else (value,):
                if not row[3] <= number <= row[4]:
                    return name, number, row[3], row[4]
        return None


class Now(Record):
    """What one cycle is given."""

    TABLE = NOW


class Memory(Record):
    """What the law carries from cycle to cycle."""

    TABLE = MEMORY


class Out(Record):
    """What one cycle decides."""

    TABLE = OUT


class Settings(Record):
    """What a person may set."""

    TABLE = SETTINGS


for _kind in (Now, Memory, Out, Settings):
    _kind.NAMES = tuple([_split(row[0]) for row in _kind.TABLE])
    _kind.FORM = "<" + codes(_kind.TABLE)

"""One step inside, at, and outside of every range of the field table. Too much to pack for the small interpreter."""

from __future__ import annotations

import pytest
from hearth.core import Memory, Now, Out, Settings
from hearth.core.records import Record


@pytest.mark.parametrize("kind", [Now, Memory, Out, Settings])
def test_every_field_holds_its_ends_and_nothing_beyond(kind: type[Record]) -> None:
    record, back = kind(), kind()
    for row, (name, count) in zip(kind.TABLE, kind.NAMES, strict=True):
        usual, low, high = getattr(record, name), row[3], row[4]
        assert low <= row[5] <= high, name
        for value in (low, low + 1, high - 1, high):
            setattr(record, name, [usual[0]] * (count - 1) + [value] if count else value)
            assert record.wrong() is None, (name, value)
            back.unpack(record.pack())
            assert back.values() == record.values(), (name, value)
        for value in (low - 1, high + 1):
            setattr(record, name, [usual[0]] * (count - 1) + [value] if count else value)
            assert record.wrong() == (name, value, low, high)
        setattr(record, name, usual)

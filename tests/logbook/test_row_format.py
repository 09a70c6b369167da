"""Rows from their bytes, as section 2.1 of https://www.sqlite.org/fileformat2.html has them."""

import pytest
from tuyere.logbook.row_format import values, varint


@pytest.mark.parametrize(
    ("data", "number"),
    [
        (b"\x00", 0),
        (b"\x7f", 127),
        (b"\x81\x00", 128),
        (b"\xff\x7f", 16383),
        (b"\x81\x80\x00", 16384),
        (b"\xff" * 8 + b"\x00", -256),  # the ninth byte gives all of its eight bits
        (b"\xff" * 9, -1),
    ],
)
def test_a_number_takes_one_to_nine_bytes(data: bytes, number: int) -> None:
    assert varint(b"?" + data, 1) == (number, 1 + len(data))


def test_columns_of_every_type() -> None:
    head = bytes([13, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 14, 15])
    whole = b"".join((-2).to_bytes(size, "big", signed=True) for size in (1, 2, 3, 4, 6, 8))
    body = whole + b"\x3f\xf8" + bytes(6) + b"b" + b"t"
    assert values(head + body) == [None, -2, -2, -2, -2, -2, -2, 1.5, 0, 1, b"b", "t"]


@pytest.mark.parametrize(
    ("payload", "words"),
    [
        (b"\x02\x01", "the columns do not fill the row"),
        (b"\x02\x01\x05\x06", "the columns do not fill the row"),
        (b"\x04\x01\x05", "the header reaches beyond the row"),
        (b"\x02\x0a", "there is no type 10"),
    ],
)
def test_bytes_that_are_no_row_are_refused(payload: bytes, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        values(payload)

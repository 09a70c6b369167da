"""A long message in portions is the same line as in one piece."""

import json

import pytest
from hearth.core import fields
from hearth.core.records import layout
from hearth.link.lines import PORTION, decode, encode, encode_portions
from hearth.link.talk import portions


@pytest.mark.parametrize("size", [0, 1, 2, 3, PORTION - 2, PORTION - 1, PORTION, PORTION + 1, 5000])
@pytest.mark.parametrize("step", [1, 7, 300, 6000])
def test_the_line_is_that_of_one_piece(size: int, step: int) -> None:
    payload = bytes(i % 251 for i in range(size))
    pieces = encode_portions("H", [payload[i : i + step] for i in range(0, size, step)])
    assert b"".join(pieces) == encode("H", payload)
    assert all(len(piece) <= (PORTION + step) * 4 / 3 + 8 for piece in pieces)


def test_a_hello_is_whole_json_with_its_tables_as_layouts() -> None:
    hello = {"board": "x", "none": {}, "rows": [[1, 2]], "ask": None, "layout": {"now": fields.NOW, "out": fields.OUT}}
    line = b"".join(encode_portions("H", portions(hello)))
    found = decode(line.strip())
    assert found is not None
    said = json.loads(found[1])
    assert said == {**hello, "layout": {"now": layout(fields.NOW), "out": layout(fields.OUT)}}

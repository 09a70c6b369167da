"""Writes `tests/link/odd.txt`: what the board answers to lines of every kind that hold something odd.

Run it with `python tests/link/odd.py` after a change of the board's side of the protocol. The diff says what it answers
otherwise than before; look at each line.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Iterator
from pathlib import Path

from fake_board import FakeBoard, Wire
from hearth.core.fields import BOARD_FLASH
from hearth.link import lines, messages
from hearth.loop import Loop

PAGE = Path(__file__).with_name("odd.txt")
BODIES: tuple[object, ...] = (
    "{", [], {}, 7, None, {"ask": "who"}, {"id": 5}, {"id": [5], "name": 5}, {"id": 5, "name": "start", "more": 1},
    {"id": 5, "name": "band", "low": 12000}, {"id": 5, "name": "band", "low": 12000, "high": True},
    {"id": 5, "name": "band", "low": 12000, "high": 12000.0}, {"id": 5, "name": "band", "low": 3999, "high": 12000},
    {"id": 5, "name": "band", "low": 20000, "high": 22001}, {"id": 5, "name": "witness", "probe": 4},
    {"id": 5, "name": "programme"}, {"id": 5, "name": "programme", "rows": [7]},
    {"id": 5, "name": "programme", "rows": [[12110, 13500, 9, 0]]},
    {"id": 5, "name": "programme", "rows": [[12110, 21500, 0, 0]]},
    {"id": 5, "name": "programme", "rows": [[12110, 13500, 0, 0]], "row": "1"},
    {"id": 5, "name": "programme", "rows": [[12110, 13500, 0, 0]], "row": 1},
    {"id": 5, "name": "programme", "rows": [[12110, 13500, 0, 0]], "row": -1},
    {"id": 5, "name": "programme", "rows": [[12110, 13500, 0, 0]], "row": 0, "afresh": True},
    {"id": 5, "name": "settings"}, {"id": 5, "name": "settings", "values": []},
    {"id": 5, "name": "settings", "values": {"gain": 9999}}, {"id": 5, "name": "settings", "values": {"gain": "4"}},
    {"id": 5, "name": "settings", "values": {"pit_limit": 11000}}, {"id": 5, "name": "settings", "values": {}},
)  # fmt: skip
PLACES = ((7, 0), (7, 1), (7, 99), (8, 0))  # boot, sequence


def lines_of() -> Iterator[tuple[str, str, bytes]]:
    """(kind, words, payload)."""
    for kind in messages.ASK + messages.ORDER:
        for body in BODIES if kind == messages.ORDER else BODIES[:6]:
            yield kind, json.dumps(body), body.encode() if isinstance(body, str) else json.dumps(body).encode()
    for kind in messages.KEEP + messages.FETCH:
        for boot, sequence in PLACES:
            yield kind, f"boot {boot}, {sequence}", struct.pack(messages.POSITION, boot, sequence)
    for kind in messages.ASK + messages.ORDER + messages.KEEP + messages.FETCH + messages.HELLO + "X":
        yield kind, "bytes", b"\xff\xfe\x00"


def answered(kind: str, payload: bytes) -> str:
    """What a board of three records says in the two cycles after such a line, and how it stands."""
    wire = Wire()
    loop = Loop(FakeBoard(wire))
    loop.step()
    wire.take()
    wire.to_board += lines.encode(kind, payload)
    loop.step()
    loop.step()
    said = []
    for came, body in lines.Lines().feed(wire.take()):
        if came == messages.RECORD:
            said.append(f"R {struct.unpack_from(messages.HEAD, body)[2]}")
        elif came == messages.HELLO:
            said.append(f"H to {json.dumps(json.loads(body)['ask'])}")
        else:
            said.append(f"{came} {body.decode()}")
    ring, memory = loop.ring, loop.memory
    stands = f"holds {ring.first} to {ring.next - 1}, mode {memory.mode}, phases {memory.phases}"
    flash = ", flash" * bool(loop.flash.health & BOARD_FLASH)
    return f"{'; '.join(said)} | {stands}, settings {loop.settings_number}{flash}"


def written() -> str:
    """The page."""
    return "".join(f"{kind} {words}\n    {answered(kind, payload)}\n" for kind, words, payload in lines_of())


if __name__ == "__main__":
    PAGE.write_text(written(), encoding="utf-8")

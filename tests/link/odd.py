"""Writes `tests/link/odd.txt`: what board and host make of lines of every kind that hold something odd.

Run it with `python tests/link/odd.py` after a change of either side of the protocol. The diff says what is made of them
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
from session_kit import HELLO
from tuyere.link.session import Session

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


def said_by_a_board() -> Iterator[tuple[str, bytes]]:
    """(kind, payload) of what a host may hear."""
    hello = {**HELLO, "ask": 2}
    changes: tuple[dict[str, object], ...] = (
        {}, {"ask": 3}, {"ask": "2"}, {"ask": None}, {"link": 2}, {"link": "1"}, {"board": ""}, {"board": "b" * 65},
        {"board": "\x1b[2J"}, {"boot": -1}, {"boot": 2**32}, {"at": -1}, {"at": 2**53 + 1}, {"first": 1},
        {"first": 2**32}, {"next": 2**32}, {"earlier": [[6, 0]]}, {"earlier": [[6, 0, 2**32]]}, {"lost": [[7, 0, 1]]},
        {"lost": [[7, 0, 1, 5]]}, {"ran": [[6, 5]]}, {"ran": None}, {"more": [[[]]]},
    )  # fmt: skip
    for change in changes:
        yield messages.HELLO, json.dumps({**hello, **change}).encode()
    for name in hello:
        yield messages.HELLO, json.dumps({key: value for key, value in hello.items() if key != name}).encode()
    for body in (b"", b"{", b"[]", b"7", b"null", b"\xff\xfe\x00", b"[" * 3000):
        for kind in messages.HELLO + messages.ANSWER:
            yield kind, body
    for answer in (
        {"id": 2, "ok": True}, {"id": 2, "ok": False, "why": "too_soon"}, {"id": 3, "ok": True}, {"id": 2, "ok": 1},
        {"id": "2", "ok": True}, {"id": 2}, {"id": 2, "ok": True, "why": 5}, {"id": 2, "ok": False, "why": "busy"},
        {"id": 2, "ok": False, "why": "\x1b[2J"}, {"id": 2, "ok": True, "why": "busy"},
        {"id": 2, "ok": False, "why": "over_limit", "numbers": {"high": 1}},
        {"id": 2, "ok": False, "why": "over_limit", "numbers": {"high": "1"}},
    ):  # fmt: skip
        yield messages.ANSWER, json.dumps(answer).encode()
    head = struct.pack(messages.HEAD, messages.CYCLE, 7, 0, 0, 0)
    for record in (head, head + b"more", head[:-1], b"", struct.pack(messages.HEAD, 9, 7, 0, 0, 0)):
        yield messages.RECORD, record
    for notice in (b"", b" cold ", b"\xff", b"\x1b[2J"):
        yield messages.NOTICE, notice
    for kind in messages.ASK + messages.KEEP + messages.FETCH + messages.ORDER + "X":
        yield kind, b"{}"


def heard(kind: str, payload: bytes) -> str:
    """What a host that has a board makes of it, which has asked as number 2, and has ordered as number 2."""
    session = Session(lambda board, boot: 0, first_ask=0)
    session.opened(0.0)
    session.feed(lines.encode(messages.HELLO, json.dumps({**HELLO, "ask": 1}).encode()), 0.1)
    session.order("stop", 0.2)
    session._say_ask(0.2)
    session.take()
    told = []
    for event in session.feed(lines.encode(kind, payload), 0.3):
        words = ", ".join(str(part) for part in event if not isinstance(part, dict) or len(part) < 2)
        told.append(f"{type(event).__name__} {words}")
    said = [lines_kind for lines_kind, _ in lines.Lines().feed(session.take())]
    stands = f"{session.damaged} damaged, stands {session.standing}, expects {session.expected}"
    return f"{'; '.join(told)} | says {''.join(said) or 'nothing'}, {stands}"


def written() -> str:
    """The page."""
    board = [f"{kind} {words}\n    {answered(kind, payload)}\n" for kind, words, payload in lines_of()]
    host = [f"{kind} {repr(payload)[1:90]}\n    {heard(kind, payload)}\n" for kind, payload in said_by_a_board()]
    return "".join(["To the board\n", *board, "\nTo the host\n", *host])


if __name__ == "__main__":
    PAGE.write_text(written(), encoding="utf-8")

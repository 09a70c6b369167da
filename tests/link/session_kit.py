"""What the tests of the host's side of the protocol share: lines of a board, and a session that stands."""

from __future__ import annotations

import json
import struct

from hearth.link import lines, messages
from tuyere.link.session import Session

HELLO = {"link": 1, "board": "b", "boot": 7, "at": 1000, "first": 0, "next": 0}


def messages_of(data: bytes) -> list[tuple[str, bytes]]:
    return lines.Lines().feed(data)


def hello_line(session: Session, **changes: object) -> bytes:
    asks = [json.loads(body)["ask"] for kind, body in messages_of(session.take()) if kind == messages.ASK]
    return lines.encode(messages.HELLO, json.dumps({**HELLO, "ask": asks[-1], **changes}).encode())


def record_line(sequence: int, boot: int = 7) -> bytes:
    return lines.encode(messages.RECORD, struct.pack(messages.HEAD, messages.CYCLE, boot, sequence, sequence * 2000, 0))


def standing(expected: int = 0, **hello: object) -> Session:
    session = Session(lambda board, boot: expected)
    session.opened(0.0)
    session.feed(hello_line(session, **hello), 0.1)
    return session

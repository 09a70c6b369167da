"""What a board says, decoded, one message a line of text or JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from hearth.link import messages
from msgspec import Struct

from tuyere import codes
from tuyere.board.console import Line
from tuyere.board.trouble import Trouble
from tuyere.cook.cycles import word
from tuyere.logbook import decode

ASK_EVERY = 10  # s
MOST_EARLY = 1000  # records that wait for the first hello; a board has no more of them in its RAM
OURS = (messages.ASK, messages.ORDER, messages.KEEP, messages.FETCH)  # heard, they are an echo
CAUSES = ("booted", "changed", "gap", "hourly")  # messages.BOOTED ...


class Heard(Struct):
    """A message. `kind`: hello, cycle, state, answer, notice, unknown; `body` by name, cycles in a person's units."""

    kind: str
    body: dict[str, Any]


class Listener:
    """Follows one port; asks for the hello, which names the fields, and keeps nothing on or off the board.

    A board sends its records whether asked or not. Those that come before the first hello wait for it, and follow it in
    their order.
    """

    def __init__(self, line: Line) -> None:
        self._line = line
        self._layout: decode.Layout | None = None
        self._early: list[bytes] | None = []  # records that wait for the first hello; None: they wait no more
        self.heard = 0

    def listen(self) -> Iterator[Heard]:
        """Messages as they come, for ever; Trouble when the port is lost, or no firmware is there to speak."""
        while True:
            self._line.ask()
            for _ in range(ASK_EVERY):
                for kind, payload in self._line.messages(1.0):
                    if kind not in OURS:
                        yield from self._said(self._in_turn(kind, payload))
                if self._line.prompts and not self.heard and not self._early:
                    raise Trouble("MicroPython's prompt answers, without firmware of ours: run `tuyere board load`")
            yield from self._said(self._let_go())  # nobody has said hello: they wait no longer

    def _said(self, some: Iterable[Heard]) -> Iterator[Heard]:
        for one in some:
            self.heard += 1
            yield one

    def _in_turn(self, kind: str, payload: bytes) -> Iterable[Heard]:
        """What can be said now that this message has come."""
        if kind == messages.RECORD and self._early is not None:
            self._early.append(payload)
            return self._let_go() if len(self._early) > MOST_EARLY else ()
        one = self.read(kind, payload)
        return [one, *self._let_go()] if self._layout is not None else [one]

    def _let_go(self) -> list[Heard]:
        """The records that have waited."""
        early, self._early = self._early or [], None
        return [self.read(messages.RECORD, payload) for payload in early]

    @property
    def damaged(self) -> int:
        """Lines that made no sense."""
        return self._line.damaged

    def read(self, kind: str, payload: bytes) -> Heard:
        """A message, decoded."""
        if kind == messages.RECORD:
            return self._record(payload)
        if kind == messages.NOTICE:
            return Heard("notice", {"text": payload.decode("utf-8", "replace")})
        try:
            body = json.loads(payload)
        except ValueError:
            body = None
        if kind == messages.HELLO and isinstance(body, dict):
            text = decode.layout_json(body)
            self._layout = decode.layout(text) if text is not None else None
            return Heard("hello", body)
        if kind == messages.ANSWER and isinstance(body, dict):
            return Heard("answer", body)
        return Heard("unknown", {"kind": kind, "bytes": len(payload)})

    def _record(self, payload: bytes) -> Heard:
        if self._layout is None or not payload or not self._layout.fits(payload):
            return Heard("unknown", {"kind": messages.RECORD, "bytes": len(payload)})
        if payload[0] == messages.CYCLE:
            return Heard("cycle", next(iter(self._layout.cycles(payload))))
        _, boot, sequence, at, number = self._layout.state.unpack(payload)[:5]
        cause, _, memory, settings = self._layout.state_parts(payload)
        head = {"boot": boot, "sequence": sequence, "at": at, "settings_number": number}
        return Heard("state", {**head, "cause": word(CAUSES, cause), "memory": memory, "settings": settings})


def words(heard: Heard) -> str:
    """One line of text."""
    body = heard.body
    if heard.kind == "cycle":
        meats = " ".join(_c(body.get(f"now_meat_{i}")) for i in (1, 2, 3))
        state, reason = word(codes.STATES, body["out_state"]), word(codes.REASONS, body["out_reason"])
        return (
            f"cycle {body['sequence']:6} at {body['at'] / 1000:9.1f} s  pit {_c(body['now_pit'])}  meat {meats}  "
            f"ambient {_c(body.get('now_ambient'))}  fan {body['out_fan']:5.1f} %  {state}, {reason}"
        )
    if heard.kind == "hello":
        return (
            f"hello from {body.get('board')} ({body.get('kind')}), boot {body.get('boot')}, firmware "
            f"{str(body.get('firmware'))[:12]}, holds records {body.get('first')} to {body.get('next')}"
        )
    if heard.kind == "state":
        return f"state {body['sequence']:6} at {body['at'] / 1000:9.1f} s  {body['cause']}"
    if heard.kind == "answer":
        return f"answer to order {body.get('id')}: {body.get('why')}"
    if heard.kind == "notice":
        return f"notice: {body['text']}"
    return f"unknown message {body['kind']!r} of {body['bytes']} bytes"


def _c(value: float | None) -> str:
    return "   -   C" if value is None else f"{value:6.2f} C"

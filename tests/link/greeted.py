"""Writes `tests/link/greeted.txt`: what a host says and tells its caller when boards that hold this and that greet it.

Run it with `python tests/link/greeted.py` after a change of the host's side of the protocol. The diff says what is said
otherwise than before; look at each line. A board here is a table of what it holds; it sends what is fetched of it.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from hearth.link import lines, messages
from session_kit import hello_line, record_line
from tuyere.link.session import Cut, Earlier, Gap, Hello, Record, Session

PAGE = Path(__file__).with_name("greeted.txt")
END = 9  # of what the boot in force, 7, has made
Said = dict[str, Any]


def cases() -> Iterator[tuple[dict[int, int], Said, Said]]:
    """(where the logbook stands in each boot, what the hello says, what a later one says otherwise)."""
    for later in ({}, {"earlier": []}, {"earlier": [[6, 2, 4]]}, {"earlier": [], "first": 4}, {"boot": 8}, {"next": 0}):
        yield {6: 0}, {"next": END, "earlier": [[6, 0, 4]], "ran": [[6, 5, 8]]}, later
        yield {6: 1}, {"next": END, "earlier": [[6, 0, 4]], "ran": [[6, 5, 8]]}, later
    for stands, hello in alike():
        yield stands, hello, {}


def alike() -> Iterator[tuple[dict[int, int], Said]]:
    """Of boards that go on saying what they said at first."""
    for stands in (0, 3, END, END + 1):
        for first in (0, 5, END) if stands <= END else (0,):
            yield {7: stands}, {"first": first, "next": END}
    for cause in ("full", "flash", "mice"):
        yield {7: 3}, {"first": 6, "next": END, "lost": [[7, 2, 5, cause], [6, 0, 9, "core"]]}
    yield {}, {"first": 2, "next": END, "lost": [[7, 4, 6, "check"]]}
    for stands in (0, 2, 4, 6):
        for ran in ([], [[6, 3, 4]], [[6, 5, 8]], [[6, 5, 6], [5, 1, 3], [7, 9, 9]]):
            for lost in ([], [[6, 1, 3, "torn"]]):
                yield {6: stands, 5: 2}, {"next": END, "earlier": [[6, 0, 4]], "ran": ran, "lost": lost}
    yield {}, {"next": END, "earlier": [[5, 0, 2], [7, 0, 1], [6, 1, 3]], "ran": [[5, 3, 4], [6, 3, 4]]}


def happened(events: list[Any]) -> Iterator[str]:
    """Words for each; records in a row are one."""
    row: list[int] = []
    for event in [*events, None]:
        if isinstance(event, Record) and row[:1] in ([], [event.boot]):
            row = [event.boot, *row[1:], event.sequence]
            continue
        if row:
            yield f"records {row[0]}: {' '.join(map(str, row[1:]))}"
            row = [event.boot, event.sequence] if isinstance(event, Record) else []
        if isinstance(event, Hello):
            yield "a fresh hello" if event.fresh else "hello"
        elif isinstance(event, Earlier):
            yield f"earlier {event.boot} by the hello of {event.hello['boot']}"
        elif isinstance(event, Gap):
            yield f"gap {event.boot}: {event.first}-{event.last}, {event.cause}"
        elif isinstance(event, Cut):
            yield f"cut {event.boot} at {event.reached}, made {event.least} to {event.most}"
        elif event is not None:
            yield f"{type(event).__name__}: {event[0]}"


class Greeting:
    """A host and such a board."""

    def __init__(self, stands: dict[int, int], hello: Said, later: Said) -> None:
        self.stands, self.hello, self.later = stands, hello, later
        self.session = Session(lambda board, boot: self.stands.get(boot, 0))
        self.now = 0.0

    def greet(self) -> Iterator[str]:
        """The board answers a question."""
        self.session._say_ask(self.now)
        yield from self._took(hello_line(self.session, **self.hello))

    def _took(self, data: bytes) -> Iterator[str]:
        for event in (events := self.session.feed(data, self.now)):
            if isinstance(event, Record | Gap):
                self.stands[event.boot] = (event.sequence if isinstance(event, Record) else event.last) + 1
        yield from happened(events)

    def said(self, deaf: bool = False) -> Iterator[str]:
        """What the host says now, and what comes of what it fetches; nothing from a board that is deaf."""
        for kind, body in lines.Lines().feed(self.session.take()):
            if kind == messages.ASK:
                yield "asks"
                continue
            boot, sequence = struct.unpack(messages.POSITION, body)
            yield f"{'keeps' if kind == messages.KEEP else 'fetches'} {boot}:{sequence}"
            if kind == messages.FETCH and not deaf:
                held = [i for i in range(sequence, self._end(boot)) if not self._is_lost(boot, i)]
                yield from self._took(b"".join(record_line(i, boot) for i in held))

    def _is_lost(self, boot: int, sequence: int) -> bool:
        return any(run[0] == boot and run[1] <= sequence < run[2] for run in self.hello.get("lost", ()))

    def _end(self, boot: int) -> int:
        if boot == self.hello.get("boot", 7):
            return END
        return max([run[2] for run in self.hello.get("earlier", ()) if run[0] == boot], default=0)

    def steps(self) -> Iterator[tuple[str, list[str]]]:
        """What is done, and what comes of it."""
        session = self.session
        session.opened(0.0)
        session.take()
        self.now = 0.1
        yield "greets, and hears nothing", [*self.greet(), "|", *self.said(deaf=True)]
        if not session.standing:
            return
        self.now = 2.7
        yield "hears nothing for 2.6 s", [*happened(session.tick(self.now)), "|", *self.said(deaf=True)]
        self.hello = {**self.hello, **self.later}
        for then in (4.0, 5.0):
            self.now = then
            yield "greets", [*self.greet(), "|", *self.said(), *self.said(), *self.said(), *self.said()]
        self.now = 15.1
        yield "10 s later", [*happened(session.tick(self.now)), "|", *self.said()]
        if session.expected:
            session.keep(session.fetching, session.expected - 1)
        old = happened(session.feed(record_line(0, session.fetching) + record_line(0, 5), self.now))
        yield "an old record, and one of boot 5", [*old, "|", *self.said()]
        yield f"fetching {session.fetching}: {session.expected}, holds {session.held}", []


def written() -> str:
    """The page."""
    page = []
    for stands, hello, later in cases():
        steps = Greeting(dict(stands), hello, later).steps()
        told = [f"    {step}: {', '.join(came)}" if came else f"    {step}" for step, came in steps]
        then = f", then {json.dumps(later)}" if later else ""
        page += [f"logbook {stands}, board {json.dumps(hello)}{then}", *told, ""]
    return "\n".join(page)


if __name__ == "__main__":
    PAGE.write_text(written(), encoding="utf-8")

"""Writes `tests/link/conversation.txt`: what a host and a board say to each other in a bad night, line by line.

Run it with `python tests/link/conversation.py` after a change of the link, of either side. The diff says what is said
otherwise than before; look at each line. `night_kit.Night` has the firmware's own loop with a flash, and the host's
session.
"""

from __future__ import annotations

import json
import struct
import tempfile
from pathlib import Path
from typing import Any

from hearth.link import lines, messages
from night_kit import Night
from tuyere.link.session import Answer, Cut, Earlier, Gap, Hello, Record, Session

PAGE = Path(__file__).with_name("conversation.txt")
STEP = 0.5  # s from one look of the host to the next; the board looks once a period, in the first
STEPS = 4
OF_HELLO = ("ask", "boot", "at", "first", "next", "earlier", "lost", "ran")  # the rest changes with every firmware


class Conversation:
    """A board, a host, and a page of what each says."""

    def __init__(self, folder: Path) -> None:
        self.night = Night(folder)
        self.night.session = Session(lambda board, boot: self.night.logbook.get(boot, [0])[-1])
        self.page: list[str] = []
        self._records: list[float] = []  # that came in a row: boot, first, last, when the last of them came

    def title(self, words: str) -> None:
        self._end_records()
        self.page += ["", words]

    def note(self, who: str, words: str) -> None:
        self._end_records()
        self.page.append(f"{self.night.now:7.1f} {who:5} {words}")

    def _end_records(self) -> None:
        if self._records:
            boot, first, last, at = self._records
            self._records = []
            self.page.append(f"{at:7.1f} board R boot {boot:.0f}, {first:.0f} to {last:.0f}")

    def _record(self, boot: int, sequence: int) -> None:
        if self._records[:1] == [boot] and self._records[2] + 1 == sequence:
            self._records[2:] = [sequence, self.night.now]
        else:
            self._end_records()
            self._records = [boot, sequence, sequence, self.night.now]

    def period(self, count: int = 1, *, deaf: bool = False, dumb: bool = False, bent: bool = False) -> None:
        """So many periods with a host. deaf: the board hears nothing; dumb: the host hears nothing; bent: a bit of
        each second line of the board is another on the way."""
        night = self.night
        for _ in range(count):
            for step in range(STEPS):
                night.now += STEP
                said = night.session.take()
                for kind, body in lines.Lines().feed(said):
                    self.note("host", f"{kind} {self._position(body) if kind in 'kf' else body.decode()}")
                if step == 0:
                    night.board.stream.to_board += b"" if deaf else said
                    night.loop.step()
                elif not deaf:
                    night.board.stream.to_board += said
                came = b"" if dumb else night.board.stream.take()
                if bent:
                    came = b"\n".join(self._bent(line) if i % 2 else line for i, line in enumerate(came.split(b"\n")))
                for kind, body in lines.Lines().feed(came):
                    if kind == messages.RECORD:
                        self._record(*struct.unpack_from(messages.HEAD, body)[1:3])
                    elif kind == messages.HELLO:
                        told = json.loads(body)
                        self.note("board", f"H {json.dumps({name: told.get(name) for name in OF_HELLO})}")
                    else:
                        self.note("board", f"{kind} {body.decode()}")
                self.happened([*night.session.feed(came, night.now), *night.session.tick(night.now)])

    @staticmethod
    def _bent(line: bytes) -> bytes:
        return bytes([line[0] ^ 1]) + line[1:] if line else line

    @staticmethod
    def _position(body: bytes) -> str:
        return "boot {}, {}".format(*struct.unpack(messages.POSITION, body))

    def happened(self, events: list[Any]) -> None:
        """What the host makes of it; it keeps what it gets."""
        night = self.night
        for event in events:
            if isinstance(event, Record | Gap):
                last = event.sequence if isinstance(event, Record) else event.last
                night.logbook.setdefault(event.boot, [0]).append(last + 1)
            if isinstance(event, Record) and event.sequence % 50 == 49:
                night.session.keep(event.boot, event.sequence)
            elif isinstance(event, Hello | Earlier):
                self.note("", f"{type(event).__name__} boot {event.boot} {getattr(event, 'fresh', '')}")
            elif isinstance(event, Gap | Cut | Answer):
                self.note("", f"{type(event).__name__} {tuple(event)}")
            elif not isinstance(event, Record):
                self.note("", f"{type(event).__name__}: {event[0]}")


def written(folder: Path) -> str:
    """The page."""
    talk = Conversation(folder)
    night, session = talk.night, talk.night.session
    talk.title("A host comes; then orders, and what becomes of them")
    session.opened(night.now)
    talk.period(3)
    for name, more in (
        ("start", {}), ("band", {"low": 11000, "high": 12500}), ("band", {"low": 12500, "high": 11000}),
        ("band", {"low": 11000}), ("fan", {"demand": 10001, "seconds": 60}), ("fan", {"demand": 3000, "seconds": 60}),
        ("opened", {"seconds": 0}), ("looked", {}), ("acknowledge", {}), ("phase", {"row": 1}), ("dance", {}),
        ("witness", {"probe": 2}), ("experiment", {"step": 500, "seconds": 600}), ("forget", {}),
        ("rely", {"level": 1}),
        ("settings", {"values": {"gain": 350}}), ("settings", {"values": {"pit_limit": 11000}}),
        ("settings", {"values": {"nothing": 1}}),
        ("programme", {"rows": [[12110, 13500, 1, 60], [12110, 13500, 0, 0]]}), ("programme", {"rows": [[12110, 1]]}),
        ("phase", {"row": 1}), ("start", {}),
    ):  # fmt: skip
        session.order(name, night.now, **more)
        talk.period()
    talk.period(6)
    talk.title("The board hears nothing for 14 s; an order is said again and given up")
    session.order("stop", night.now)
    talk.period(7, deaf=True)
    talk.period(2)
    talk.title("The host hears nothing for 10 s, then lines come bent")
    talk.period(5, dumb=True)
    talk.period(6, bent=True)
    talk.period(8)
    talk.title("The port is lost, and an order; the board is alone for 20 min and restarts twice, once by its watchdog")
    session.order("start", night.now)
    talk.happened(session.closed())
    night.cycles(600)
    night.bite()
    night.cycles(40)
    night.power_up()
    night.cycles(5)
    talk.title("The host comes back")
    session.opened(night.now)
    talk.period(92)
    talk.title("The board restarts while the host is there")
    night.power_up()
    talk.period(12)
    talk._end_records()
    talk.page.append(f"{session.damaged} lines damaged; stands: {session.standing}; held: {session.held}")
    return "\n".join(talk.page).strip() + "\n"


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        PAGE.write_text(written(Path(folder)), encoding="utf-8")

"""The host's side of the protocol, without a port: bytes and times in, events and bytes out.

Both ends go back N. The board sends its records in order; the host takes only the one
it expects. A later one means that one was lost, so the host asks again from the
expected one (`fetch`), once, and again only after a wait. An earlier one is a
duplicate: it is dropped, and the last `keep` is sent again. `keep` goes out only
after the caller says that its commit is on disk.

A board that ran without a host has records on its flash, of this boot and of earlier ones: its hello names them.
The host fetches the earlier boots first, oldest first, then this one from where its logbook ends.

`hearth.link.messages` says what the messages mean. Times are seconds of any steady clock.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

import msgspec
from hearth.link import lines, messages
from msgspec import Meta, Struct

from tuyere.link.happened import CAUSES, Answer, Cut, Earlier, Gap, Happening, Hello, Notice, Record, Refused
from tuyere.printable import all_printable, printable

ASK_EVERY = 1.0  # s, until the first hello
BEAT_EVERY = 10.0  # s between hellos once the link stands
BEAT_AGAIN = 2.0  # s, when a heartbeat stayed without an answer
FETCH_WAIT = 2.5  # s; a board that looks at its line once a period needs 2
SEND_AGAIN = 3.0  # s without an answer until an order is said again under the same id
BUSY_AGAIN = 1.0  # s until an order is said again to a board that was busy
GIVE_UP = 10.0  # s until an order counts as not answered
TOP = 2**32 - 1
HEAD = struct.Struct(messages.HEAD)
POSITION = struct.Struct(messages.POSITION)

_U32 = Annotated[int, Meta(ge=0, le=TOP)]
_Time = Annotated[int, Meta(ge=0, le=2**53)]
_Run = tuple[_U32, _U32, _U32]  # boot, first sequence, one past the last
_Lost = tuple[_U32, _U32, _U32, str]  # and why they will never come


class _Hello(Struct):
    """What must be right in a hello for the link to stand; the rest is for the logbook."""

    link: int
    ask: int
    board: Annotated[str, Meta(min_length=1, max_length=64)]
    boot: _U32
    at: _Time
    first: _U32
    next: _U32
    earlier: list[_Run] = []
    lost: list[_Lost] = []
    ran: list[_Run] = []  # earlier boots, and how many records each made at the least and at the most


class _Answer(Struct):
    id: int
    ok: bool
    why: str = ""
    numbers: dict[str, int] | None = None


@dataclass
class _Pending:
    name: str
    line: bytes
    until: float
    again: float
    why: str = "no_answer"


class Session:
    """One conversation with whatever board is behind the port.

    `expected(board, boot)` gives the next sequence wanted, as the logbook knows it.
    `first_ask` and `first_order` are where the numbers of questions and orders start;
    chosen at random they keep answers meant for an earlier host apart.
    """

    def __init__(self, expected: Callable[[str, int], int], first_ask: int = 1, first_order: int = 1) -> None:
        self._wanted = expected
        self._ask = first_ask
        self._order = first_order
        self._lines = lines.Lines()
        self._odd = 0  # whole lines that made no sense
        self._out = bytearray()
        self._asked: dict[int, float] = {}  # question -> when
        self._ask_at = 0.0  # when to ask next
        self._last_ask = 0.0  # when last asked
        self._fetched: float | None = None  # when the outstanding fetch left
        self._kept: tuple[int, int] | None = None  # last boot and sequence that are on disk
        self._earlier: list[_Run] = []  # what is still to be fetched of earlier boots
        self._lost: list[_Lost] = []
        self._ran: dict[int, tuple[int, int]] = {}  # boots that have ended, until what they leave is fetched
        self._raw: dict[str, Any] = {}  # the last hello
        self._beat_expected = -1  # where we stood at the last hello
        self._pending: dict[int, _Pending] = {}
        self.held: tuple[int, ...] = ()  # earlier boots that the board named in its last hello
        self.is_open = False  # the port
        self.board = ""  # who answered last; "" while nobody has
        self.boot = 0
        self.fetching = 0  # boot whose records are taken now
        self.expected = 0  # the next of them
        self.hello_at: float | None = None  # when the last hello came

    @property
    def damaged(self) -> int:
        """Number of lines dropped, damaged or senseless."""
        return self._lines.damaged + self._odd

    @property
    def standing(self) -> bool:
        """True while the port is open and a board has said hello on it."""
        return self.is_open and bool(self.board)

    # -- the port -----------------------------------------------------------------

    def opened(self, now: float) -> None:
        """The port has just been opened."""
        damaged = self._lines.damaged
        self._lines = lines.Lines()
        self._lines.damaged = damaged
        self._out.clear()
        self._asked.clear()
        self.is_open, self.board = True, ""
        self._kept = self._fetched = None
        self.hello_at = None
        self._say_ask(now)

    def closed(self) -> list[Happening]:
        """The port is gone: orders on their way end without an answer."""
        self.is_open, self.board = False, ""
        self._out.clear()
        return self._end_orders("link_lost")

    def take(self) -> bytes:
        """Bytes to be written to the port; they are handed out once."""
        data = bytes(self._out)
        self._out.clear()
        return data

    def feed(self, data: bytes, now: float) -> list[Happening]:
        """Take bytes as they came, in any portions; returns what happened, in order."""
        found: list[Happening] = []
        doubles = False
        for kind, payload in self._lines.feed(data):
            if kind == messages.RECORD:
                doubles |= self._record(payload, now, found)
            elif kind == messages.HELLO:
                self._hello(payload, now, found)
            elif kind == messages.ANSWER:
                self._answer(payload, now, found)
            elif kind == messages.NOTICE:
                found.append(Notice(printable(payload.decode("utf-8", "replace")[:4000].strip())))
            else:
                self._odd += 1
        if doubles and self._kept and self._kept[0] == self.fetching:
            self._say(messages.KEEP, POSITION.pack(*self._kept))
        return found

    def tick(self, now: float) -> list[Happening]:
        """Let time pass; call it a few times a second."""
        found: list[Happening] = []
        for number, order in list(self._pending.items()):
            if now >= order.until:
                del self._pending[number]
                found.append(Answer(number, order.name, False, order.why))
            elif now >= order.again and self.is_open:
                order.again = now + SEND_AGAIN
                self._out += order.line
        if not self.is_open:
            return found
        if now >= self._ask_at:
            self._say_ask(now)
        if self._fetched is not None and now - self._fetched >= FETCH_WAIT:
            self._say_fetch(now)
            self._say_ask(now)  # it may no longer hold what we want; its hello says so
        return found

    # -- what the caller says -------------------------------------------------------

    def keep(self, boot: int, last: int) -> None:
        """All records of this boot up to `last` are on disk; the board may forget them."""
        if self.board:
            self._kept = (boot, last)
            self._say(messages.KEEP, POSITION.pack(boot, last))

    def order(self, name: str, now: float, **arguments: Any) -> int:
        """Send an order (board units); returns its id, under which an Answer will come."""
        self._order += 1
        body = msgspec.json.encode({"id": self._order, "name": name, **arguments})
        line = lines.encode(messages.ORDER, body)
        # An order names a state, not a change, so sending it twice does no harm. Only a restart would happen twice.
        again = now + (GIVE_UP if name == "release" else SEND_AGAIN)
        self._pending[self._order] = _Pending(name, line, now + GIVE_UP, again)
        self._out += line
        return self._order

    # -- what the board says ----------------------------------------------------------

    def _hello(self, payload: bytes, now: float, found: list[Happening]) -> None:
        try:
            raw = all_printable(msgspec.json.decode(payload, type=dict[str, Any]))
            said = msgspec.convert(raw, _Hello)
        except (ValueError, RecursionError):
            self._odd += 1
            return
        sent = self._asked.get(said.ask)
        if sent is None or said.first > said.next:
            self._odd += 1  # the answer to another host's question, or nonsense
            return
        if said.link != messages.VERSION:
            found.append(Refused(
                f"The board speaks version {said.link} of the link and this program version {messages.VERSION}; "
                "load the firmware that came with this program."
            ))  # fmt: skip
            self._ask_at = now + BEAT_EVERY
            return
        for number in [n for n in self._asked if n <= said.ask]:
            del self._asked[number]
        fresh = (said.board, said.boot) != (self.board, self.boot)
        if fresh:
            if self.board:
                found += self._end_orders("restarted")
                self.board = ""
            self._ran = {boot: (least, most) for boot, least, most in said.ran if boot != said.boot}
            expected = self._wanted(said.board, said.boot)
            if expected > said.next:
                found.append(Refused(
                    f"Board {said.board} has drawn boot number {said.boot} before: the logbook holds {expected} "
                    f"records of it and the board has made {said.next}; restart the board so that it draws another."
                ))  # fmt: skip
                self._ask_at = now + BEAT_EVERY
                return
            self.board, self.boot = said.board, said.boot
            self._fetched, self._beat_expected = None, -1
        self._raw, self._lost = raw, said.lost
        self.hello_at, self._ask_at = now, now + BEAT_EVERY
        found.append(Hello(said.board, said.boot, said.at, raw, sent, now, fresh))
        if fresh:
            self._earlier = [run for run in said.earlier if run[0] != said.boot]
            self._next_boot(said.first, found)
        known = {boot: (first, end) for boot, first, end in said.earlier}
        self.held = tuple(boot for boot, _, _ in (*said.earlier, *said.ran) if boot != said.boot)
        first, end = (said.first, said.next) if self.fetching == self.boot else known.get(self.fetching, (0, 0))
        missed = self._pass_lost(max(first, self.expected), found)
        if self.fetching != self.boot and self.expected >= end:  # it no longer holds the rest
            self._cut(self.fetching, self.expected, found)
            self._next_boot(said.first, found)
            missed, end = True, said.next
        if end <= self.expected:
            self._fetched = None
            if fresh:
                self._say(messages.FETCH, POSITION.pack(self.fetching, self.expected))
        elif fresh or missed or self._beat_expected == self.expected:
            self._say_fetch(now)
        self._beat_expected = self.expected

    def _next_boot(self, first: int, found: list[Happening]) -> None:
        """Turn to the next boot of which the board holds something new; the present one comes last."""
        while self._earlier:
            boot, begin, end = self._earlier.pop(0)
            expected = self._wanted(self.board, boot)
            if expected >= end:
                self._say(messages.KEEP, POSITION.pack(boot, expected - 1))
                self._cut(boot, expected, found)
                continue
            self.fetching, self.expected = boot, expected
            found.append(Earlier(self.board, boot, {**self._raw, "boot": boot}))
            self._pass_lost(max(begin, expected), found)
            return
        for ended in list(self._ran):  # nothing of these is on the flash
            self._cut(ended, self._wanted(self.board, ended), found)
        self.fetching, self.expected = self.boot, self._wanted(self.board, self.boot)
        self._kept = (self.boot, self.expected - 1) if self.expected else None
        if self._kept:
            self._say(messages.KEEP, POSITION.pack(*self._kept))
        self._pass_lost(max(first, self.expected), found)

    def _cut(self, boot: int, reached: int, found: list[Happening]) -> None:
        """A boot that has ended is fetched up to `reached`: what it made beyond is gone. Nothing is said of a boot that
        only another host has known."""
        if boot in self._ran:
            least, most = self._ran.pop(boot)
            if 0 < reached < most:
                found.append(Cut(boot, reached, least, most))

    def _pass_lost(self, first: int, found: list[Happening]) -> bool:
        """Step over what the board cannot give any more before `first` or where we stand; True if there was any."""
        begun = self.expected
        while True:
            run = next((r for r in self._lost if r[0] == self.fetching and r[1] <= self.expected < r[2]), None)
            if run is None and self.expected >= first:
                return self.expected > begun
            if run is None:
                starts = [r[1] for r in self._lost if r[0] == self.fetching and self.expected < r[1] < first]
                end, cause = min([first, *starts]), "the board no longer held them"
            else:
                end, cause = run[2], CAUSES.get(run[3], f"the board said: {run[3]}")
            found.append(Gap(self.fetching, self.expected, end - 1, cause))
            self.expected = end

    def _record(self, payload: bytes, now: float, found: list[Happening]) -> bool:
        """Take a record; True if it was one that had come before."""
        if len(payload) < HEAD.size:
            self._odd += 1
            return False
        kind, boot, sequence, _at, _settings = HEAD.unpack_from(payload)
        if not self.board:
            return False  # nobody has said hello yet; it will be sent again
        if boot != self.fetching:
            if boot != self.boot and now - self._last_ask >= ASK_EVERY:  # it has restarted: ask who it is now
                self._say_ask(now)
            return False
        if sequence == self.expected:
            self.expected += 1
            self._fetched = None
            found.append(Record(boot, sequence, kind, payload))
            if boot != self.boot and self.expected >= self._end_of(boot):
                self._cut(boot, self.expected, found)
                self._next_boot(self._raw["first"], found)
                self._say_fetch(now)
            return False
        if sequence < self.expected:
            return True
        if self._fetched is None:
            self._say_fetch(now)
        return False

    def _end_of(self, boot: int) -> int:
        return next((int(end) for its, _, end in self._raw["earlier"] if its == boot), 0)

    def _answer(self, payload: bytes, now: float, found: list[Happening]) -> None:
        try:
            said = msgspec.json.decode(payload, type=_Answer)
        except (ValueError, RecursionError):
            self._odd += 1
            return
        order = self._pending.get(said.id)
        if order is None:
            return  # answered before, or another host's
        if not said.ok and said.why == "busy":
            order.why, order.again = "busy", min(order.again, now + BUSY_AGAIN)
            return
        del self._pending[said.id]
        found.append(Answer(said.id, order.name, said.ok, printable(said.why[:200]), said.numbers))

    # -- what we say ------------------------------------------------------------------

    def _say(self, kind: str, payload: bytes) -> None:
        self._out += lines.encode(kind, payload)

    def _say_ask(self, now: float) -> None:
        self._ask += 1
        self._asked[self._ask] = self._last_ask = now
        if len(self._asked) > 60:
            del self._asked[min(self._asked)]
        self._ask_at = now + (BEAT_AGAIN if self.board else ASK_EVERY)
        self._say(messages.ASK, msgspec.json.encode({"ask": self._ask}))

    def _say_fetch(self, now: float) -> None:
        self._fetched = now
        self._say(messages.FETCH, POSITION.pack(self.fetching, self.expected))

    def _end_orders(self, why: str) -> list[Happening]:
        ended: list[Happening] = [Answer(n, order.name, False, why) for n, order in self._pending.items()]
        self._pending.clear()
        return ended

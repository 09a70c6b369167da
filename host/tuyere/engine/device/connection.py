"""The engine's side of the board: port, protocol, clock, and what is stored of it."""

from __future__ import annotations

import asyncio
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol

from tuyere import staging
from tuyere.cook import snapshot
from tuyere.engine.device.board_clock import Clock, Pair, lasting_clock
from tuyere.engine.device.latest import Readout
from tuyere.engine.device.recorder import Batch, Intake
from tuyere.link import session as links
from tuyere.link.port import Port
from tuyere.logbook import Logbook, LogbookError

COMMIT_AFTER = 0.05  # s a record may wait for others to be committed with it
RETRY = 1.0  # s
NOBODY = 10.0  # s without an answer at an open port until the log and the screen say so
NOBODY_WORDS = "no board answers: see that it is the right port and that the board has power and its firmware"


class Where(Protocol):
    """Names the port to open (`link.find.Finder`, `twin.TwinFinder`)."""

    words: str

    def where(self) -> str | None:
        """The port, or None with the reason in `words`."""


class Hooks:
    """What happens at the board, for whoever adds to it. As it is, the board's records belong to no cook, nothing
    fixes a twin's time, and nobody listens."""

    def cook_of_records(self, board: str, boot: int, at: int, simulated: bool) -> int | None:
        """The cook that a new record belongs to; `at` is the record's board time in ms."""
        return None

    def boot_start(self, hello: links.Hello) -> int | None:
        """UTC of a twin's boot, if something fixes it."""
        return None

    def powered_up(self, utc: int) -> None:
        """A boot that the logbook did not know began at that UTC in ms, by the wall clock."""

    def met(self, hello: links.Hello, known: bool) -> None:
        """The first hello of a boot, or since the port was opened; `known` if the logbook had this boot."""

    def lost(self, count: int) -> None:
        """`count` records will never come."""

    def stored(self, count: int) -> None:
        """`count` records of this boot are on the disk; the readout has them."""

    def changed(self) -> None:
        """Something is new to see."""

    def notice(self, text: str) -> None:
        """The board sends a sentence, for example that its program failed."""

    def log(self, text: str) -> None:
        """A line for the engine's log."""


class Board:
    """The board behind the port, or none. `hooks` connects it to the rest of the engine."""

    def __init__(
        self,
        logbook: Logbook,
        finder: Where,
        aside: Path,
        wall: Callable[[], int],
        steady: Callable[[], float],
        lasting: Callable[[], float] = lasting_clock,
    ) -> None:
        draw = random.SystemRandom().randrange
        self._logbook = logbook
        self.hooks = Hooks()
        self._wall = wall
        self._steady = steady
        self.finder = finder
        self.session = links.Session(logbook.records.expected, draw(2**29), draw(2**29))
        self.intake = Intake(logbook.records, aside, self._kept)
        self.clock = Clock(wall, lasting)
        self.readout = Readout()
        self.link = snapshot.Link()
        self.hello: dict[str, Any] = {}
        self.refused = ""  # why this board does not fit this program
        self._record_at: float | None = None  # steady time of the newest record
        self._since = steady()
        self._opened_at = 0.0
        self._said = ""  # of the port, last
        self._port: Port | None = None
        self._commit: asyncio.TimerHandle | None = None
        self._answers: dict[int, asyncio.Future[links.Answer]] = {}

    def open(self) -> None:
        """Start to look for the port; this never stops."""
        self._port = Port(self.finder.where, self.opened, self.data, self.closed)

    async def close(self) -> None:
        """Close the port and write what waits."""
        if self._port is not None:
            await self._port.close()
            self._port = None
        if self._commit is not None:
            self._commit.cancel()
        self.intake.write()

    @property
    def silent(self) -> float:
        """Seconds since the newest record, or since the engine came up if there was none."""
        return self._steady() - (self._record_at if self._record_at is not None else self._since)

    @property
    def beat(self) -> float | None:
        """Seconds since the last hello, None while there is no link."""
        at = self.session.hello_at
        return None if at is None or not self.session.standing else self._steady() - at

    @property
    def practice(self) -> bool:
        """A twin with a trouble: its alarms are taken as those of a real cook."""
        return self.link.simulated and bool(self.hello.get("trouble"))

    async def order(self, name: str, **arguments: Any) -> links.Answer:
        """Send an order in board units and wait for its answer, at most 10 s."""
        if not self.session.standing:
            return links.Answer(0, name, False, "link_lost")
        number = self.session.order(name, self._steady(), **arguments)
        answer: asyncio.Future[links.Answer] = asyncio.get_running_loop().create_future()
        self._answers[number] = answer
        self._send()
        return await answer

    # -- the port says -----------------------------------------------------------------

    def opened(self, name: str) -> None:
        """A port is open."""
        self.link.state, self.link.port, self.link.words = "asking", name, "asking who is there"
        self._opened_at = self._steady()
        self._say_port(f"port {name} is open: asking who is there")
        self.session.opened(self._opened_at)
        self._act([])

    def closed(self, why: str) -> None:
        """The port is gone, or could not be opened."""
        was = self.session.is_open
        happened = self.session.closed()
        self.link.state = "lost" if self._record_at is not None else "searching"
        self.link.words = why or self.finder.words
        if was:
            self._say_port(f"port {self.link.port} is lost: {self.link.words}; it is opened again when it is back")
        else:
            self._say_port(f"the port cannot be opened: {why}" if why else self.link.words)
        self._act(happened)

    def data(self, data: bytes) -> None:
        """Bytes have come."""
        try:
            self._act(self.session.feed(data, self._steady()), new=False)
        except LogbookError as error:  # the engine looks at what is wrong with the logbook in its own time
            self._say_port(str(error))

    def tick(self) -> None:
        """Let time pass."""
        now = self._steady()
        self._act(self.session.tick(now), new=False)
        self.link.damaged = self.session.damaged
        if self.link.state == "asking" and now - self._opened_at >= NOBODY and not self.refused:
            self.link.words = NOBODY_WORDS
            self._say_port(f"port {self.link.port}: {NOBODY_WORDS}")

    def _say_port(self, words: str) -> None:
        """Write to the log, once: a missing port is tried every second."""
        if words != self._said:
            self._said = words
            self.hooks.log(words)

    def _act(self, happened: list[links.Happening], new: bool = True) -> None:
        self.clock.look()
        for event in happened:
            if isinstance(event, links.Record):
                at = links.HEAD.unpack_from(event.data)[3]
                cook = self.hooks.cook_of_records(self.session.board, event.boot, at, self.link.simulated)
                self.intake.record(self.session.board, event.boot, event.sequence, event.data, cook)
                self._record_at = self._steady()
            elif isinstance(event, links.Hello):
                self._hello(event)
            elif isinstance(event, links.Earlier):
                self._earlier(event)
            elif isinstance(event, links.Gap):
                self._gap(self.session.board, event)
            elif isinstance(event, links.Cut):
                self._cut(self.session.board, event)
            elif isinstance(event, links.Answer):
                answer = self._answers.pop(event.id, None)
                if answer is not None and not answer.done():
                    answer.set_result(event)
            elif isinstance(event, links.Notice):
                self.hooks.log(f"the board says: {event.text}")
                self.hooks.notice(event.text)
            elif isinstance(event, links.Refused):
                self.refused = self.link.words = event.words
                self.hooks.log(event.words)
        if self._port is not None:
            self._port.hold(self.intake.full)
        if self.intake.waiting and self._commit is None:
            self._commit = asyncio.get_running_loop().call_later(COMMIT_AFTER, self.write)
        self._send()
        if new or any(not isinstance(event, links.Record) for event in happened):
            self.hooks.changed()  # a record is news once it is on the disk: `write` says so

    def _send(self) -> None:
        if self._port is not None:
            self._port.write(self.session.take())

    # -- the logbook ----------------------------------------------------------------------

    def write(self) -> None:
        """Commit what came; only then may the board forget it."""
        self._commit = None
        if not self.intake.write():
            self._commit = asyncio.get_running_loop().call_later(RETRY, self.write)
        if self._port is not None:
            self._port.hold(self.intake.full)
        self._send()
        self.hooks.changed()

    def _kept(self, batch: Batch) -> None:
        self.session.keep(batch.boot, batch.first + len(batch.records) - 1)
        if (batch.board, batch.boot) != (self.session.board, self.session.boot):
            return
        self.link.recorded += len(batch.records)
        for data in batch.records:
            at = links.HEAD.unpack_from(data)[3]
            self.clock.seen(at)
            self.readout.take(data, self.clock.utc(at) or self.clock.now())
        self.hooks.stored(len(batch.records))

    def _earlier(self, event: links.Earlier) -> None:
        """Records of an earlier boot follow; the board makes them again with today's firmware, so its layout holds."""
        self.hooks.log(f"fetching what boot {event.boot} of board {event.board} left on its flash")
        self.intake.then(lambda: self._logbook.boards.hello(event.board, event.boot, event.hello, 0))

    def _gap(self, board: str, gap: links.Gap) -> None:
        self.hooks.log(f"records {gap.first} to {gap.last} of boot {gap.boot} are lost: {gap.cause}")
        self.link.missing += gap.last - gap.first + 1
        self.hooks.lost(gap.last - gap.first + 1)
        self.intake.then(lambda: self._logbook.records.gap(board, gap.boot, gap.first, gap.last, gap.cause))

    def _cut(self, board: str, cut: links.Cut) -> None:
        """Store and log it once. The board says it at each connection."""

        def store() -> None:
            if self._logbook.records.cut(board, *cut):
                self.hooks.log(
                    f"boot {cut.boot} ended after {cut.least} to {cut.most} records; {cut.reached} are accounted for"
                )

        self.intake.then(store)

    def _hello(self, event: links.Hello) -> None:
        said, now = event.hello, self._wall()
        simulated = said.get("simulated") is True
        known = self._known_pair(event) if event.fresh else None
        start = self.hooks.boot_start(event) if event.fresh and simulated and known is None else None
        pair = self.clock.hello(
            event.board,
            event.boot,
            event.at,
            event.received - event.sent,
            simulated=simulated,
            known=known,
            start=start,
        )
        if event.fresh:
            self.intake.then(lambda: self._logbook.boards.hello(event.board, event.boot, said, now))
            core, files = staging.core_hash(), staging.core_files()
            if said.get("core") == core:  # so that this night can always be replayed with its own law
                self.intake.then(lambda: self._logbook.cores.keep(core, files))
        if pair is not None:
            self.intake.then(lambda: self._logbook.boards.pair(event.board, event.boot, pair.at, pair.utc))
        self.hello = said
        self._describe(event, simulated)
        self.readout.hello(said, event.fresh)
        if event.fresh:
            self.refused = self.intake.refused = ""  # the refusal was of an earlier board
            self._say_port(f"board {event.board} ({self.link.kind or 'no kind'}) answers, boot {event.boot}")
            if not simulated and known is None:
                self.hooks.powered_up(now - round((event.received - event.sent) * 500) - event.at)
            self.hooks.met(event, known is not None)

    def _describe(self, event: links.Hello, simulated: bool) -> None:
        said, link = event.hello, self.link
        if event.fresh:
            link.recorded = self._logbook.records.stored(event.board, event.boot)
            link.missing = self._logbook.records.missing(event.board, event.boot)
        link.state, link.board, link.boot, link.simulated = "open", event.board, event.boot, simulated
        link.kind, link.firmware = str(said.get("kind", "")), str(said.get("firmware", ""))
        heap, speed = said.get("heap"), said.get("speed")
        link.heap_free = heap if isinstance(heap, int) else 0
        link.speed = float(speed) if isinstance(speed, int | float) else 1.0
        link.words = "connected to the twin, a simulated board" if simulated else "connected"

    def _known_pair(self, event: links.Hello) -> Pair | None:
        """The pair the logbook has for this boot, if it has one of its own."""
        try:
            boots = self._logbook.boards.boots(event.board)
            if any(b.boot == event.boot and not b.estimated for b in boots):
                return Pair(event.at, self._logbook.boards.utc(event.board, event.boot, event.at))
        except LogbookError:
            pass  # never heard of: no pair
        return None

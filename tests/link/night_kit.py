"""A board with a flash, and a host that is there or not."""

from __future__ import annotations

from pathlib import Path

from fake_board import FakeBoard, Wire
from hearth.link import messages
from hearth.loop import Loop
from tuyere.link.session import Gap, Record, Session


class Night:
    """Its nights. `logbook` is what the host has on its disk; the flash is the folder."""

    def __init__(self, folder: Path, ring: int = 4096) -> None:
        folder.mkdir(exist_ok=True)
        self.folder, self.ring = folder, ring
        self.board = FakeBoard(Wire())
        self.logbook: dict[int, list[int]] = {}
        self.made: dict[tuple[int, int], bytes] = {}
        self.got: dict[tuple[int, int], bytes] = {}
        self.said: list[object] = []
        self.session = Session(lambda board, boot: self.logbook.get(boot, [0])[-1])
        self.now = 0.0
        self.most = 8  # records from flash in a period
        self.last: int | None = None  # the last cycle before a bite
        self.boot = 100
        self.loop = self.power_up()

    def power_up(self) -> Loop:
        """A new boot on the old flash; the pit goes on."""
        old, self.boot = self.board, self.boot + 1
        self.board = FakeBoard(Wire(), boot=self.boot, ring=self.ring)
        self.board.folder = str(self.folder)
        self.board.between = lambda serve: serve(self.most)  # type: ignore[call-arg]
        self.board.pit, self.board.lit = old.pit, old.lit
        if self.last is not None:
            self.board.began_by, self.board.last_cycle, self.last = "watchdog", self.last, None
        self.loop = Loop(self.board)
        append = self.loop.ring.append

        def noted(record: bytes) -> None:
            self.made[self.boot, self.loop.ring.next] = bytes(record)
            append(record)

        self.made[self.boot, 0] = bytes(self.loop.ring.take() or b"")
        self.loop.ring.rewind(0)
        self.loop.ring.append = noted
        return self.loop

    def bite(self) -> Loop:
        """The watchdog restarts it: what its register keeps is known."""
        self.last = self.loop.memory.cycles & 0xFFFFFF
        return self.power_up()

    def order(self, name: str, **arguments: object) -> None:
        self.loop.talk.orders.append(
            {"id": 1, "name": name, "code": messages.ORDERS[name][0], "first": 0, "second": 0, **arguments}
        )

    def cycles(self, count: int) -> None:
        """No host."""
        for _ in range(count):
            self.loop.step()
            self.board.stream.take()

    def with_host(self, cycles: int) -> None:
        """The host listens and keeps what it gets."""
        if not self.session.is_open:
            self.session.opened(self.now)
        for _ in range(cycles):
            self.now += 2.0
            self.board.stream.to_board += self.session.take()
            self.loop.step()
            for event in [*self.session.feed(self.board.stream.take(), self.now), *self.session.tick(self.now)]:
                self.said.append(event)
                if isinstance(event, Record):
                    assert self.got.setdefault((event.boot, event.sequence), event.data) == event.data
                    self.logbook.setdefault(event.boot, [0]).append(event.sequence + 1)
                    self.session.keep(event.boot, event.sequence)
                elif isinstance(event, Gap):
                    self.logbook.setdefault(event.boot, [0]).append(event.last + 1)

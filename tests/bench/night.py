"""A hard night on the twin: 24 h, the host away from hour 2 to hour 10, five power cuts, 1 % of all lines damaged.

`python tests/bench/night.py` runs the firmware on MicroPython with a real littlefs, a host of the real session and a
real SQLite logbook; then it looks for holes and replays every cycle. `--smoke` is a night of 1 h.
"""

from __future__ import annotations

import argparse
import os
import random
import select
import sys
import tempfile
import threading
import time
from pathlib import Path

from tuyere import staging
from tuyere.link.session import Answer, Cut, Earlier, Gap, Hello, Record, Session
from tuyere.logbook import Logbook
from tuyere.replay.rerun import replay
from tuyere.sim.outside import Outside
from tuyere.sim.pseudo_terminal import Line
from tuyere.sim.twin import Twin

UTC = 1_790_000_000_000  # when this night began, ms


class Host(threading.Thread):
    """The host's session on the twin's line; what it gets is on the disk before it says so."""

    def __init__(self, path: str, logbook: Path, damage: float) -> None:
        super().__init__(daemon=True)
        self.path, self.damage = path, damage
        self.dice = random.Random(5)
        self.present = threading.Event()
        self.present.set()
        self.gaps: list[Gap] = []
        self.cuts: list[Cut] = []
        self.records = self.damaged = 0
        self.heaps: list[int] = []
        self.caught_up = self.accepted = self.ending = False
        self._logbook = logbook

    def bent(self, data: bytes) -> bytes:
        """One line in so many with a wrong byte."""
        lines = data.split(b"\n")
        for i, line in enumerate(lines[:-1]):
            if len(line) > 4 and self.dice.random() < self.damage:
                at = self.dice.randrange(len(line))
                lines[i] = line[:at] + bytes([line[at] ^ 1]) + line[at + 1 :]
        return b"\n".join(lines)

    def run(self) -> None:
        """Until `ending`."""
        book = Logbook(self._logbook)
        book.cores.keep(staging.core_hash(), staging.core_files())
        cook = book.cooks.start("a hard night", UTC, "twin", True)
        session = Session(book.records.expected)
        far, part = -1, b""
        while not self.ending:
            if far < 0 or not self.present.is_set():
                if far >= 0:
                    session.closed()
                    os.close(far)
                    far = -1
                self.present.wait()
                far, part = os.open(self.path, os.O_RDWR | os.O_NOCTTY), b""
                session.opened(time.monotonic())
            if select.select([far], [], [], 0.05)[0]:
                whole, _, part = (part + os.read(far, 65536)).rpartition(b"\n")
                happened = session.feed(self.bent(whole + b"\n"), time.monotonic())
            else:
                happened = session.tick(time.monotonic())
            fresh: dict[int, list[bytes]] = {}
            for event in happened:
                if isinstance(event, Hello | Earlier):
                    if isinstance(event, Earlier) or event.fresh:
                        book.boards.hello(event.board, event.boot, event.hello, UTC)
                    if isinstance(event, Hello):
                        self.heaps.append(event.hello["heap"])
                        if not self.accepted:
                            session.order("start", time.monotonic())
                elif isinstance(event, Record):
                    fresh.setdefault(event.boot, []).append(event.data)
                elif isinstance(event, Gap):
                    self.gaps.append(event)
                    book.records.gap(session.board, event.boot, event.first, event.last, event.cause, cook=cook)
                elif isinstance(event, Cut):
                    self.cuts.append(event)
                    book.records.cut(session.board, *event)
                elif isinstance(event, Answer):
                    self.accepted |= event.ok
            for boot, records in fresh.items():
                book.records.add(session.board, boot, records, cook)
                self.records += len(records)
                session.keep(boot, book.records.expected(session.board, boot) - 1)
            self.damaged = session.damaged
            self.caught_up = session.standing and session.fetching == session.boot and not fresh
            out = session.take()
            if out:
                os.write(far, self.bent(out))
        book.cooks.end(cook, UTC + 86_400_000)
        book.close()


def main() -> int:
    """Print what was kept, what was lost and whether it replays; 1 if it does not."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="a night of 1 h")
    scale = 1 / 24 if parser.parse_args().smoke else 1.0
    hour = 3_600_000 * scale
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "logbook.sqlite"
        line = Line()
        twin = Twin(
            Outside("upright", 3, hours=24.0 * scale),
            line,
            speed=0,
            boots=random.Random(3),
            away=lambda ms: 2 * hour <= ms < 10 * hour,
        )
        host = Host(line.path, path, 0.01)
        host.start()
        began = time.monotonic()
        cuts = [int(h * hour) for h in (1.0, 4.0, 7.5, 12.0, 18.0)]
        marks = sorted([*cuts, int(2 * hour), int(10 * hour), int(24 * hour)])
        for mark in marks:
            twin.run(until_ms=mark)
            if 2 * hour <= mark < 10 * hour:
                host.present.clear()
            else:
                host.present.set()
            if mark in cuts:
                twin.power_cut(20.0)
        cycles = twin.cycles
        twin.run(
            until_ms=twin.outside_ms + 3_600_000, stop=lambda: host.caught_up and twin.outside_ms > 24 * hour + 60_000
        )
        seconds = time.monotonic() - began
        host.ending = True
        host.join()
        twin.close()
        book = Logbook(path, owner=False)
        found = replay(book, 1)
        print(f"{cycles} cycles in {seconds:.0f} s; {host.records} records on the disk; {host.damaged} damaged lines")
        print(f"free heap at the hellos: {min(host.heaps)} to {max(host.heaps)} bytes")
        for gap in host.gaps:
            print(f"gap: boot {gap.boot:08x}, records {gap.first} to {gap.last}: {gap.cause}")
        print(f"boots: {len(book.boards.boots('twin'))}; replayed {found.cycles} cycles, {found.different} different")
        for cut in book.reading.cuts(1):
            print(cut.words)
        least = sum(max(cut.least - cut.reached, 0) for cut in book.reading.cuts(1))
        most = sum(cut.most - cut.reached for cut in book.reading.cuts(1))
        lost = cycles - found.cycles
        print(
            f"cycles run and not in the logbook: {lost}, in the RAM of {len(cuts)} power cuts; "
            f"the logbook says {least} to {most}"
        )
        book.close()
    return 1 if found.different or lost > len(cuts) * 400 else 0


if __name__ == "__main__":
    sys.exit(main())

"""What boards send: hellos, clocks, records and the gaps between them."""

from __future__ import annotations

import json
import struct
from collections.abc import Sequence
from typing import Any

from hearth.link import messages

from tuyere.logbook import decode
from tuyere.logbook.clock import Clock, Life, estimate
from tuyere.logbook.errors import BadRecord, HelloConflict, NoSuchEntry, RecordConflict
from tuyere.logbook.rows import Boot
from tuyere.logbook.store import Store

_head = struct.Struct(messages.HEAD)
_BOOTS = """
    SELECT b.boot, b.seen, b.firmware, b.core,
        (SELECT r.id FROM records r WHERE r.board = b.board AND r.boot = b.boot ORDER BY r.sequence LIMIT 1) AS first,
        (SELECT r.at FROM records r WHERE r.board = b.board AND r.boot = b.boot ORDER BY r.sequence DESC LIMIT 1)
    FROM boots b WHERE b.board = ? ORDER BY first IS NULL, first, b.id"""  # oldest first: boards send so
CUT = "they were in the board's RAM when it lost its power or restarted"


class Boards(Store):
    """The part of the logbook that a board fills."""

    def hello(self, board: str, boot: int, hello: dict[str, Any], seen: int) -> None:
        """Keep what a board said of itself; `seen` UTC ms. HelloConflict if this boot had another layout before."""
        layout = decode.layout_json(hello)
        with self.together():
            number = self._boot(board, boot)
            id = None
            if layout is not None:
                self._db.execute("INSERT INTO layouts (json) VALUES (?) ON CONFLICT DO NOTHING", (layout,))
                (id,) = self._db.execute("SELECT id FROM layouts WHERE json = ?", (layout,)).fetchone()
                (old,) = self._db.execute(
                    "SELECT layout FROM boots WHERE board = ? AND boot = ?", (number, boot)
                ).fetchone()
                if old not in (None, id):
                    raise HelloConflict(
                        f"board {board} announced two different record layouts in boot {boot}; restart the board"
                    )
            self._db.execute(
                """UPDATE boots SET seen = CASE seen WHEN 0 THEN ? ELSE seen END, firmware = ?, core = ?,
                    layout = coalesce(?, layout), hello = ? WHERE board = ? AND boot = ?""",
                (seen, str(hello.get("firmware", "")), str(hello.get("core", "")), id, json.dumps(hello), number, boot),
            )

    def pair(self, board: str, boot: int, at_ms: int, utc_ms: int) -> None:
        """Board clock and UTC at one instant."""
        with self.together():
            self._db.execute(
                "INSERT INTO pairs VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET utc_ms = excluded.utc_ms",
                (self._boot(board, boot), boot, at_ms, utc_ms),
            )

    def utc(self, board: str, boot: int, at_ms: int) -> int:
        """UTC ms of a board time, see `clock`; NoSuchEntry for a boot nobody heard of."""
        with self._still():
            return self._clock(self._known(board), boot).utc(at_ms)

    def boots(self, board: str) -> list[Boot]:
        """All boots of a board in the order of its life."""
        with self._still():
            number = self._known(board)
            clocks = self._clocks(number)
            return [
                Boot(board, boot, seen, firmware, core, clocks[boot].estimated, clocks[boot].utc(0))
                for boot, seen, firmware, core, _, _ in self._rows(_BOOTS, (number,))
            ]

    def add(self, board: str, boot: int, records: Sequence[bytes], cook: int | None) -> int:
        """Store whole records (head first), durably, in one transaction; returns how many were new.

        A record that is here already with the same bytes is passed over. BadRecord, RecordConflict or
        NoSuchEntry (the cook): nothing of the batch is stored.
        """
        batch: dict[int, tuple[int, int, bytes]] = {}
        for record in records:
            if len(record) < messages.HEAD_SIZE:
                raise BadRecord(
                    f"board {board} sent a record of {len(record)} bytes where at least {messages.HEAD_SIZE} belong; "
                    "nothing of this batch was stored: restart the board"
                )
            kind, its_boot, sequence, at, _ = _head.unpack_from(record)
            if its_boot != boot or at >= 1 << 62:
                raise BadRecord(
                    f"record {sequence} from board {board} is of boot {its_boot} at {at} ms, not of boot {boot}; "
                    "nothing of this batch was stored: restart the board"
                )
            data = bytes(record)
            if batch.setdefault(sequence, (kind, at, data))[2] != data:
                raise RecordConflict(board, boot, sequence)
        if not batch:
            return 0
        with self.together():
            number = self._boot(board, boot)
            for sequence, data in self._stored(number, boot, list(batch)):
                if batch.pop(sequence)[2] != data:
                    raise RecordConflict(board, boot, sequence)
            if batch:
                self._db.executemany(
                    "INSERT INTO records (board, boot, sequence, kind, at, bytes, cook) VALUES (?, ?, ?, ?, ?, ?, ?)",
                    [(number, boot, sequence, *rest, cook) for sequence, rest in batch.items()],
                )
                if cook is not None:
                    self._count(cook, number, boot, batch)
        return len(batch)

    def _stored(self, number: int, boot: int, sequences: list[int]) -> list[tuple[int, bytes]]:
        """Those of the sequences that are here already, with their bytes."""
        low, high = min(sequences), max(sequences)
        if high - low < 4 * len(sequences):
            wanted = set(sequences)
            rows = self._rows(
                "SELECT sequence, bytes FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ?",
                (number, boot, low, high),
            )
            return [row for row in rows if row[0] in wanted]
        one = "SELECT sequence, bytes FROM records WHERE board = ? AND boot = ? AND sequence = ?"
        found = [self._row(one, (number, boot, sequence)) for sequence in sequences]
        return [row for row in found if row]

    def _count(self, cook: int, number: int, boot: int, batch: dict[int, tuple[int, int, bytes]]) -> None:
        """Add new records to what the cook has of this boot."""
        if not self._row("SELECT 1 FROM cooks WHERE id = ?", (cook,)):
            raise NoSuchEntry(f"there is no cook {cook} to store records under; start one first")
        kinds = [kind for kind, _, _ in batch.values()]
        self._db.execute(
            """INSERT INTO spans VALUES (?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO UPDATE SET
                first = min(first, excluded.first), last = max(last, excluded.last),
                records = records + excluded.records, cycles = cycles + excluded.cycles,
                states = states + excluded.states""",
            (
                *(cook, number, boot, min(batch), max(batch)),
                *(len(kinds), kinds.count(messages.CYCLE), kinds.count(messages.STATE)),
            ),
        )

    def expected(self, board: str, boot: int) -> int:
        """The sequence wanted next: one past the highest that is stored or known to be lost; 0 if none."""
        sql = """SELECT max(
            coalesce((SELECT max(sequence) FROM records WHERE board = b.id AND boot = ?1), -1),
            coalesce((SELECT max(last) FROM gaps WHERE board = b.id AND boot = ?1), -1))
            FROM boards b WHERE name = ?2"""
        row = self._row(sql, (boot, board))
        return int(row[0]) + 1 if row else 0

    def gap(self, board: str, boot: int, first: int, last: int, cause: str, *, cook: int | None = None) -> None:
        """Note that records first..last will never come; the cook is the open one unless given."""
        if not 0 <= first <= last:
            raise BadRecord(f"a gap from record {first} to {last} of boot {boot} cannot be: give first, then last")
        with self.together():
            number = self._boot(board, boot)
            if cook is None:
                row = self._row("SELECT id FROM cooks WHERE ended = 0 ORDER BY id DESC LIMIT 1")
                cook = row[0] if row else None
            self._db.execute(
                """INSERT INTO gaps (board, boot, first, last, cause, cook) VALUES (?, ?, ?, ?, ?, ?)
                    ON CONFLICT DO NOTHING""",
                (number, boot, first, last, cause, cook),
            )

    def cut(self, board: str, boot: int, reached: int, least: int, most: int) -> None:
        """A boot has ended that made `least` to `most` records, of which the first `reached` are accounted for.

        What it made for certain beyond them is a gap. Said again, the first word stands.
        """
        if not 0 <= reached < most or least > most:
            raise BadRecord(f"a boot of {least} to {most} records cannot have been cut after {reached} of them")
        with self.together():
            number = self._boot(board, boot)
            cook = self._row("SELECT id FROM cooks WHERE ended = 0 ORDER BY id DESC LIMIT 1")
            self._db.execute(
                "INSERT INTO cuts VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
                (number, boot, reached, least, most, cook[0] if cook else None),
            )
            if least > reached:
                self.gap(board, boot, reached, least - 1, CUT)

    def recorded(self, board: str, boot: int) -> int:
        """How many records of this boot are stored."""
        sql = "SELECT count(*) FROM records WHERE boot = ? AND board = (SELECT id FROM boards WHERE name = ?)"
        return int(self._row(sql, (boot, board))[0])

    def missing(self, board: str, boot: int) -> int:
        """How many records of this boot are known to be lost."""
        with self._still():
            lost, past = 0, -1
            sql = """SELECT board, first, last FROM gaps
                WHERE boot = ? AND board = (SELECT id FROM boards WHERE name = ?) ORDER BY first"""
            for number, first, last in self._rows(sql, (boot, board)):
                begin = max(first, past + 1)  # gaps may overlap
                if begin <= last:
                    here = "SELECT count(*) FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ?"
                    lost += last - begin + 1 - self._row(here, (number, boot, begin, last))[0]
                    past = last
            return lost

    # -- for the other parts -------------------------------------------------------

    def _board(self, board: str) -> int:
        """Number of a board, which is made known if it was not; inside a transaction."""
        row = self._row("SELECT id FROM boards WHERE name = ?", (board,))
        return row[0] if row else self._insert("INSERT INTO boards (name) VALUES (?)", (board,))

    def _boot(self, board: str, boot: int) -> int:
        """Number of the board, with this boot made known."""
        number = self._board(board)
        if not self._row("SELECT 1 FROM boots WHERE board = ? AND boot = ?", (number, boot)):
            self._insert("INSERT INTO boots (board, boot) VALUES (?, ?)", (number, boot))
        return number

    def _known(self, board: str) -> int:
        row = self._row("SELECT id FROM boards WHERE name = ?", (board,))
        if not row:
            raise NoSuchEntry(f"the logbook has never heard of board {board}; connect it once")
        return int(row[0])

    def _clock(self, number: int, boot: int) -> Clock:
        pairs = self._rows("SELECT at_ms, utc_ms FROM pairs WHERE board = ? AND boot = ?", (number, boot))
        if pairs:
            return Clock(pairs)
        clocks = self._clocks(number)
        if boot not in clocks:
            raise NoSuchEntry(f"the logbook has never heard of boot {boot} of this board; connect it once")
        return clocks[boot]

    def _clocks(self, number: int) -> dict[int, Clock]:
        """Clocks of all boots of a board."""
        pairs: dict[int, list[tuple[int, int]]] = {}
        for boot, at, utc in self._rows("SELECT boot, at_ms, utc_ms FROM pairs WHERE board = ?", (number,)):
            pairs.setdefault(boot, []).append((at, utc))
        rows = self._rows(_BOOTS, (number,))
        lives = [Life(row[5] or 0, row[1], Clock(pairs[row[0]]) if row[0] in pairs else None) for row in rows]
        return {row[0]: clock for row, clock in zip(rows, estimate(lives), strict=True)}

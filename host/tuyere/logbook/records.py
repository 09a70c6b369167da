"""What boards send: records, and the gaps between them."""

from __future__ import annotations

import struct
from collections.abc import Sequence

from hearth.link import messages

from tuyere.logbook.boards import Boards
from tuyere.logbook.errors import BadRecord, NoSuchEntry, RecordConflict
from tuyere.logbook.store import Store

_head = struct.Struct(messages.HEAD)
CUT = "they were in the board's RAM when it lost its power or restarted"


class Records:
    """`book.records`: every record once, by board, boot and sequence."""

    def __init__(self, store: Store, boards: Boards) -> None:
        self._store, self._boards = store, boards

    def add(self, board: str, boot: int, records: Sequence[bytes], cook: int | None) -> int:
        """Store whole records (head first), durably, in one transaction; returns how many were new.

        When it returns they lie in the file at the logbook's path, so the board may forget them; LogbookGone if not.

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
        with self._store.together():
            number = self._boards.boot(board, boot)
            for sequence, data in self._here(number, boot, list(batch)):
                if batch.pop(sequence)[2] != data:
                    raise RecordConflict(board, boot, sequence)
            if batch:
                first = self._store.next_record()
                self._store.db.executemany(
                    "INSERT INTO records (id, board, boot, sequence, kind, at, bytes, cook) "
                    "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                    [
                        (id, number, boot, sequence, *rest, cook)
                        for id, (sequence, rest) in enumerate(batch.items(), first)
                    ],
                )
                if cook is not None:
                    self._count(cook, number, boot, batch)
        self._store.must_be_there()
        return len(batch)

    def _here(self, number: int, boot: int, sequences: list[int]) -> list[tuple[int, bytes]]:
        """Which of these sequences are already stored, with their bytes."""
        low, high = min(sequences), max(sequences)
        if high - low < 4 * len(sequences):
            wanted = set(sequences)
            rows = self._store.rows(
                "SELECT sequence, bytes FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ?",
                (number, boot, low, high),
            )
            return [row for row in rows if row[0] in wanted]
        one = "SELECT sequence, bytes FROM records WHERE board = ? AND boot = ? AND sequence = ?"
        found = [self._store.row(one, (number, boot, sequence)) for sequence in sequences]
        return [row for row in found if row]

    def _count(self, cook: int, number: int, boot: int, batch: dict[int, tuple[int, int, bytes]]) -> None:
        """Update the counts of this cook and boot."""
        if not self._store.row("SELECT 1 FROM cooks WHERE id = ?", (cook,)):
            raise NoSuchEntry(f"there is no cook {cook} to store records under; start one first")
        kinds = [kind for kind, _, _ in batch.values()]
        self._store.db.execute(
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
        """The next sequence to ask for: one past the highest that is stored or known to be lost. 0 for a new boot."""
        sql = """SELECT max(
            coalesce((SELECT max(sequence) FROM records WHERE board = b.id AND boot = ?1), -1),
            coalesce((SELECT max(last) FROM gaps WHERE board = b.id AND boot = ?1), -1))
            FROM boards b WHERE name = ?2"""
        row = self._store.row(sql, (boot, board))
        return int(row[0]) + 1 if row else 0

    def gap(self, board: str, boot: int, first: int, last: int, cause: str, *, cook: int | None = None) -> None:
        """Note that records first..last will never come; the cook is the open one unless given."""
        if not 0 <= first <= last:
            raise BadRecord(f"a gap from record {first} to {last} of boot {boot} runs backwards: give first, then last")
        with self._store.together():
            number = self._boards.boot(board, boot)
            if cook is None:
                row = self._store.row("SELECT id FROM cooks WHERE ended = 0 ORDER BY id DESC LIMIT 1")
                cook = row[0] if row else None
            self._store.db.execute(
                """INSERT INTO gaps (board, boot, first, last, cause, cook) VALUES (?, ?, ?, ?, ?, ?)
                    ON CONFLICT DO NOTHING""",
                (number, boot, first, last, cause, cook),
            )

    def cut(self, board: str, boot: int, reached: int, least: int, most: int) -> bool:
        """A boot has ended that made `least` to `most` records, of which the first `reached` are accounted for.

        What it made for certain beyond them is a gap. A board says it at each connection: the first word stands, and
        True says that this was the first.
        """
        if not 0 <= reached < most or least > most:
            raise BadRecord(f"a boot of {least} to {most} records cannot have been cut after {reached} of them")
        with self._store.together():
            number = self._boards.boot(board, boot)
            cook = self._store.row("SELECT id FROM cooks WHERE ended = 0 ORDER BY id DESC LIMIT 1")
            first = self._store.db.execute(
                "INSERT INTO cuts VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
                (number, boot, reached, least, most, cook[0] if cook else None),
            ).rowcount
            if least > reached:
                self.gap(board, boot, reached, least - 1, CUT)
            return bool(first)

    def stored(self, board: str, boot: int) -> int:
        """How many records of this boot are stored."""
        sql = "SELECT count(*) FROM records WHERE boot = ? AND board = (SELECT id FROM boards WHERE name = ?)"
        return int(self._store.row(sql, (boot, board))[0])

    def missing(self, board: str, boot: int) -> int:
        """How many records of this boot are known to be lost."""
        with self._store.still():
            lost, past = 0, -1
            sql = """SELECT board, first, last FROM gaps
                WHERE boot = ? AND board = (SELECT id FROM boards WHERE name = ?) ORDER BY first"""
            for number, first, last in self._store.rows(sql, (boot, board)):
                begin = max(first, past + 1)  # gaps may overlap
                if begin <= last:
                    here = "SELECT count(*) FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ?"
                    lost += last - begin + 1 - self._store.row(here, (number, boot, begin, last))[0]
                    past = last
            return lost

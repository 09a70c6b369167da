"""Reads a cook: trend, cycles, states, counts and gaps."""

from __future__ import annotations

import struct
from collections.abc import Iterator, Sequence
from typing import Any

from hearth.link import messages
from msgspec import Struct

from tuyere.logbook import decode
from tuyere.logbook import trend as columns_of
from tuyere.logbook.boards import Boards
from tuyere.logbook.clock import Clock
from tuyere.logbook.cooks import Cooks
from tuyere.logbook.errors import NoLayout
from tuyere.logbook.missing import Missing, Spans
from tuyere.logbook.rows import Counts, Cut, Gap, State, Trend
from tuyere.logbook.store import Store

CHUNK = 2000  # records held at a time while exporting


class Run(Struct):
    """One boot of a cook for a replay: its records from the last state before the cook's first record on."""

    board: str
    boot: int
    first: int  # sequence of the cook's first record; earlier ones only lead up to it
    last: int
    layout: decode.Layout
    clock: Clock
    states: list[bytes]
    sequences: list[int]  # of the cycles
    cycles: list[bytes]


class Fresh(Struct):
    """Cycle records of one boot in the order of their sequence, and how to read them."""

    board: str
    boot: int
    layout: decode.Layout
    clock: Clock
    data: list[bytes]


class Picked(Struct):
    """Columns of cycles of one boot, named as in `decode.Layout.pick`. Fields that the layout lacks are left out."""

    board: str
    boot: int
    utc: list[int]
    columns: dict[tuple[str, str], list[int]]


class Reading:
    """`book.reading`: reads cooks."""

    def __init__(self, store: Store, boards: Boards, cooks: Cooks) -> None:
        self._store, self._boards, self._cooks = store, boards, cooks
        self._spans = Spans(store, boards, cooks).of
        self._missing = Missing(store, boards, cooks)

    def trend(self, cook: int, after: int = 0) -> Trend:
        """Columns of all cycles stored since the record of id `after` (a Trend's `last`), oldest first.

        A pit reading with a fault is None. Records that came late may be older than those given out before.
        """
        last, runs = self._fresh(cook, after)
        return columns_of.joined(cook, last, [columns_of.run(cook, run.layout, run.clock, run.data) for run in runs])

    def picked(self, cook: int, after: int, names: Sequence[tuple[str, str]]) -> tuple[int, list[Picked]]:
        """(id to ask from next time, some fields of all cycles stored since the record of id `after`), boot by boot.

        `names` are those of `decode.Layout.pick`; the numbers are the board's own.
        """
        last, runs = self._fresh(cook, after)
        found = []
        for run in runs:
            columns = run.layout.pick({*names, ("head", "at")}, b"".join(run.data))
            found.append(Picked(run.board, run.boot, run.clock.column(columns["head", "at"]), columns))
        return last, found

    def stored(self, cook: int) -> int:
        """How many records of a cook are stored."""
        return int(self._store.row("SELECT coalesce(sum(records), 0) FROM spans WHERE cook = ?", (cook,))[0])

    def cycles(self, cook: int) -> Iterator[dict[str, Any]]:
        """Every cycle decoded by its own board's layout, oldest boot first, in the order of the sequence.

        Keys: utc (ms), estimated (utc is a guess), board, boot, sequence, at (board ms), settings (number of
        the settings in force), then all now_* and out_* fields as a person reads them (C, %); None for an
        absent meat or ambient reading.
        """
        sql = """SELECT bytes, sequence FROM records WHERE board = ? AND boot = ? AND cook = ? AND kind = ?
            AND sequence >= ? ORDER BY sequence LIMIT ?"""
        for span in self._spans(cook):
            layout: decode.Layout | None = None
            begin = span.first
            while True:
                args = (span.number, span.boot, cook, messages.CYCLE, begin, CHUNK)
                rows = self._store.rows(sql, args)
                if not rows:
                    break
                begin = rows[-1][1] + 1
                if layout is None:
                    layout = self._layout(span.number, span.boot, rows[0][0])
                data = b"".join([row[0] for row in rows if layout.fits(row[0])])
                for cycle in layout.cycles(data):
                    yield {
                        "utc": span.clock.utc(cycle["at"]),
                        "estimated": span.clock.estimated,
                        "board": span.board,
                        "boot": cycle.pop("boot"),
                        "sequence": cycle.pop("sequence"),
                        "at": cycle.pop("at"),
                        "settings": cycle.pop("settings"),
                        **cycle,
                    }

    def columns(self, cook: int) -> list[tuple[str, str]]:
        """(part, field) of all cycle fields this cook's boards have, in the order of their layouts."""
        names: dict[tuple[str, str], None] = {}
        for span in self._spans(cook):
            sql = "SELECT bytes FROM records WHERE board = ? AND boot = ? AND cook = ? AND kind = ? LIMIT 1"
            row = self._store.row(sql, (span.number, span.boot, cook, messages.CYCLE))
            if row:
                fields = self._layout(span.number, span.boot, row[0]).cycle_fields
                names.update(dict.fromkeys((part, field.name) for part, field in fields))
        return list(names)

    def states(self, cook: int) -> list[State]:
        """All state records of a cook, oldest first, with the board's own whole numbers."""
        states = []
        sql = """SELECT bytes FROM records WHERE board = ? AND boot = ? AND cook = ? AND kind = 2
            ORDER BY sequence"""
        for span in self._spans(cook):
            for (data,) in self._store.rows(sql, (span.number, span.boot, cook)):
                layout = self._layout(span.number, span.boot, data)
                _, boot, sequence, at, settings = layout.state.unpack(data)[:5]
                state = State(span.board, boot, sequence, at, span.clock.utc(at), settings, *layout.state_parts(data))
                states.append(state)
        return states

    def records(self, cook: int) -> Iterator[tuple[str, int, int, bytes]]:
        """(board, boot, sequence, bytes) of every record of a cook, oldest boot first, for a replay."""
        sql = """SELECT sequence, bytes FROM records WHERE board = ? AND boot = ? AND cook = ? AND sequence >= ?
            ORDER BY sequence LIMIT ?"""
        for span in self._spans(cook):
            begin = span.first
            while rows := self._store.rows(sql, (span.number, span.boot, cook, begin, CHUNK)):
                begin = rows[-1][0] + 1
                for sequence, data in rows:
                    yield span.board, span.boot, sequence, data

    def runs(self, cook: int) -> Iterator[Run]:
        """The boots of a cook with what a replay needs of each, oldest first.

        Records of another length than the layout says cannot be read and are left out.
        """
        where = "FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ? AND kind = ? ORDER BY sequence"
        before = "SELECT max(sequence) FROM records WHERE board = ? AND boot = ? AND kind = 2 AND sequence <= ?"
        for span in self._spans(cook):
            (begin,) = self._store.row(before, (span.number, span.boot, span.first))
            ends = (span.number, span.boot, span.first if begin is None else begin, span.last)
            states = [data for (data,) in self._store.rows(f"SELECT bytes {where}", (*ends, messages.STATE))]
            rows = self._store.rows(f"SELECT sequence, bytes {where}", (*ends, messages.CYCLE))
            if not (states or rows):
                continue
            layout = self._layout(span.number, span.boot, rows[0][1] if rows else states[0])
            states = [data for data in states if layout.fits(data)]
            sequences, cycles = [row[0] for row in rows], [row[1] for row in rows]
            if set(map(len, cycles)) - {layout.cycle.size}:
                sequences = [sequence for sequence, data in rows if layout.fits(data)]
                cycles = [data for data in cycles if layout.fits(data)]
            yield Run(span.board, span.boot, span.first, span.last, layout, span.clock, states, sequences, cycles)

    def counts(self, cook: int) -> Counts:
        """What is stored of a cook and what is missing."""
        return self._missing.counts(cook)

    def all_counts(self) -> dict[int, Counts]:
        """The same for every cook, by number."""
        return self._missing.all_counts()

    def gaps(self, cook: int) -> list[Gap]:
        """Records of a cook that are not here, whether or not a cause was noted, oldest boot first."""
        return self._missing.gaps(cook)

    def cuts(self, cook: int) -> list[Cut]:
        """Boots of a cook that ended while it was open, with records in the board's RAM."""
        self._cooks.get(cook)
        sql = """SELECT b.name, c.boot, c.reached, c.least, c.most FROM cuts c JOIN boards b ON b.id = c.board
            WHERE c.cook = ? AND EXISTS (
                SELECT 1 FROM spans s WHERE s.cook = ? AND s.board = c.board AND s.boot = c.boot)"""
        return [Cut(*row) for row in self._store.rows(sql, (cook, cook))]

    # -- parts ---------------------------------------------------------------------

    def _fresh(self, cook: int, after: int) -> tuple[int, list[Fresh]]:
        """Cycles stored since the record of id `after`, those of a boot together."""
        self._cooks.get(cook)
        with self._store.still():
            newest = self._store.row("SELECT max(id) FROM records")[0] or 0
            if after > 0:
                # NOT INDEXED: by the id, so only new records are read. Grouping tempts SQLite to read them all.
                sql = """SELECT r.board, b.name, r.boot, min(r.sequence), max(r.sequence) FROM records r NOT INDEXED
                    JOIN boards b ON b.id = r.board
                    WHERE r.id > ? AND r.cook = ? AND r.kind = ? GROUP BY r.board, r.boot"""
                groups = self._store.rows(sql, (after, cook, messages.CYCLE))
            else:
                sql = """SELECT s.board, b.name, s.boot, s.first, s.last FROM spans s
                    JOIN boards b ON b.id = s.board WHERE s.cook = ? AND s.cycles"""
                groups = self._store.rows(sql, (cook,))
            runs = []
            for number, board, boot, first, last in groups:
                rows = self._store.rows(
                    """SELECT bytes FROM records WHERE board = ? AND boot = ? AND sequence BETWEEN ? AND ?
                    AND id > ? AND cook = ? AND kind = ? ORDER BY sequence""",
                    (number, boot, first, last, after, cook, messages.CYCLE),
                )
                if not rows:  # they were stored, and are gone from the file
                    continue
                layout = self._layout(number, boot, rows[0][0])
                whole = [data for (data,) in rows if len(data) == layout.cycle.size]
                runs.append(Fresh(board, boot, layout, self._boards.clock(number, boot), whole))
            return max(after, newest), runs

    def _layout(self, number: int, boot: int, sample: bytes) -> decode.Layout:
        """The layout this boot announced; for a boot that never said hello, its neighbour's if the sample fits it."""
        sql = """SELECT l.json, b.id - (SELECT id FROM boots WHERE board = ?1 AND boot = ?2) AS away
            FROM boots b JOIN layouts l ON l.id = b.layout WHERE b.board = ?1 ORDER BY away <> 0, abs(away), away"""
        for text, away in self._store.rows(sql, (number, boot)):
            try:
                found = decode.layout(text)
            except (ValueError, LookupError, TypeError, struct.error) as error:
                raise self._store.broken("a layout of its records") from error
            if away == 0 or found.fits(sample):
                return found
        (board,) = self._store.row("SELECT name FROM boards WHERE id = ?", (number,))
        raise NoLayout(
            f"boot {boot} of board {board} never announced how its records are laid out, so they cannot be read; "
            "they are kept: connect the board with the firmware that wrote them"
        )

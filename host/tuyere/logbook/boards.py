"""What boards report about themselves: hellos and clock pairs, boot by boot."""

from __future__ import annotations

import json
from typing import Any

from tuyere.logbook import decode, views
from tuyere.logbook.clock import Clock, Life, estimate
from tuyere.logbook.errors import HelloConflict, NoSuchEntry
from tuyere.logbook.rows import Boot
from tuyere.logbook.store import Store

_BOOTS = """
    SELECT b.boot, b.seen, b.firmware, b.core,
        (SELECT r.id FROM records r WHERE r.board = b.board AND r.boot = b.boot ORDER BY r.sequence LIMIT 1) AS first,
        (SELECT r.at FROM records r WHERE r.board = b.board AND r.boot = b.boot ORDER BY r.sequence DESC LIMIT 1),
        b.doubtful
    FROM boots b WHERE b.board = ? ORDER BY first IS NULL, first, b.id"""  # oldest first: boards send so


class Boards:
    """`book.boards`: the boards, their boots, and board time as UTC."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def hello(self, board: str, boot: int, hello: dict[str, Any], seen: int) -> None:
        """Store a hello; `seen` is UTC ms. HelloConflict if this boot has announced another layout before."""
        layout = decode.layout_json(hello)
        with self._store.together():
            number = self.boot(board, boot)
            id = None
            if layout is not None:
                sql = "INSERT INTO layouts (json) VALUES (?) ON CONFLICT DO NOTHING"
                if self._store.db.execute(sql, (layout,)).rowcount > 0:
                    views.make(self._store.db)
                (id,) = self._store.db.execute("SELECT id FROM layouts WHERE json = ?", (layout,)).fetchone()
                (old,) = self._store.db.execute(
                    "SELECT layout FROM boots WHERE board = ? AND boot = ?", (number, boot)
                ).fetchone()
                if old not in (None, id):
                    raise HelloConflict(
                        f"board {board} announced two different record layouts in boot {boot}; restart the board"
                    )
            self._store.db.execute(
                """UPDATE boots SET seen = CASE seen WHEN 0 THEN ? ELSE seen END, firmware = ?, core = ?,
                    layout = coalesce(?, layout), hello = ? WHERE board = ? AND boot = ?""",
                (seen, str(hello.get("firmware", "")), str(hello.get("core", "")), id, json.dumps(hello), number, boot),
            )

    def pair(self, board: str, boot: int, at_ms: int, utc_ms: int) -> None:
        """Board clock and UTC at one instant."""
        with self._store.together():
            self._store.db.execute(
                "INSERT INTO pairs VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET utc_ms = excluded.utc_ms",
                (self.boot(board, boot), boot, at_ms, utc_ms),
            )

    def utc(self, board: str, boot: int, at_ms: int) -> int:
        """UTC ms of a board time (see `clock`). NoSuchEntry for an unknown boot."""
        with self._store.still():
            return self.clock(self.known(board), boot).utc(at_ms)

    def boots(self, board: str) -> list[Boot]:
        """All boots of a board, oldest first."""
        with self._store.still():
            number = self.known(board)
            clocks = self.clocks(number)
            return [
                Boot(board, boot, seen, firmware, core, clocks[boot].estimated, clocks[boot].utc(0))
                for boot, seen, firmware, core, _, _, _ in self._store.rows(_BOOTS, (number,))
            ]

    # -- for the other parts of the logbook, which use the number of a board ---------

    def number(self, board: str) -> int:
        """The number of a board. A new board is added. Call it inside a transaction."""
        row = self._store.row("SELECT id FROM boards WHERE name = ?", (board,))
        return row[0] if row else self._store.insert("INSERT INTO boards (name) VALUES (?)", (board,))

    def boot(self, board: str, boot: int) -> int:
        """The number of the board. A new boot is added."""
        number = self.number(board)
        if not self._store.row("SELECT 1 FROM boots WHERE board = ? AND boot = ?", (number, boot)):
            self._store.insert("INSERT INTO boots (board, boot) VALUES (?, ?)", (number, boot))
        return number

    def known(self, board: str) -> int:
        row = self._store.row("SELECT id FROM boards WHERE name = ?", (board,))
        if not row:
            raise NoSuchEntry(f"the logbook has never heard of board {board}; connect it once")
        return int(row[0])

    def clock(self, number: int, boot: int) -> Clock:
        pairs = self._store.rows("SELECT at_ms, utc_ms FROM pairs WHERE board = ? AND boot = ?", (number, boot))
        if pairs:
            row = self._store.row("SELECT doubtful FROM boots WHERE board = ? AND boot = ?", (number, boot))
            return Clock(pairs, estimated=bool(row and row[0]))
        clocks = self.clocks(number)
        if boot not in clocks:
            raise NoSuchEntry(f"the logbook has never heard of boot {boot} of this board; connect it once")
        return clocks[boot]

    def clocks(self, number: int) -> dict[int, Clock]:
        """Clocks of all boots of a board."""
        pairs: dict[int, list[tuple[int, int]]] = {}
        for boot, at, utc in self._store.rows("SELECT boot, at_ms, utc_ms FROM pairs WHERE board = ?", (number,)):
            pairs.setdefault(boot, []).append((at, utc))
        rows = self._store.rows(_BOOTS, (number,))
        known = {row[0]: Clock(pairs[row[0]], estimated=bool(row[6])) for row in rows if row[0] in pairs}
        lives = [Life(row[5] or 0, row[1], known.get(row[0])) for row in rows]
        return {row[0]: clock for row, clock in zip(rows, estimate(lives), strict=True)}

"""The cooks, and texts of each cook that the board does not hold, such as names of phases."""

from __future__ import annotations

from typing import Any

from tuyere.logbook.boards import Boards
from tuyere.logbook.checks import text
from tuyere.logbook.errors import BadEntry, CookOpen, NoSuchEntry
from tuyere.logbook.rows import Cook
from tuyere.logbook.store import Store

_COOK = """SELECT c.id, c.name, c.started, b.name, c.simulated, c.ended, c.meat_on, c.origin,
    c.origin = '' OR (c.origin = 'import' AND c.board IN (SELECT board FROM cooks WHERE origin = ''))
    FROM cooks c JOIN boards b ON b.id = c.board"""


class Cooks:
    """`book.cooks`: at most one is open."""

    def __init__(self, store: Store, boards: Boards) -> None:
        self._store, self._boards = store, boards

    def start(self, name: str, started: int, board: str, simulated: bool) -> int:
        """Open a cook; returns its number. CookOpen if another has not ended."""
        name = text("the name of a cook", empty=False)(name)
        with self._store.together():
            standing = self.open()
            if standing:
                raise CookOpen(f'cook {standing.id} "{standing.name}" is still open; end it before starting another')
            return self._store.insert(
                "INSERT INTO cooks (name, started, board, simulated) VALUES (?, ?, ?, ?)",
                (name, started, self._boards.number(board), int(simulated)),
            )

    def end(self, id: int, at: int) -> None:
        """Close a cook at a UTC time."""
        cook = self.get(id)
        if at < cook.started:
            raise BadEntry(f"cook {id} cannot end before it started; give a later time")
        with self._store.together():
            self._store.db.execute("UPDATE cooks SET ended = ? WHERE id = ?", (at, id))

    def set_meat_on(self, id: int, at: int) -> None:
        """Set when the meat went on. 0 removes the time."""
        self.get(id)
        with self._store.together():
            self._store.db.execute("UPDATE cooks SET meat_on = ? WHERE id = ?", (at, id))

    def open(self) -> Cook | None:
        """The cook that has not ended, if any."""
        row = self._store.row(_COOK + " WHERE c.ended = 0 ORDER BY c.id DESC LIMIT 1")
        return self._cook(row) if row else None

    def all(self) -> list[Cook]:
        """All cooks, oldest first."""
        return [self._cook(row) for row in self._store.rows(_COOK + " ORDER BY c.id")]

    def get(self, id: int) -> Cook:
        """One cook; NoSuchEntry says which there are."""
        row = self._store.row(_COOK + " WHERE c.id = ?", (id,)) if abs(id) < 1 << 62 else None
        if not row:
            low, high = self._store.row("SELECT min(id), max(id) FROM cooks")
            have = f"cooks {low} to {high}" if low != high else f"only cook {low}" if low else "there is none yet"
            raise NoSuchEntry(f"there is no cook {id} in this logbook ({have}); `tuyere log list` shows what there is")
        return self._cook(row)

    @staticmethod
    def _cook(row: Any) -> Cook:
        id, name, started, board, simulated, ended, meat_on, origin, own = row
        return Cook(
            id=id,
            name=name,
            started=started,
            board=board,
            simulated=bool(simulated),
            ended=ended,
            meat_on=meat_on,
            origin=origin,
            own=bool(own),
        )

    def set_text(self, cook: int, name: str, text: str) -> None:
        """Keep a text of a cook under a name (names of its phases, say); a later one replaces it."""
        self.get(cook)
        self._store.insert(
            "INSERT INTO texts VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET text = excluded.text", (cook, name, text)
        )

    def text(self, cook: int, name: str) -> str | None:
        """The text kept under this name, or None."""
        row = self._store.row("SELECT text FROM texts WHERE cook = ? AND name = ?", (cook, name))
        return row[0] if row else None

"""What people note: the pieces of a cook, and its events."""

from __future__ import annotations

import math
from typing import Any

from tuyere.logbook import said
from tuyere.logbook.checks import PIECE_FIELDS
from tuyere.logbook.cooks import Cooks
from tuyere.logbook.errors import BadEntry, NoSuchEntry
from tuyere.logbook.kinds import BOARD_KINDS, TWIN_KINDS, check_event
from tuyere.logbook.rows import Event, PieceRow
from tuyere.logbook.store import Store
from tuyere.text import Said

_PIECE = (
    "id", "cook", "name", "cut", "mass", "probe", "place", "shade", "shade_at", "wrap", "on_at", "hand", "hand_at",
    "flat", "point", "start", "intact", "target", "wanted_shade", "wrap_with", "held", "oven",
    "tender_at", "not_tender_at", "part_of", "parted_at",
)  # fmt: skip
_EVENT = ("id", "cook", "at", "noted", "kind", "piece", "value", "text", "source", "withdrawn")


class Pieces:
    """`book.pieces`."""

    def __init__(self, store: Store, cooks: Cooks) -> None:
        self._store, self._cooks = store, cooks

    def add(self, cook: int, **fields: Any) -> int:
        """A piece of a cook, with fields of `rows.PieceRow`; name is needed. Returns its number."""
        self._cooks.get(cook)
        if "name" not in fields:
            raise BadEntry("a piece needs a name; give one")
        with self._store.together():
            id = self._store.insert("INSERT INTO pieces (cook, name) VALUES (?, '')", (cook,))
            self._store.change("pieces", PIECE_FIELDS, id, fields)
        return id

    def change(self, id: int, **fields: Any) -> None:
        """Set some fields of a piece."""
        if not self._store.change("pieces", PIECE_FIELDS, id, fields):
            raise NoSuchEntry(f"there is no piece {id}; `tuyere log show last` lists the pieces")

    def of(self, cook: int) -> list[PieceRow]:
        """The pieces of a cook in the order they were added."""
        rows = self._store.rows(f"SELECT {', '.join(_PIECE)} FROM pieces WHERE cook = ? ORDER BY id", (cook,))
        pieces = [PieceRow(**dict(zip(_PIECE, row, strict=True))) for row in rows]
        for piece in pieces:
            piece.intact, piece.held = bool(piece.intact), bool(piece.held)
        return pieces


class Events:
    """`book.events`: dated when they happened, also long before they were noted. Events of the board are among them."""

    def __init__(self, store: Store, cooks: Cooks) -> None:
        self._store, self._cooks = store, cooks

    def note(
        self, cook: int, kind: str, at: int, noted: int, piece: int = 0, value: float | None = None, text: str = ""
    ) -> int:
        """Write down an event (kinds in `kinds`): it happened at `at`, and is noted at `noted`. Returns its number."""
        check_event(kind, piece, value, text)
        if value is not None and not math.isfinite(value):
            raise BadEntry(f"a value of {value} cannot be noted; give a number")
        self._cooks.get(cook)
        if piece and not self._store.row("SELECT 1 FROM pieces WHERE id = ? AND cook = ?", (piece, cook)):
            raise NoSuchEntry(f"cook {cook} has no piece {piece}; `tuyere log show {cook}` lists its pieces")
        return self._store.insert(
            "INSERT INTO events (cook, at, noted, kind, piece, value, text) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (cook, at, noted, kind, piece, value, text),
        )

    def note_once(
        self,
        cook: int,
        kind: str,
        at: int,
        noted: int,
        source: str,
        value: float | None = None,
        text: Said = "",
        piece: int = 0,
    ) -> bool:
        """Write down what the board did (`kinds.BOARD_KINDS`), or a twin's hands (`kinds.TWIN_KINDS`); False if it was
        here already.

        `source` names the record it comes from, so that reading the record again writes nothing.
        """
        if not source or (kind not in BOARD_KINDS and kind not in TWIN_KINDS):
            raise BadEntry(f'"{kind}" from "{source}" is no event of a board; they are {", ".join(BOARD_KINDS)}')
        self._cooks.get(cook)
        with self._store.together():
            done = self._store.db.execute(
                """INSERT INTO events (cook, at, noted, kind, piece, value, text, said, source)
                    VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
                    ON CONFLICT DO NOTHING""",
                (cook, at, noted, kind, piece, value, *said.columns(text), source),
            )
            return done.rowcount == 1

    def withdraw(self, id: int, at: int) -> None:
        """Withdraw a person's note. It is marked, not deleted. Events of the board cannot be withdrawn."""
        with self._store.together():
            mine = "SELECT withdrawn FROM events WHERE id = ? AND source = ''"
            row = self._store.row(mine, (id,)) if abs(id) < 1 << 62 else None
            if not row:
                raise NoSuchEntry(f"there is no note {id} of a person; `tuyere log show last` lists the events")
            if row[0]:
                raise BadEntry(f"note {id} has been withdrawn already")
            self._store.db.execute("UPDATE events SET withdrawn = ? WHERE id = ?", (at, id))

    def of(self, cook: int, limit: int | None = None, *, withdrawn: bool = False) -> list[Event]:
        """Events of a cook, newest first by when they happened; at most `limit`; those withdrawn only if asked for."""
        those = "" if withdrawn else "AND withdrawn = 0"
        sql = f"SELECT {', '.join(_EVENT)}, said FROM events WHERE cook = ? {those} ORDER BY at DESC, id DESC LIMIT ?"
        events = []
        for *row, typed in self._store.rows(sql, (cook, -1 if limit is None else limit)):
            event = Event(**dict(zip(_EVENT, row, strict=True)))
            if typed:
                event.text = said.sentence(typed)
            events.append(event)
        return events

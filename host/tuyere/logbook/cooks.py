"""What people do: cooks, pieces, events, alarms, and the texts the board does not know."""

from __future__ import annotations

import json
import math
import zlib
from collections.abc import Sequence
from typing import Any

import msgspec

from tuyere.logbook.boards import Boards
from tuyere.logbook.checks import ALARM_FIELDS, PIECE_FIELDS, choice, text
from tuyere.logbook.errors import BadEntry, CookOpen, NoSuchEntry
from tuyere.logbook.kinds import BOARD_KINDS, FORECASTS, LEVELS, TWIN_KINDS, check_event
from tuyere.logbook.rows import Alarm, Cook, Event, Forecast, Piece
from tuyere.text import Said, Unconverted

SAID: Any = Said

_COOK = """SELECT c.id, c.name, c.started, b.name, c.simulated, c.ended, c.meat_on
    FROM cooks c JOIN boards b ON b.id = c.board"""
_PIECE = """id, cook, name, cut, mass, probe, place, shade, shade_at, wrap, on_at, hand, hand_at,
    flat, point, start, intact, target, wanted_shade, wrap_with"""
_EVENT = "id, cook, at, noted, kind, piece, value, text, source, withdrawn, said"
_ALARM = "id, cook, raised, level, code, what, why, checks, acknowledged, shelved, cleared"


class Cooks(Boards):
    """The part of the logbook that people fill."""

    # -- cooks -----------------------------------------------------------------

    def start_cook(self, name: str, started: int, board: str, simulated: bool) -> int:
        """Open a cook; returns its number. CookOpen if another has not ended."""
        name = text("the name of a cook", empty=False)(name)
        with self.together():
            standing = self.open_cook()
            if standing:
                raise CookOpen(f'cook {standing.id} "{standing.name}" is still open; end it before starting another')
            return self._insert(
                "INSERT INTO cooks (name, started, board, simulated) VALUES (?, ?, ?, ?)",
                (name, started, self._board(board), int(simulated)),
            )

    def end_cook(self, id: int, at: int) -> None:
        """Close a cook at a UTC time."""
        cook = self.cook(id)
        if at < cook.started:
            raise BadEntry(f"cook {id} cannot end before it started; give a later time")
        with self.together():
            self._db.execute("UPDATE cooks SET ended = ? WHERE id = ?", (at, id))

    def set_meat_on(self, id: int, at: int) -> None:
        """When the meat went on; 0 takes it back."""
        self.cook(id)
        with self.together():
            self._db.execute("UPDATE cooks SET meat_on = ? WHERE id = ?", (at, id))

    def open_cook(self) -> Cook | None:
        """The cook that has not ended, if any."""
        row = self._row(_COOK + " WHERE c.ended = 0 ORDER BY c.id DESC LIMIT 1")
        return self._cook(row) if row else None

    def cooks(self) -> list[Cook]:
        """All cooks, oldest first."""
        return [self._cook(row) for row in self._rows(_COOK + " ORDER BY c.id")]

    def cook(self, id: int) -> Cook:
        """One cook; NoSuchEntry says which there are."""
        row = self._row(_COOK + " WHERE c.id = ?", (id,)) if abs(id) < 1 << 62 else None
        if not row:
            low, high = self._row("SELECT min(id), max(id) FROM cooks")
            have = f"cooks {low} to {high}" if low != high else f"only cook {low}" if low else "there is none yet"
            raise NoSuchEntry(f"there is no cook {id} in this logbook ({have}); `tuyere log list` shows what there is")
        return self._cook(row)

    @staticmethod
    def _cook(row: Any) -> Cook:
        id, name, started, board, simulated, ended, meat_on = row
        return Cook(id, name, started, board, bool(simulated), ended, meat_on)

    def set_text(self, cook: int, name: str, text: str) -> None:
        """Keep a text of a cook under a name (names of its phases, say); a later one replaces it."""
        self.cook(cook)
        self._insert(
            "INSERT INTO texts VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET text = excluded.text", (cook, name, text)
        )

    def text(self, cook: int, name: str) -> str | None:
        """The text kept under this name, or None."""
        row = self._row("SELECT text FROM texts WHERE cook = ? AND name = ?", (cook, name))
        return row[0] if row else None

    # -- pieces ------------------------------------------------------------------

    def add_piece(self, cook: int, **fields: Any) -> int:
        """A piece of a cook, with fields of `rows.Piece`; name is needed. Returns its number."""
        self.cook(cook)
        if "name" not in fields:
            raise BadEntry("a piece needs a name; give one")
        with self.together():
            id = self._insert("INSERT INTO pieces (cook, name) VALUES (?, '')", (cook,))
            self._change("pieces", PIECE_FIELDS, id, fields)
        return id

    def change_piece(self, id: int, **fields: Any) -> None:
        """Set some fields of a piece."""
        if not self._change("pieces", PIECE_FIELDS, id, fields):
            raise NoSuchEntry(f"there is no piece {id}; `tuyere log show last` lists the pieces")

    def pieces(self, cook: int) -> list[Piece]:
        """The pieces of a cook in the order they were added."""
        rows = self._rows(f"SELECT {_PIECE} FROM pieces WHERE cook = ? ORDER BY id", (cook,))
        pieces = [Piece(*row) for row in rows]
        for piece in pieces:
            piece.intact = bool(piece.intact)
        return pieces

    # -- events --------------------------------------------------------------------

    def note(
        self, cook: int, kind: str, at: int, noted: int, piece: int = 0, value: float | None = None, text: str = ""
    ) -> int:
        """Write down an event (kinds in `kinds`): it happened at `at`, and is noted at `noted`. Returns its number."""
        check_event(kind, piece, value, text)
        if value is not None and not math.isfinite(value):
            raise BadEntry(f"a value of {value} cannot be noted; give a number")
        self.cook(cook)
        if piece and not self._row("SELECT 1 FROM pieces WHERE id = ? AND cook = ?", (piece, cook)):
            raise NoSuchEntry(f"cook {cook} has no piece {piece}; `tuyere log show {cook}` lists its pieces")
        return self._insert(
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
        self.cook(cook)
        with self.together():
            done = self._db.execute(
                """INSERT INTO events (cook, at, noted, kind, piece, value, text, said, source)
                    VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
                    ON CONFLICT DO NOTHING""",
                (cook, at, noted, kind, piece, value, *_text_and_said(text), source),
            )
            return done.rowcount == 1

    def withdraw(self, id: int, at: int) -> None:
        """A person takes a note back: it is marked, never deleted. What the board did cannot be taken back."""
        with self.together():
            mine = "SELECT withdrawn FROM events WHERE id = ? AND source = ''"
            row = self._row(mine, (id,)) if abs(id) < 1 << 62 else None
            if not row:
                raise NoSuchEntry(f"there is no note {id} of a person; `tuyere log show last` lists the events")
            if row[0]:
                raise BadEntry(f"note {id} has been withdrawn already")
            self._db.execute("UPDATE events SET withdrawn = ? WHERE id = ?", (at, id))

    def events(self, cook: int, limit: int | None = None, *, withdrawn: bool = False) -> list[Event]:
        """Events of a cook, newest first by when they happened; at most `limit`; those withdrawn only if asked for."""
        those = "" if withdrawn else "AND withdrawn = 0"
        sql = f"SELECT {_EVENT} FROM events WHERE cook = ? {those} ORDER BY at DESC, id DESC LIMIT ?"
        rows = self._rows(sql, (cook, -1 if limit is None else limit))
        events = [Event(*row[:-1]) for row in rows]
        for event, row in zip(events, rows, strict=True):
            if row[-1]:
                event.text = _read(row[-1], SAID)
        return events

    # -- forecasts -----------------------------------------------------------------

    def keep_forecasts(self, shown: Sequence[Forecast]) -> None:
        """Keep what was shown, all of it or nothing; the same again is kept once."""
        for one in shown:
            if one.kind not in FORECASTS or not 0 <= one.early <= one.likely <= one.late < 1 << 62:
                raise BadEntry(f"{one} is no forecast: its times go up, and it is one of {', '.join(FORECASTS)}")
        with self.together():
            self._db.executemany(
                "INSERT INTO forecasts VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
                [(f.cook, f.piece, f.kind, f.at, f.early, f.likely, f.late) for f in shown],
            )

    def forecasts(self, cook: int, kind: str | None = None) -> list[Forecast]:
        """Forecasts that were shown in a cook, oldest first; of one kind, or of all."""
        sql = "SELECT cook, piece, kind, at, early, likely, late FROM forecasts WHERE cook = ? AND ? IN (kind, '')"
        return [Forecast(*row) for row in self._rows(sql + " ORDER BY at, piece, kind", (cook, kind or ""))]

    # -- alarms --------------------------------------------------------------------

    def raise_alarm(
        self,
        cook: int | None,
        raised: int,
        level: str,
        code: str,
        what: Said,
        why: Said = "",
        checks: Sequence[Said] = (),
    ) -> int:
        """Write down an alarm; cook None outside any cook, `code` of its cause. Returns its number."""
        level = choice("a level", LEVELS)(level)
        if cook is not None:
            self.cook(cook)
        return self._insert(
            "INSERT INTO alarms (cook, raised, level, code, what, why, checks) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (cook, raised, level, code, _typed(what), _typed(why), _typed(list(checks))),
        )

    def change_alarm(self, id: int, **fields: int) -> None:
        """Set acknowledged, shelved (until) or cleared, UTC ms."""
        if not self._change("alarms", ALARM_FIELDS, id, fields):
            raise NoSuchEntry(f"there is no alarm {id}; it may be of another logbook")

    def alarms(self, cook: int | None, standing_only: bool = False) -> list[Alarm]:
        """Alarms of a cook (None: of no cook), oldest first; standing_only leaves out those cleared."""
        standing = "AND cleared = 0" if standing_only else ""
        rows = self._rows(f"SELECT {_ALARM} FROM alarms WHERE cook IS ? {standing} ORDER BY raised, id", (cook,))
        found = []
        for id, its, raised, level, code, what, why, checks, acknowledged, shelved, cleared in rows:
            said, because = _read(what, SAID), _read(why, SAID)
            steps = _read(checks, list[Said])
            found.append(Alarm(id, its, raised, level, code, said, because, steps, acknowledged, shelved, cleared))
        return found

    # -- cores ---------------------------------------------------------------------

    def keep_core(self, hash: str, files: dict[str, str]) -> None:
        """Keep the source of a core by its hash, so that its logs can be replayed with it for ever."""
        with self.together():
            old = self._row("SELECT files FROM cores WHERE hash = ?", (hash,))
            if old is None:
                packed = zlib.compress(json.dumps(files, sort_keys=True).encode())
                self._db.execute("INSERT INTO cores VALUES (?, ?)", (hash, packed))
            elif json.loads(zlib.decompress(old[0])) != files:
                raise BadEntry(f"core {hash} is in the logbook with other source; its hash must be that of the source")

    def core(self, hash: str) -> dict[str, str]:
        """File name -> source of a core; NoSuchEntry if it was never kept."""
        row = self._row("SELECT files FROM cores WHERE hash = ?", (hash,))
        if not row:
            raise NoSuchEntry(f"the logbook has no source of core {hash}; connect the board that ran it")
        files: dict[str, str] = json.loads(zlib.decompress(row[0]))
        return files

    def core_named(self, beginning: str) -> tuple[str, dict[str, str]]:
        """(whole hash, files) of the core whose hash begins so, as state records name it; NoSuchEntry if none does."""
        sql = "SELECT hash FROM cores WHERE hash >= ? AND hash < ?"
        row = self._row(sql, (beginning, beginning + "g")) if beginning else None
        if not row:
            raise NoSuchEntry(f"the logbook has no source of core {beginning}; connect the board that ran it")
        return row[0], self.core(row[0])


def _typed(said: Said | list[Said]) -> str:
    return msgspec.json.encode(said).decode()


def _read(stored: str, kind: Any) -> Any:
    """Typed text of the file; what does not read as such is shown as it stands rather than losing the row."""
    try:
        return msgspec.json.decode(stored, type=kind)
    except msgspec.DecodeError:
        return Unconverted(stored) if kind is SAID else [Unconverted(stored)]


def _text_and_said(said: Said) -> tuple[str, str]:
    """A plain sentence goes into `text`, a typed one into `said`."""
    return (said, "") if isinstance(said, str) else ("", _typed(said))

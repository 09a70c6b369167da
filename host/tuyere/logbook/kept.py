"""What the engine stores besides records: shown forecasts, alarms, and the source of each core."""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence

from tuyere.logbook import said
from tuyere.logbook.checks import ALARM_FIELDS, choice
from tuyere.logbook.cooks import Cooks
from tuyere.logbook.errors import BadEntry, NoSuchEntry
from tuyere.logbook.kinds import FORECASTS, LEVELS
from tuyere.logbook.rows import Alarm, Forecast
from tuyere.logbook.store import Store
from tuyere.text import Said

_ALARM = "id, cook, raised, level, code, what, why, checks, acknowledged, shelved, cleared"


class Forecasts:
    """`book.forecasts`: forecasts as they were shown, to be compared later with what happened."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def keep(self, shown: Sequence[Forecast]) -> None:
        """Store shown forecasts, all or none. Duplicates are stored once."""
        for one in shown:
            if one.kind not in FORECASTS or not 0 <= one.early <= one.likely <= one.late < 1 << 62:
                raise BadEntry(f"{one} is no forecast: its times go up, and it is one of {', '.join(FORECASTS)}")
        with self._store.together():
            self._store.db.executemany(
                "INSERT INTO forecasts VALUES (?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
                [(f.cook, f.piece, f.kind, f.at, f.early, f.likely, f.late) for f in shown],
            )

    def of(self, cook: int, kind: str | None = None) -> list[Forecast]:
        """Forecasts that were shown in a cook, oldest first; of one kind, or of all."""
        sql = "SELECT cook, piece, kind, at, early, likely, late FROM forecasts WHERE cook = ? AND ? IN (kind, '')"
        rows = self._store.rows(sql + " ORDER BY at, piece, kind", (cook, kind or ""))
        return [Forecast(**dict(zip(Forecast.__struct_fields__, row, strict=True))) for row in rows]


class Alarms:
    """`book.alarms`: all that needed a person, and when each was acknowledged and cleared."""

    def __init__(self, store: Store, cooks: Cooks) -> None:
        self._store, self._cooks = store, cooks

    def add(
        self, cook: int | None, raised: int, level: str, code: str, what: Said, why: Said = "",
        checks: Sequence[Said] = (),
    ) -> int:  # fmt: skip
        """Write down an alarm; cook None outside any cook, `code` of its cause. Returns its number."""
        level = choice("a level", LEVELS)(level)
        if cook is not None:
            self._cooks.get(cook)
        return self._store.insert(
            "INSERT INTO alarms (cook, raised, level, code, what, why, checks) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (cook, raised, level, code, said.pack(what), said.pack(why), said.pack(list(checks))),
        )

    def change(self, id: int, **fields: int) -> None:
        """Set acknowledged, shelved (until) or cleared, UTC ms."""
        if not self._store.change("alarms", ALARM_FIELDS, id, fields):
            raise NoSuchEntry(f"there is no alarm {id}; it may be of another logbook")

    def of(self, cook: int | None, standing_only: bool = False) -> list[Alarm]:
        """Alarms of a cook (None: of no cook), oldest first; standing_only leaves out those cleared."""
        standing = "AND cleared = 0" if standing_only else ""
        rows = self._store.rows(f"SELECT {_ALARM} FROM alarms WHERE cook IS ? {standing} ORDER BY raised, id", (cook,))
        found = []
        for id, its, raised, level, code, what, why, checks, acknowledged, shelved, cleared in rows:
            because, steps = said.sentence(why), said.several(checks)
            about = said.sentence(what)
            found.append(
                Alarm(
                    id=id,
                    cook=its,
                    raised=raised,
                    level=level,
                    code=code,
                    what=about,
                    why=because,
                    checks=steps,
                    acknowledged=acknowledged,
                    shelved=shelved,
                    cleared=cleared,
                )
            )
        return found


class Cores:
    """`book.cores`: the law's source by its hash."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def keep(self, hash: str, files: dict[str, str]) -> None:
        """Store the source of a core by its hash, so that its logs can always be replayed with it."""
        with self._store.together():
            row = self._store.row("SELECT files FROM cores WHERE hash = ?", (hash,))
            old = _unpacked(row[0]) if row else None
            if old is None:  # not there, or its bytes are damaged
                packed = zlib.compress(json.dumps(files, sort_keys=True).encode())
                sql = "INSERT INTO cores VALUES (?, ?) ON CONFLICT DO UPDATE SET files = excluded.files"
                self._store.db.execute(sql, (hash, packed))
            elif old != files:
                raise BadEntry(f"core {hash} is in the logbook with other source; its hash must be that of the source")

    def get(self, hash: str) -> dict[str, str]:
        """File name -> source of a core; NoSuchEntry if it was never kept, or is damaged."""
        row = self._store.row("SELECT files FROM cores WHERE hash = ?", (hash,))
        if not row:
            raise NoSuchEntry(f"the logbook has no source of core {hash}; connect the board that ran it")
        files = _unpacked(row[0])
        if files is None:
            raise NoSuchEntry(f"the source of core {hash} is damaged in the logbook; connect the board that ran it")
        return files

    def named(self, beginning: str) -> tuple[str, dict[str, str]]:
        """(whole hash, files) of the core whose hash begins so, as state records name it; NoSuchEntry if none does."""
        sql = "SELECT hash FROM cores WHERE hash >= ? AND hash < ?"
        row = self._store.row(sql, (beginning, beginning + "g")) if beginning else None
        if not row:
            raise NoSuchEntry(f"the logbook has no source of core {beginning}; connect the board that ran it")
        return row[0], self.get(row[0])


def _unpacked(packed: bytes) -> dict[str, str] | None:
    """The files of a core, None if the bytes are damaged."""
    try:
        files: dict[str, str] = json.loads(zlib.decompress(packed))
    except (zlib.error, ValueError):
        return None
    return files

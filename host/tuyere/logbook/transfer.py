"""A cook from one logbook to another: its rows as they are stored, and its records byte for byte."""

from __future__ import annotations

import base64
import binascii
import json
import sqlite3
from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Any

from tuyere.logbook import chain, views
from tuyere.logbook.boards import Boards
from tuyere.logbook.cooks import Cooks
from tuyere.logbook.errors import BadEntry, LogbookError
from tuyere.logbook.records import Records
from tuyere.logbook.store import Store

OF_COOK = ("pieces", "events", "alarms", "texts", "forecasts", "gaps", "cuts")
BATCH = 4000
IMPORT, FOREIGN = "import", "foreign"

Rows = dict[str, list[dict[str, Any]]]


class Transfer:
    """`book.transfer`."""

    def __init__(self, store: Store, boards: Boards, cooks: Cooks, records: Records) -> None:
        self._store, self._boards, self._cooks, self._records = store, boards, cooks, records

    def rows(self, cook: int) -> Rows:
        """All rows of a cook but its records, by table; bytes as {"hex": ...}."""
        with self._store.still():
            self._cooks.get(cook)
            boots = "SELECT 1 FROM spans s WHERE s.cook = ? AND s.board = t.board AND s.boot = t.boot"
            its = f"SELECT t.* FROM boots t WHERE EXISTS ({boots})"
            wanted = {
                "boards": "SELECT * FROM boards WHERE ? IS NOT NULL",
                "boots": its,
                "layouts": f"SELECT * FROM layouts WHERE id IN (SELECT layout FROM ({its}))",
                "pairs": f"SELECT t.* FROM pairs t WHERE EXISTS ({boots})",
                "cores": f"SELECT * FROM cores WHERE hash IN (SELECT core FROM ({its}))",
                "cooks": "SELECT * FROM cooks WHERE id = ?",
                **{name: f"SELECT * FROM {name} WHERE cook = ?" for name in OF_COOK},
            }
            return {name: self._images(name, sql, cook) for name, sql in wanted.items()}

    def _images(self, name: str, sql: str, cook: int) -> list[dict[str, Any]]:
        columns = self._columns(name)
        return [json.loads(chain.image(columns, row)) for row in self._store.rows(sql, (cook,))]

    def _columns(self, name: str) -> list[str]:
        rows = self._store.rows("SELECT name FROM pragma_table_info(?) ORDER BY cid", (name,))
        return [column for (column,) in rows]

    def take(self, rows: Rows, records: Iterable[tuple[str, int, bytes]], file: str, origin: str = IMPORT) -> int:
        """Store a cook from another logbook, all of it or nothing; returns its number here.

        records: (board, boot, bytes), those of a boot together. BadEntry for what is no cook, or one that is
        here already. An open cook is ended at its last record.
        """
        try:
            with self._store.together():
                cook = self._take(rows, origin)
                last = self._add(records, cook)
                end = "UPDATE cooks SET ended = max(started, ?) WHERE id = ? AND ended = 0"
                self._store.db.execute(end, (last, cook))
                self._store.chain_of_owner.incident("imported", cook=cook, file=file)
                return cook
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            words = f"{file} is no export of a cook: {error!r}; make it with `tuyere log export --json`"
            raise BadEntry(words) from error
        except LogbookError as error:
            if isinstance(error.__cause__, sqlite3.IntegrityError | sqlite3.OperationalError):
                raise BadEntry(f"{file} is no export of a cook: {error.__cause__}") from error
            raise

    def _take(self, rows: Rows, origin: str) -> int:
        boards = {row["id"]: self._boards.number(str(row["name"])) for row in rows["boards"]}
        layouts = {}
        for row in rows["layouts"]:
            self._insert("layouts", {"json": row["json"]}, quiet=True)
            (layouts[row["id"]],) = self._store.row("SELECT id FROM layouts WHERE json = ?", (row["json"],))
        views.make(self._store.db)
        for row in rows["boots"]:
            boot = {**row, "id": None, "board": boards[row["board"]], "layout": layouts.get(row["layout"])}
            self._insert("boots", boot, quiet=True)
        for row in rows["pairs"]:
            self._insert("pairs", {**row, "board": boards[row["board"]]}, quiet=True)
        for row in rows["cores"]:
            self._insert("cores", {**row, "files": bytes.fromhex(row["files"]["hex"])}, quiet=True)
        (its,) = rows["cooks"]
        if its.get("origin") == FOREIGN:  # also by way of another logbook
            origin = FOREIGN
        cook = self._insert("cooks", {**its, "id": None, "board": boards[its["board"]], "origin": origin})
        pieces = {0: 0}
        for row in rows["pieces"]:
            whole = {"part_of": pieces.get(row["part_of"], 0)} if "part_of" in row else {}
            pieces[row["id"]] = self._insert("pieces", {**row, **whole, "id": None, "cook": cook})
        for name in OF_COOK[1:]:
            for row in rows[name]:
                new = {**row, "cook": cook}
                new |= {"id": None} if "id" in row else {}
                new |= {"piece": pieces[row["piece"]]} if "piece" in row else {}
                new |= {"board": boards[row["board"]]} if "board" in row else {}
                self._insert(name, new, quiet=name in ("gaps", "cuts"))
        return cook

    def _insert(self, name: str, row: dict[str, Any], *, quiet: bool = False) -> int:
        """A row, as far as the table has its columns; quiet: one that is here already stays."""
        known = self._columns(name)
        its = {column: value for column, value in row.items() if column in known}
        names, marks = ", ".join(its), ", ".join("?" * len(its))
        sql = f"INSERT {'OR IGNORE' if quiet else ''} INTO {name} ({names}) VALUES ({marks})"
        return self._store.insert(sql, list(its.values()))

    def _add(self, records: Iterable[tuple[str, int, bytes]], cook: int) -> int:
        """Store the records; UTC of the last one."""
        last = 0
        for (board, boot), its in groupby(records, lambda record: record[:2]):
            for some in _portions(data for _, _, data in its):
                if self._records.add(board, boot, some, cook) < len(some):
                    raise BadEntry("this cook, or a part of it, is in the logbook already; `tuyere log list` shows it")
            at = self._store.row(
                "SELECT max(at) FROM records WHERE boot = ? AND board = ?", (boot, self._boards.number(board))
            )[0]
            last = max(last, self._boards.utc(board, boot, at))
        return last


def decoded(rows: Any) -> Iterator[tuple[str, int, bytes]]:
    """Records as an export has them: [board, boot, base64]."""
    for board, boot, text in rows:
        try:
            yield str(board), int(boot), base64.b64decode(text, validate=True)
        except binascii.Error as error:
            raise ValueError(f"a record is not base64: {error}") from error


def _portions(items: Iterable[bytes]) -> Iterator[list[bytes]]:
    some: list[bytes] = []
    for item in items:
        some.append(item)
        if len(some) == BATCH:
            yield some
            some = []
    if some:
        yield some

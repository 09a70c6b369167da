"""The view `cycles`: every cycle decoded in SQL, for those who analyse the logbook with other programs.

Records lie in the file byte for byte, as their board laid them out, and SQL has no function for that. So the view
computes the numbers from hex digits, with one branch for each layout that a board has announced. It is made again when
a new one comes. The view is described in README.md.
"""

from __future__ import annotations

import sqlite3

from hearth.core import fields
from hearth.link import messages

from tuyere.logbook.decode import SIZES, Layout

NAME = "cycles"
# column of the view -> part and field of a layout
COLUMNS = {
    "pit": ("now", "pit"),
    "meat_1": ("now", "meat_1"),
    "meat_2": ("now", "meat_2"),
    "meat_3": ("now", "meat_3"),
    "ambient": ("now", "ambient"),
    "fan": ("out", "fan"),
    "low": ("out", "low"),
    "high": ("out", "high"),
    "state": ("out", "state"),
    "reason": ("out", "reason"),
    "faults": ("now", "faults"),
}
# The rule of `clock.Clock`: the offset of the latest pair at or before, else of the first, lowered to any later one's.
UTC = """r.at + (SELECT min(p.utc_ms - p.at_ms) FROM pairs p WHERE p.board = r.board AND p.boot = r.boot
        AND p.at_ms >= coalesce((SELECT max(q.at_ms) FROM pairs q
            WHERE q.board = r.board AND q.boot = r.boot AND q.at_ms <= r.at), 0))"""


def make(db: sqlite3.Connection) -> None:
    """Make the view again, with a branch for each layout in the file; inside a transaction."""
    db.execute(f"DROP VIEW IF EXISTS {NAME}")
    branches = [_branch(id, Layout(text)) for id, text in db.execute("SELECT id, json FROM layouts ORDER BY id")]
    names = ["cook", "board", "boot", "sequence", "at", "utc", *COLUMNS]
    none = "SELECT " + ", ".join(f"NULL AS {name}" for name in names) + " WHERE 0"
    db.execute(f"CREATE VIEW {NAME} AS {' UNION ALL '.join(branches or [none])}")


def _branch(id: int, layout: Layout) -> str:
    places = {}
    offset = messages.HEAD_SIZE
    for part, field in layout.cycle_fields:
        if not field.count:
            places[part, field.name] = (offset, field)
        offset += SIZES[field.code] * (field.count or 1)
    columns = []
    for name, key in COLUMNS.items():
        if key not in places:
            columns.append(f"NULL AS {name}")
            continue
        offset, field = places[key]
        value = _number(offset, field.code)
        if name in layout.absent:
            value = f"nullif(max({value}, {fields.ABSENT}), {fields.ABSENT})"
        columns.append(f"{value}{f' / {field.scale}.0' if field.scale != 1 else ''} AS {name}")
    return f"""SELECT s.cook AS cook, n.name AS board, r.boot AS boot, r.sequence AS sequence, r.at AS at, {UTC} AS utc,
        {", ".join(columns)}
        FROM spans s JOIN boots b ON b.board = s.board AND b.boot = s.boot AND b.layout = {id}
        JOIN boards n ON n.id = s.board
        JOIN records r ON r.board = s.board AND r.boot = s.boot AND r.sequence BETWEEN s.first AND s.last
        WHERE r.cook = s.cook AND r.kind = {messages.CYCLE} AND length(r.bytes) = {layout.cycle.size}"""


def _number(offset: int, code: str) -> str:
    """SQL of a little-endian number in the bytes of a record."""
    size = SIZES[code]
    digits = f"hex(substr(r.bytes, {offset + 1}, {size}))"
    parts = []
    for i in range(2 * size):
        shift = 8 * (i // 2) + (0 if i % 2 else 4)
        digit = f"instr('123456789ABCDEF', substr({digits}, {i + 1}, 1))"
        parts.append(f"({digit} << {shift})" if shift else digit)
    whole = "(" + " + ".join(parts) + ")"
    unused = 64 - 8 * size
    return f"(({whole} << {unused}) >> {unused})" if code.islower() and unused else whole

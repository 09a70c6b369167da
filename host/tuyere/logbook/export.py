"""Writes a cook as CSV or JSON for other programs. It streams: a long cook is never in memory as a whole."""

from __future__ import annotations

import base64
import csv
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any, TextIO

import msgspec
from hearth.core import fields

from tuyere import codes
from tuyere.logbook.logbook import Logbook
from tuyere.text import CELSIUS, Reader, as_said, render

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
UNITS = {
    "at": "ms",
    **{f"now_{row[0]}": row[1] for row in fields.NOW},
    **{f"out_{row[0]}": row[1] for row in fields.OUT},
}
FIRST = ("time", "estimated", "board", "boot", "sequence", "at", "settings")


def _word(names: tuple[str, ...], code: int) -> str:
    return names[code] if 0 <= code < len(names) else ""


def iso(utc: int) -> str:
    """UTC ms as ISO 8601 with ms: 2026-05-09T21:30:00.000Z."""
    return (_EPOCH + timedelta(milliseconds=utc)).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def head(name: str) -> str:
    """A column's head: its name, and its unit in brackets if it has one."""
    unit = UNITS.get(name, "")
    return f"{name} [{unit}]" if unit else name


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return int(value)
    return " ".join(map(str, value)) if isinstance(value, list) else value


def _rows(book: Logbook, cook: int) -> Iterable[dict[str, Any]]:
    for row in book.reading.cycles(cook):
        words = {}
        if "out_state" in row:
            words["state"] = _word(codes.STATES, row["out_state"])
        if "out_reason" in row:
            words["reason"] = _word(codes.REASONS, row["out_reason"])
        yield {"time": iso(row["utc"]), **row, **words}


def write_csv(book: Logbook, cook: int, out: TextIO) -> int:
    """A head with units, then one row a cycle; quoted as in RFC 4180. Returns the number of rows."""
    found = [f"{part}_{name}" for part, name in book.reading.columns(cook)]
    words = [word for word in ("state", "reason") if f"out_{word}" in found]
    names = [*FIRST, *found, *words]
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([head(name) for name in names])
    count = 0
    for row in _rows(book, cook):
        writer.writerow([_cell(row.get(name)) for name in names])
        count += 1
    return count


METRIC = Reader(CELSIUS, UTC)  # an export says the same everywhere


def about(book: Logbook, cook: int, reader: Reader = METRIC) -> dict[str, Any]:
    """Everything of a cook but its cycles, as plain values: cook, counts, pieces, events, alarms, calls, chain ...

    Sentences are words for `reader`; what an alarm is about stands in its code.
    """
    found = {
        "cook": book.cooks.get(cook),
        "counts": book.reading.counts(cook),
        "pieces": book.pieces.of(cook),
        "events": book.events.of(cook, withdrawn=True)[::-1],
        "alarms": book.alarms.of(cook),
        "calls": book.calls.of(cook),
        "forecasts": book.forecasts.of(cook),
        "gaps": book.reading.gaps(cook),
        "chain": book.soundness.of(cook),
        "cuts": [{**msgspec.to_builtins(cut), "words": cut.words} for cut in book.reading.cuts(cook)],
    }
    plain: dict[str, Any] = msgspec.to_builtins(found)
    for event in plain["events"]:
        event["text"] = render(as_said(event["text"]), reader)
    for alarm in plain["alarms"]:
        alarm["what"], alarm["why"] = (render(as_said(alarm[name]), reader) for name in ("what", "why"))
        alarm["checks"] = [render(as_said(check), reader) for check in alarm["checks"]]
    return plain


def write_json(book: Logbook, cook: int, out: TextIO) -> int:
    """One JSON object: what `about` gives, units, and cycles, one a line. Returns the number of cycles.

    Times are UTC ms; "time" in a cycle is the same as ISO 8601, "at" the board's own ms. "stored" and
    "records" hold the rows and the bytes as they are in the logbook, for `log import`.
    """
    parts = {**about(book, cook), "units": UNITS, "stored": book.transfer.rows(cook)}
    encode = msgspec.json.Encoder().encode
    out.write("{")
    for name, value in parts.items():
        out.write(f'"{name}": {encode(value).decode()},\n')
    out.write('"cycles": [')
    count = 0
    for row in _rows(book, cook):
        out.write((",\n" if count else "\n") + encode(row).decode())
        count += 1
    out.write('\n],\n"records": [')
    for i, (board, boot, _, data) in enumerate(book.reading.records(cook)):
        out.write((",\n" if i else "\n") + encode([board, boot, base64.b64encode(data).decode()]).decode())
    out.write("\n]}\n")
    return count

"""A night from another program: a CSV with time, pit and meat columns becomes a cook of its own, marked as foreign."""

from __future__ import annotations

import csv
import math
import struct
import zlib
from collections.abc import Iterable
from datetime import datetime, tzinfo
from itertools import chain
from typing import Any

from hearth.core import fields
from hearth.link import messages
from msgspec import Struct, field

from tuyere.logbook.decode import layout_json
from tuyere.logbook.errors import BadEntry
from tuyere.logbook.logbook import Logbook
from tuyere.logbook.transfer import FOREIGN

BOARD = "foreign"
MEATS = 3
LOW, HIGH = -50.0, 320.0  # C that a column may hold; they fit the 16 bits of a field
SECONDS = 1e11  # numbers above it are ms since 1970, below it seconds
_head = struct.Struct(messages.HEAD)


class Columns(Struct, kw_only=True):
    """The names of the columns; "" for one that is not there. fan in percent."""

    time: str
    pit: str
    meats: list[str] = field(default_factory=list)
    ambient: str = ""
    fan: str = ""


class Night(Struct, kw_only=True):
    """What was read: UTC ms, and whole numbers of hundredths by field."""

    at: list[int] = field(default_factory=list)
    columns: dict[str, list[int | None]] = field(default_factory=dict)


def read(
    lines: Iterable[str], columns: Columns, *, fahrenheit: bool, zone: tzinfo | None = None, start: int = 0
) -> Night:
    """A CSV with a line of heads. BadEntry says which line and column is wrong.

    Columns are parted by commas, tabs or semicolons, whichever the heads have most; with semicolons or tabs a comma in
    a number is its decimal point.
    Times are ISO 8601 (without a zone: of `zone`, by default the computer's), seconds or ms since 1970, or with `start`
    (UTC ms) seconds since then. Rows that do not go on in time are left out.
    """
    names = {"pit": columns.pit, "ambient": columns.ambient, "fan": columns.fan}
    if len(columns.meats) > MEATS:
        raise BadEntry(f"a night has at most {MEATS} meat columns; name {MEATS} of the {len(columns.meats)}")
    names |= {f"meat_{i + 1}": name for i, name in enumerate(columns.meats)}
    names = {name: head for name, head in names.items() if head}
    lines = iter(lines)
    first = next(lines, "")
    parted = max(",;\t", key=first.count)
    rows = csv.DictReader(chain([first], lines), delimiter=parted)
    heads = rows.fieldnames or []
    for head in (columns.time, *names.values()):
        if head not in heads:
            raise BadEntry(f'there is no column "{head}"; the file has {", ".join(heads) or "no heads"}')
    night = Night(columns={name: [] for name in names})
    for row in rows:
        place = f"line {rows.line_num}"
        at = _time(row[columns.time], f"{place}, {columns.time}", zone, start)
        if night.at and at <= night.at[-1]:
            continue
        night.at.append(at)
        for name, head in names.items():
            cell = (row[head] or "") if parted == "," else (row[head] or "").replace(",", ".")
            night.columns[name].append(_number(cell, f"{place}, {head}", name, fahrenheit and name != "fan"))
    if not night.at:
        raise BadEntry("the file has no row with a time; it needs a line of heads and one row for each reading")
    return night


def _time(text: str | None, place: str, zone: tzinfo | None, start: int) -> int:
    text = (text or "").strip()
    try:
        number = float(text)
    except ValueError:
        try:
            when = datetime.fromisoformat(text)
        except ValueError:
            raise BadEntry(f'{place}: "{text}" is no time; give ISO 8601, or seconds since 1970') from None
        when = when.replace(tzinfo=zone) if when.tzinfo is None and zone else when
        return round(when.timestamp() * 1000)
    if not 0 <= number < 1e14:
        raise BadEntry(f'{place}: "{text}" is no time; give ISO 8601, or seconds since 1970')
    return start + round(number * 1000) if start else round(number if number > SECONDS else number * 1000)


def _number(text: str, place: str, name: str, fahrenheit: bool) -> int | None:
    text = text.strip()
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        raise BadEntry(f'{place}: "{text}" is no number; leave the cell empty where there is no reading') from None
    low, high = (0.0, 100.0) if name == "fan" else (LOW, HIGH)
    value = (value - 32) / 1.8 if fahrenheit else value
    if not math.isfinite(value) or not low <= value <= high:
        unit = "%" if name == "fan" else "C"
        raise BadEntry(f"{place}: {text} is out of range; it must be from {low:g} to {high:g} {unit}")
    return round(value * 100)


def take(book: Logbook, night: Night, name: str, file: str) -> int:
    """Store a foreign night as a cook that has ended; returns its number. BadEntry if it is here already.

    Its layout has only the columns that it came with: what nobody measured is not there.
    """
    now = [["faults", "H", 0, 1]] + [[key, "h", 0, 100] for key in night.columns if key != "fan"]
    out = [["fan", "h", 0, 100]] if "fan" in night.columns else []
    layout = {"now": now, "out": out, "memory": [], "settings": []}
    form = struct.Struct("<H" + "h" * len(night.columns))
    order = [key for key in night.columns if key != "fan"] + ["fan"] * len(out)
    body = []
    for i in range(len(night.at)):
        values = [night.columns[key][i] for key in order]
        faults = int("pit" in order and values[order.index("pit")] is None)
        filled = [_absent(key) if value is None else value for key, value in zip(order, values, strict=True)]
        body.append(form.pack(faults, *filled))
    first = night.at[0]
    boot = zlib.crc32(b"".join(body) + str(first).encode())  # the same night is the same boot
    records = [
        (BOARD, boot, _head.pack(messages.CYCLE, boot, i, at - first, 0) + data)
        for i, (at, data) in enumerate(zip(night.at, body, strict=True))
    ]
    rows: dict[str, list[dict[str, Any]]] = {
        "boards": [{"id": 1, "name": BOARD}],
        "layouts": [{"id": 1, "json": layout_json(layout)}],
        "boots": [{"id": 1, "board": 1, "boot": boot, "layout": 1, "seen": first}],
        "pairs": [{"board": 1, "boot": boot, "at_ms": 0, "utc_ms": first}],
        "cooks": [{"name": name, "started": first, "board": 1, "simulated": 0, "ended": night.at[-1], "meat_on": 0}],
        "cores": [], "pieces": [], "events": [], "alarms": [], "texts": [], "forecasts": [], "gaps": [], "cuts": [],
    }  # fmt: skip
    return book.transfer.take(rows, records, file, FOREIGN)


def _absent(key: str) -> int:
    return fields.ABSENT if key.startswith("meat") or key == "ambient" else 0

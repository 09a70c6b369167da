"""Writes `tests/logbook/written.json`: what a logbook holds after a small night, and what it says of misuse and damage.

Run it with `python tests/logbook/written.py` after a change of the logbook. The diff says what is stored or said
otherwise than before; look at each line. Rows that are in use must still be read (`logbook/migrations.py`).
"""

from __future__ import annotations

import contextlib
import io
import json
import re
import sqlite3
import tempfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from hearth.core import fields
from hearth.link import messages
from logbook_kit import BOARD, BOOT, cycle, hello, night, state
from tuyere.logbook import Logbook, LogbookError, export, salvage
from tuyere.logbook.rows import CallStep, Forecast
from tuyere.text import CELSIUS, Reader, Temperature, as_said, render, text

PAGE = Path(__file__).with_name("written.json")
UTC = 1_778_000_000_000
MINUTE = 60_000
MOST = 50  # rows of a table
LISTED = "(they are|there are|the events are) .*"  # names that grow with other tables
SECOND = BOOT + 1
PLAIN = Reader(CELSIUS)
SECRET = ("digest", "of_records", "of_entries", "hello", "json", "files", "bytes", "head")  # long, or of this firmware


def small_night(path: Path) -> None:
    """Two cooks, two boots, a gap and a cut, a clock that was changed; pieces, notes, alarms, calls, forecasts."""
    with Logbook(path) as book:
        book.boards.hello(BOARD, BOOT, hello(), UTC)
        book.boards.pair(BOARD, BOOT, 0, UTC)
        book.boards.pair(BOARD, BOOT, 40_000, UTC + 40_100)
        book.cores.keep("c1c1", {"law.py": "x = 1\n"})
        first = book.cooks.start("Saturday", UTC, BOARD, True)
        records = night(30)
        records[7] = cycle(7, pit=12345, state=fields.HOLDING, reason=fields.IN_BAND, meat_1=fields.ABSENT, fan=2500)
        records[9] = state(9, cause=messages.CHANGED, low=11000, settings={"gain": 350})
        book.records.add(BOARD, BOOT, records[:12] + records[15:22], first)
        book.records.gap(BOARD, BOOT, 12, 13, "the board's flash was full")
        book.records.cut(BOARD, BOOT, 22, 25, 40)
        flat = book.pieces.add(first, name="flat", mass=3.4, cut="flat", probe=1, on_at=UTC + MINUTE, target=95.0)
        point = book.pieces.add(first, name="point", part_of=flat, parted_at=UTC + 2 * MINUTE, intact=False)
        book.pieces.change(point, place="box", wrap="paper", shade=7, hand=71.5)
        book.cooks.set_meat_on(first, UTC + MINUTE)
        book.cooks.set_text(first, "phases", "smoke, wrapped")
        book.cooks.set_text(first, "phases", "smoke, hold")
        book.events.note(first, "shade", UTC + 2 * MINUTE, UTC + 3 * MINUTE, piece=flat, value=6)
        wrong = book.events.note(first, "spritzed", UTC + 2 * MINUTE, UTC + 2 * MINUTE)
        book.events.withdraw(wrong, UTC + 4 * MINUTE)
        says = text("the pit reads {c}", c=Temperature(131.5))
        for _ in range(2):
            book.events.note_once(first, "tripped", UTC + MINUTE, UTC + MINUTE, "101/5", text=says)
        alarm = book.alarms.add(first, UTC + MINUTE, "urgent", "trip_hot", says, "the fan is off", ["look", says])
        book.alarms.change(alarm, acknowledged=UTC + 2 * MINUTE, cleared=UTC + 3 * MINUTE)
        book.alarms.add(None, UTC, "warning", "link_lost", "no board")
        step = CallStep(cook=first, code="trip_hot", alarm=alarm, step="sending", at=UTC, wall=UTC, route="phone")
        book.calls.add([step])
        shown = ahead(UTC + 5, UTC + 6, UTC + 7, "finish")
        book.forecasts.keep([shown, shown])
        before = book.clock.written()
        book.events.note(first, "opened", UTC + 5 * MINUTE, UTC + 5 * MINUTE)
        book.clock.move(1_500, boot=(BOARD, BOOT), upto=before, mark=True)
        book.cooks.end(first, UTC + 30 * MINUTE)
    with Logbook(path) as book:
        book.boards.hello(BOARD, SECOND, hello(), UTC + 31 * MINUTE)
        second = book.cooks.start("Sunday", UTC + 31 * MINUTE, BOARD, False)
        book.records.add(BOARD, SECOND, night(300, SECOND), second)


def ahead(early: int, likely: int, late: int, kind: str) -> Forecast:
    return Forecast(cook=1, piece=1, kind=kind, at=UTC, early=early, likely=likely, late=late)


def tables(path: Path) -> Iterator[tuple[str, Any]]:
    """Every row, long values as a sum."""
    with contextlib.closing(sqlite3.connect(path)) as db:
        names = [name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
        for name in names:
            rows = db.execute(f"SELECT * FROM {name} ORDER BY 1, 2")
            columns = [column[0] for column in rows.description]
            yield (
                name,
                some([[short(column, value) for column, value in zip(columns, row, strict=True)] for row in rows]),
            )


def some(rows: list[Any]) -> list[Any]:
    """The first rows, and a sum of the others."""
    rest = rows[MOST:]
    return [*rows[:MOST], f"{len(rest)} more, {zlib.crc32(repr(rest).encode()):08x}"] if rest else rows


def short(column: str, value: Any) -> Any:
    """A value for the page."""
    if column in SECRET or (isinstance(value, str) and len(value) > 400):
        return "..." if value else None
    if isinstance(value, bytes):
        return f"{len(value)} bytes, {zlib.crc32(value):08x}"
    return value


def readings(path: Path) -> Iterator[tuple[str, Any]]:
    """What every way to read it answers."""
    with Logbook(path, owner=False) as book:
        for cook in (1, 2):
            about = export.about(book, cook)
            about["chain"] = {name: value for name, value in about["chain"].items() if name != "head"}
            yield f"about {cook}", about
            out = io.StringIO()
            export.write_csv(book, cook, out)
            rows = [line.split(",") for line in out.getvalue().splitlines()]
            yield f"csv {cook}", some([row[:12] for row in rows])
            yield (
                f"states {cook}",
                [
                    [one.utc, one.sequence, one.cause, one.memory["low"], one.settings["gain"]]
                    for one in book.reading.states(cook)
                ],
            )
        yield "boots", [repr(boot) for boot in book.boards.boots(BOARD)]
        yield "counts", {number: repr(counts) for number, counts in book.reading.all_counts().items()}
        yield "standing", [alarm.code for alarm in book.alarms.of(None, standing_only=True)]
        yield "newest", [book.clock.newest(cook, book.clock.written()) for cook in (1, 2, 3)]
        yield "core", book.cores.named("c1")
        yield "called", repr(book.calls.last("phone", "sending"))


def refused(path: Path) -> Iterator[tuple[str, str]]:
    """What it says of misuse."""
    with Logbook(path) as book:
        note, piece, alarm = book.events.note, book.pieces, book.alarms
        tried: dict[str, Callable[[], Any]] = {
            "a cook beside an open one": lambda: book.cooks.start("more", UTC, BOARD, False),
            "a cook without a name": lambda: book.cooks.start(" ", UTC, BOARD, False),
            "an end before the start": lambda: book.cooks.end(2, UTC),
            "no such cook": lambda: book.cooks.get(7),
            "a piece without a name": lambda: piece.add(2),
            "no such piece": lambda: piece.change(99, name="x"),
            "a name of blanks": lambda: piece.change(1, name=" "),
            "a mass": lambda: piece.change(1, mass=101.0),
            "a shade": lambda: piece.change(1, shade=11),
            "half a shade": lambda: piece.change(1, shade=5.5),
            "a wanted shade": lambda: piece.change(1, wanted_shade=0.5),
            "a place": lambda: piece.change(1, place="moon"),
            "a yes": lambda: piece.change(1, held=1),
            "a time": lambda: piece.change(1, on_at=-1),
            "no field of a piece": lambda: piece.change(1, colour="red"),
            "no kind of note": lambda: note(2, "danced", UTC, UTC),
            "a note of a piece of another cook": lambda: note(2, "shade", UTC, UTC, piece=1, value=6),
            "a note without its value": lambda: note(1, "shade", UTC, UTC, piece=1),
            "a note out of range": lambda: note(1, "shade", UTC, UTC, piece=1, value=11),
            "no event of a board": lambda: book.events.note_once(1, "shade", UTC, UTC, "101/5"),
            "a note withdrawn twice": lambda: book.events.withdraw(2, UTC),
            "no such note": lambda: book.events.withdraw(77, UTC),
            "an alarm's level": lambda: alarm.add(1, UTC, "loud", "x", "x"),
            "no such alarm": lambda: alarm.change(99, cleared=UTC),
            "a forecast that goes back": lambda: book.forecasts.keep([ahead(3, 2, 4, "finish")]),
            "a forecast of nothing": lambda: book.forecasts.keep([ahead(1, 2, 3, "rain")]),
            "a core with other source": lambda: book.cores.keep("c1c1", {}),
            "no such core": lambda: book.cores.get("zz"),
            "no core that begins so": lambda: book.cores.named("zz"),
            "no such board": lambda: book.boards.boots("other"),
            "no such boot": lambda: book.boards.utc(BOARD, 5, 0),
            "a record as before, and another": lambda: book.records.add(BOARD, BOOT, [cycle(1), cycle(1, pit=1)], 1),
            "a gap that runs backwards": lambda: book.records.gap(BOARD, BOOT, 5, 4, "x"),
            "another layout": lambda: book.boards.hello(BOARD, BOOT, hello({**hello()["layout"], "now": []}), UTC),
        }
        for name, call in tried.items():
            yield name, says(call)


def says(call: Callable[[], Any]) -> str:
    """The sentence of its error."""
    try:
        return f"taken: {call()!r}"
    except LogbookError as error:
        words = re.sub(LISTED, r"\1 ...", render(as_said(error.args[0]), PLAIN))
        return f"{type(error).__name__}: {words}"


HARM = {
    "a record's byte": "UPDATE records SET bytes = zeroblob(20) WHERE id = 5",
    "a record gone": "DELETE FROM records WHERE id = 6",
    "a record's column": "UPDATE records SET at = at + 1 WHERE id = 3",
    "a note changed": "UPDATE events SET value = 9 WHERE id = 1",
    "a note gone": "DELETE FROM events WHERE id = 1",
    "a piece added": "INSERT INTO pieces (cook, name) VALUES (1, 'ghost')",
    "an entry gone": "DELETE FROM entries WHERE id = 4",
    "a link gone": "DELETE FROM links WHERE id = 2",
    "the last link gone": "DELETE FROM links WHERE id = (SELECT max(id) FROM links)",
    "a link's digest": "UPDATE links SET digest = zeroblob(32) WHERE id = 1",
    "another table": "CREATE TABLE mine (x)",
    "counted wrong": "UPDATE spans SET cycles = 9 WHERE cook = 2",
}


def harmed(path: Path) -> Iterator[tuple[str, Any]]:
    """What a check says of each kind of damage, for the whole file and for the first cook."""
    for number, (name, sql) in enumerate(HARM.items()):
        copy = path.with_name(f"harmed {number}.sqlite")
        with contextlib.closing(sqlite3.connect(path)) as db, contextlib.closing(sqlite3.connect(copy)) as other:
            db.backup(other)
            other.execute(sql)
            other.commit()
        with Logbook(copy, owner=False) as book:
            sound = book.soundness.all(), book.soundness.of(1)
        yield name, [[[flaw.kind, flaw.words, flaw.link, flaw.cooks, flaw.utc] for flaw in one.flaws] for one in sound]


def salvaged(path: Path) -> Iterator[tuple[str, Any]]:
    """What comes of a salvage."""
    found = salvage.salvage(path, path.with_name("salvaged.sqlite"))
    yield "salvaged", [found.records, found.cooks, [flaw.words for flaw in found.sound.flaws], found.sound.notes]


def written(folder: Path) -> dict[str, Any]:
    """The page."""
    path = folder / "book.sqlite"
    small_night(path)
    parts = {"tables": tables, "readings": readings, "harmed": harmed, "salvaged": salvaged, "refused": refused}
    return {name: dict(part(path)) for name, part in parts.items()}


def lines(page: dict[str, Any]) -> str:
    """As JSON, one entry a line."""
    parts = []
    for name, entries in page.items():
        inner = []
        for key, value in entries.items():
            if isinstance(value, list) and value:
                rows = ",\n   ".join(json.dumps(row, ensure_ascii=False) for row in value)
                inner.append(f"  {json.dumps(key)}: [\n   {rows}\n  ]")
            else:
                inner.append(f"  {json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}")
        parts.append(f" {json.dumps(name)}: {{\n" + ",\n".join(inner) + "\n }")
    return "{\n" + ",\n".join(parts) + "\n}\n"


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        PAGE.write_text(lines(written(Path(folder))), encoding="utf-8")

"""Writes `tests/identities/identities.json`: every name and number by which files, lines and programs know each other.

Run it with `python tests/tools/identities.py` after an addition. It adds what is new and refuses what has changed or
is gone: files that were written before hold the old one. The page says for each section what such a change needs. Once
that is done, `--done SECTION` takes the section as it is now; the schema only together with a new step.
"""

from __future__ import annotations

import argparse
import asyncio
import importlib.util
import json
import os
import sqlite3
import stat
import sys
import tempfile
from pathlib import Path
from typing import Any

from hearth.core import fields, records
from hearth.link import lines, messages
from hearth.store import block, kept
from tuyere import codes, paths
from tuyere.client import protocol
from tuyere.engine.calls import routes
from tuyere.engine.rpc.server import Server
from tuyere.link.happened import CAUSES
from tuyere.logbook import Logbook, digests, kinds, migrations, old_sentences
from tuyere.text import quantities, templates
from tuyere.web import devices

PAGE = Path(__file__).parents[1] / "identities" / "identities.json"
NEEDS = "needs"  # in each section of the page: what a change of an entry needs

STEPS, SCHEMA = "steps of the logbook", "schema of the logbook"
LAYOUT = (
    "Old records are read by the layout in their boot's hello. A board that is loaded anew gives up a memory of "
    "another size, and settings outside of their range: then it trips. Say so."
)
LINES = (
    "HELLO", "RECORD", "ANSWER", "NOTICE", "ASK", "KEEP", "FETCH", "ORDER", "CYCLE", "STATE", "HEAD", "STATE_HEAD",
    "BOOTED", "CHANGED", "GAP", "HOURLY", "POSITION",
)  # fmt: skip

Section = dict[str, Any]


def section(needs: str, entries: Section) -> Section:
    """A section of the page."""
    return {NEEDS: needs, **entries}


def numbered(names: Any) -> Section:
    """name -> its place: what is stored is the place."""
    return {name or "(none)": i for i, name in enumerate(names)}


def schema() -> Section:
    """What stands in a logbook's file after all steps, name -> its SQL."""
    db = sqlite3.connect(":memory:", isolation_level=None)
    migrations.migrate(db)
    rows = db.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name").fetchall()
    db.close()
    return {name: " ".join(sql.split()) for name, sql in rows}


def table(rows: Any) -> Section:
    """A record's fields in the order of their bytes: name -> struct code, count, scale, and their range."""
    return {
        name: f"{code} {count} {scale}, {row[3]}..{row[4]}"
        for (name, code, count, scale), row in zip(records.layout(rows), rows, strict=True)
    }


def link_digest() -> str:
    """The digest of a link over one record and one entry."""
    of_records, of_entries = digests.RecordsPart(), digests.EntriesPart()
    of_records.add([(1, 2, 3, None, b"record")])
    of_entries.add([(1, "pieces", "[1]", "{}")])
    return digests.digest(b"before", of_records.digest(), of_entries.digest(), (1, 1, 1, 1)).hex()


def alarms() -> Section:
    """The codes of all alarms; their levels and words may change."""
    spec = importlib.util.spec_from_file_location("reference_tool", Path(__file__).with_name("reference.py"))
    assert spec is not None and spec.loader is not None
    sys.modules[spec.name] = reference = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(reference)
    return {entry.name.strip("`"): "alarm" for entry in reference.causes()}


def modes() -> Section:
    """The modes of the files that the program makes in its folder, with a umask that grants everything."""
    old = os.umask(0)
    try:
        with tempfile.TemporaryDirectory() as folder:
            home = paths.ensure(Path(folder) / "home")
            routes.write(home, routes.Routes())
            devices.Devices(home).offer()
            with Logbook(paths.logbook_path(home)):
                said = asyncio.run(serve(home))
                found = {file.name: mode(file) for file in sorted(home.iterdir())}
    finally:
        os.umask(old)
    return found | said


async def serve(home: Path) -> Section:
    """What a server of this home tells clients in its file, and the file's mode."""
    server = Server(paths.engine_file(home), {}, lambda screen: [], lambda words: None)
    await server.start()
    try:
        file = paths.engine_file(home)
        said = json.loads(file.read_text())
        return {
            "folder": mode(home),
            "engine.json": mode(file),
            "fields of engine.json": " ".join(said),
            "letters of the token": len(said["token"]),
        }
    finally:
        await server.close()


def mode(file: Path) -> str:
    """Permissions in octal digits."""
    return f"{stat.S_IMODE(file.stat().st_mode):o}"


def constants() -> Section:
    """The whole numbers that the field table names: codes, bits, and what records mean by them."""
    return {name: value for name, value in vars(fields).items() if name.isupper() and type(value) is int}


def identities() -> dict[str, Section]:
    """All sections."""
    return {
        "logbook": section(
            "Every logbook of before is a foreign file, or its chain is broken: it needs a step that rewrites it.",
            {
                "application id": f"{migrations.APPLICATION:08x}",
                "digest of a link": link_digest(),
                "records in a link": digests.LINK_RECORDS,
                "entries in a link": digests.LINK_ENTRIES,
            },
        ),
        STEPS: section(
            "A step that was released is never renamed, moved or taken out: files remember it by its name.",
            numbered(step.__name__ for step in migrations.STEPS),
        ),
        SCHEMA: section(
            "Append a step to `logbook/migrations.py` that brings old files to the new shape; never edit an old step.",
            schema(),
        ),
        "words in the logbook": section(
            "Rows of before hold the old word: append a step to `logbook/migrations.py` that rewrites them.",
            {
                **{f"event {name}": name for name in (*kinds.KINDS, *kinds.BOARD_KINDS)},
                **{f"step of a call {name}": name for name in kinds.CALL_STEPS},
                **{f"place {name}": name for name in kinds.PLACES},
                **{f"wrap {name}": name for name in kinds.WRAPS},
                **{f"forecast {name}": name for name in kinds.FORECASTS},
                **{f"level {name}": name for name in kinds.LEVELS},
                **{f"lost {name}": words for name, words in CAUSES.items()},
            },
        ),
        "alarms": section(
            "Stored, and other programs rely on them: append a step to `logbook/migrations.py` that renames the rows.",
            alarms(),
        ),
        "sentences of old alarms": section(
            "Files of before hold the old sentence, by which an alarm is given its code: these never change.",
            dict(old_sentences.CODES),
        ),
        "typed text": section(
            "Sentences are stored with these tags and fields: append a step to `logbook/migrations.py`.",
            {
                str(kind.__struct_config__.tag): " ".join(kind.__struct_fields__)
                for module in (quantities, templates)
                for kind in vars(module).values()
                if isinstance(kind, type) and issubclass(kind, quantities.Typed) and kind.__struct_config__.tag
            },
        ),
        "lines": section(
            "A board of before speaks the old form: raise `messages.VERSION`, and say what to load.",
            {
                "version": messages.VERSION,
                **{name: getattr(messages, name) for name in LINES},
                "a line": lines.encode(messages.RECORD, b"payload").decode(),
            },
        ),
        "orders": section(
            "A board of before takes the old number for something else: raise `messages.VERSION`.",
            {name: code for name, (code, _) in messages.ORDERS.items()},
        ),
        "answers": section(
            "Records hold the number, lines the word: append, or raise `messages.VERSION` and keep the old meaning.",
            numbered(messages.WHY) | dict.fromkeys(messages.OWN_WHY, "by the loop"),
        ),
        "codes in records": section(
            "Records of before hold the old number and are never rewritten: append a new code instead.",
            constants()
            | {f"reason {name}": i for i, name in enumerate(codes.REASONS)}
            | {f"state {name}": i for i, name in enumerate(codes.STATES)}
            | {f"trip {name}": i for i, name in enumerate(codes.TRIPS) if name}
            | {f"lesson {name}": i for i, name in enumerate(codes.LESSONS) if name},
        ),
        "a cycle's inputs": section(LAYOUT, table(fields.NOW)),
        "a cycle's outputs": section(LAYOUT, table(fields.OUT)),
        "memory": section(LAYOUT, table(fields.MEMORY)),
        "settings": section(LAYOUT, table(fields.SETTINGS)),
        "flash": section(
            "A board that is loaded anew has the old form on its flash: change the magic, so that it is given up.",
            {
                "magic of a kept file": kept.MAGIC.decode(),
                "head of a kept file": kept.HEAD,
                "checkpoint": kept.CHECKPOINT,
                "magic of a block": block.MAGIC.decode(),
                "frame of a block": block.FRAME,
                "opening of a block": block.OPENING,
                "bytes of a block": block.BLOCK,
            },
        ),
        "files": section("Secrets would lie open, or clients would not find the engine.", modes()),
        "client": section("A screen of before attaches to the new engine.", {"version": protocol.VERSION}),
    }


def changes(page: dict[str, Section], now: dict[str, Section]) -> list[str]:
    """What stands in the page and has changed or is gone, each with what that needs."""
    found = []
    for title, entries in page.items():
        for name, value in entries.items():
            there = now.get(title, {}).get(name)
            if name != NEEDS and there != value:
                what = "is gone" if there is None else f"is now {there!r}"
                found.append(f"{title}, {name}: was {value!r}, {what}. {entries[NEEDS]}")
    return found


def allowed(done: list[str], page: dict[str, Section], now: dict[str, Section]) -> dict[str, Section]:
    """The page without the sections for which everything that a change needs is done."""
    if len(page.get(STEPS, {})) == len(now[STEPS]):
        done = [title for title in done if title != SCHEMA]
    return {title: entries for title, entries in page.items() if title not in done}


def main() -> int:
    """Write the page, if nothing but additions is new."""
    parser = argparse.ArgumentParser(description="Write the page of identities.")
    parser.add_argument("--done", action="append", default=[], metavar="SECTION", help="what its change needs is done")
    done = parser.parse_args().done
    now = identities()
    page = json.loads(PAGE.read_text(encoding="utf-8")) if PAGE.exists() else {}
    trouble = changes(allowed(done, page, now), now)
    if trouble:
        print("Not written. These are in use:", *trouble, sep="\n  ")
        return 1
    PAGE.write_text(json.dumps(now, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""What happened to the file itself, in words: rows of the table `incidents`, noted when a logbook was opened."""

from __future__ import annotations

import json
import sqlite3
from typing import Any

from tuyere.logbook.rows import Flaw, Sound


def told(db: sqlite3.Connection, found: Sound, links: set[int] | None = None) -> None:
    """Add the incidents of a file to what was found; with `links` only those that touch these links."""
    for kind, link, text in db.execute("SELECT kind, link, detail FROM incidents ORDER BY id"):
        detail = json.loads(text)
        if kind == "chained_late":
            if links is None or any(one <= -(-detail["records"] // 128) for one in links):
                found.notes.append(chained_late(detail))
        elif links is not None and not ({link, link + 1} & links):
            continue
        elif kind == "end_lost":
            found.flaws.append(end_lost(detail, after=link))
        elif kind == "not_chained":
            found.flaws.append(not_chained(detail, link))
        elif kind == "salvaged":
            found.notes.append(salvaged(detail))
        elif kind == "other_logbook":
            found.notes.append(
                f"another logbook of {detail['records']:,} records lay at this path before, or its head did"
            )
        elif kind == "imported":
            found.notes.append(f"cook {detail['cook']} was imported from {detail['file']}; it is chained since then")


def chained_late(detail: dict[str, Any]) -> str:
    """Of a file that had no chain."""
    return (
        f"the first {detail['records']:,} records were chained when the file was brought up to date; "
        "whether they were changed before that is not known"
    )


def end_lost(detail: dict[str, Any], after: int = 0) -> Flaw:
    """Of a file whose end is older than the head that lies beside it."""
    parts = []
    if detail["records"]:
        parts.append(f"{detail['records']:,} records")
    if detail["entries"]:
        parts.append(f"{detail['entries']:,} entries")
    if parts:
        words = f"the end of the file was lost: {' and '.join(parts)} that had been stored"
    else:
        words = f"the file parts from what was stored, at link {detail['link']} or before it"
    return Flaw("end_lost", words + (f"; it goes on after link {after}" if after else ""), after)


def not_chained(detail: dict[str, Any], link: int) -> Flaw:
    """Of rows that another program wrote."""
    words = f"{detail['records']:,} records and {detail['entries']:,} entries were added by another program"
    return Flaw("not_chained", words, link)


def salvaged(detail: dict[str, Any]) -> str:
    """Of a file that was made from a damaged one."""
    words = f"this file was made from the damaged {detail['file']}"
    if detail.get("cook"):
        words += f" with only cook {detail['cook']}"
    if detail.get("lost"):
        words += f"; {detail['lost']:,} records of it could not be read"
    return words

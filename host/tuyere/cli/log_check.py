"""`tuyere log check`: whether the logbook still holds what was stored."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from tuyere.cli.book import local_time, logbook, print_json
from tuyere.cli.working import working
from tuyere.measures import count

if TYPE_CHECKING:
    from tuyere.logbook.rows import Sound

MOST = 40  # lines before the rest is only counted


@click.command()
@click.option("--json", "as_json", is_flag=True, help="One JSON object instead of text.")
def check(as_json: bool) -> None:
    """Compare the whole logbook with its chain of digests.

    The chain covers all that is stored: records, boots, clock pairs, cooks, pieces, events, alarms and the rest. A
    changed bit, a lost row or a lost end is found, placed, and said with the cooks that it touches. The chain finds
    damage and accidents. It does not find somebody who computes all of it again: for that, keep the head that is
    printed somewhere else. Exit code: 0 sound, 1 not.
    """
    import msgspec

    with logbook() as book, working("comparing all that is stored with its chain"):
        found = book.soundness.all()
    if as_json:
        print_json({"sound": found.sound, **msgspec.to_builtins(found)})
    else:
        for line in lines(found):
            click.echo(line)
    sys.exit(0 if found.sound else 1)


def lines(found: Sound) -> Iterator[str]:
    """A check in words."""
    yield f"{found.records:,} records and {found.entries:,} changes of other rows, in {found.links:,} links"
    for note in found.notes:
        yield f"  note: {note}"
    for flaw in found.flaws[:MOST]:
        when = f"since {local_time(flaw.utc)}: " if flaw.utc else ""
        touched = f" (touches cook {', '.join(map(str, flaw.cooks))})" if flaw.cooks else ""
        yield f"  {when}{flaw.words}{touched}"
    rest = len(found.flaws) - MOST
    if rest > 0 or found.more:
        yield f"  and {max(rest, 0) + found.more:,} more"
    if found.sound:
        yield f"sound: all is as it was stored. Head of the chain: {found.head}"
        return
    cooks = sorted({cook for flaw in found.flaws for cook in flaw.cooks})
    touched = f"cook {', '.join(map(str, cooks))}" if cooks else "no cook that can be named"
    first = min((flaw.utc for flaw in found.flaws if flaw.utc), default=0)
    since = f"; records are sound until {local_time(first)}" if first else ""
    yield f"not sound: {count(len(found.flaws) + found.more, 'difference')}, touching {touched}{since}"
    if any(flaw.kind == "sqlite" for flaw in found.flaws):
        yield "`tuyere log salvage` writes what can be read into a new file; a backup may have the rest"

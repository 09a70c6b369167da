"""The plan as a page of plain text, 80 columns, words first."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from datetime import datetime, tzinfo

from tuyere.plan.draws import LONGEST_H
from tuyere.plan.result import Odds, Plan, Row
from tuyere.plan.times import local, share
from tuyere.text import Count, Mass, Reader, Said, Temperature, band, render, text

WIDTH = 80
ASIDE = 15  # columns of the times


def page(plan: Plan, units: str = "C", zone: tzinfo | None = None) -> list[str]:
    """The lines; headings are in capitals. units: F or C."""
    reader = Reader(units.upper(), zone)
    lines = [*_head(plan, reader), "", "TIMETABLE", *_table(plan.rows, reader), "", *_others(plan, zone)]
    lines += ["", "TO BUY AND TO HAVE READY"]
    for item in plan.shopping:
        said = text("{what}: {detail}", what=item.what, detail=item.detail) if item.detail else item.what
        lines += _hung(render(said, reader), "  ", 4)
    lines += ["", "CAUTIONS"]
    for caution in plan.cautions:
        source = f" ({caution.source})" if caution.source else ""
        lines += _hung(f"{render(caution.text, reader)}{source}", "  ", 4)
    lines += _hung("Follow your local rules; they come before all of this.", "  ", 4)
    lines += ["", "WHERE THE NUMBERS COME FROM"]
    for said in (*plan.learnt, *_sources(plan)):
        lines += _hung(render(said, reader), "  ", 4)
    return [line.rstrip() for line in lines]


def _head(plan: Plan, reader: Reader) -> Iterator[str]:
    zone = reader.zone
    served = f"{local(plan.serve, zone):%a %d %b %Y, served at %H:%M}"
    name = textwrap.shorten(plan.name.upper(), WIDTH - len(served) - 2, placeholder="...")
    yield f"{name:{WIDTH - len(served)}}{served}"
    much = plan.amounts
    people = f"{plan.guests} guests: " if plan.guests else ""
    said = text(
        "{people}{bought} raw, {on} trimmed in {pieces}, {carved} carved{each}.",
        people=people, bought=Mass(much.bought), on=Mass(much.on), pieces=Count(much.pieces, "piece"),
        carved=Mass(much.carved), each=text(", {mass} each", mass=Mass(much.portion / 1000.0)) if much.portion else "",
    )  # fmt: skip
    yield from _hung(render(said, reader))
    held = render(band(plan.low, plan.high), reader)
    likely = f"{local(plan.last[1], zone):%H:%M}" if plan.last[1] else "never"
    yield from _hung(
        f"Meat on {local(plan.on, zone):%a %H:%M}, fire lit at {local(plan.light, zone):%H:%M}, band {held}. "
        f"Last piece done {_range(plan.last, zone)}, likely {likely}."
    )
    for words in plan.words:
        yield from _hung(render(words, reader))


def _range(times: Sequence[int], zone: tzinfo | None) -> str:
    """'Sat 08:10-12:05'; both days if they differ."""
    early, late = local(times[0], zone), local(times[2], zone)
    if not times[2]:
        return f"from {early:%a %H:%M} on, in one of ten never"
    return f"{early:%a %H:%M}-{late:%H:%M}" if early.date() == late.date() else f"{early:%a %H:%M} to {late:%a %H:%M}"


def _table(rows: Sequence[Row], reader: Reader) -> Iterator[str]:
    zone = reader.zone
    day: datetime | None = None
    for row in rows:
        at = local(row.at, zone)
        if day is None or at.date() != day.date():
            day = at
            yield f"{at:%A %d %B}"
        times = f"  {at:%H:%M}" + (f"-{local(row.until, zone):%H:%M}" if row.until else "")
        said = text("{what}. {detail}", what=row.what, detail=row.detail) if row.detail else row.what
        yield from _hung(render(said, reader), f"{times:{ASIDE}}", ASIDE)


def _others(plan: Plan, zone: tzinfo | None) -> Iterator[str]:
    yield "OTHER STARTS"
    yield f"  {'meat on':11}{'ready':>7}   {'last done':11}{'hold':>6}   what it asks of your sleep"
    for one in plan.others:
        yield from _other(one, zone)


def _other(one: Odds, zone: tzinfo | None) -> Iterator[str]:
    mark = ">" if one.chosen else " "
    odds = share(one.odds)
    hold = f"{one.hold:.1f} h" if one.hold > 0.0 else "none"
    likely = f"{local(one.likely, zone):%a %H:%M}" if one.likely else "never"
    line = f"{mark} {local(one.on, zone):%a %H:%M}  {odds:>7}   {likely:9}  {hold:>6}   "
    yield from _hung(", ".join(one.asks) or "nothing", line, len(line))


def _sources(plan: Plan) -> Iterator[Said]:
    yield text(
        "Finish: {members} simulated cooks of each piece, in pits held in this band; ranges are 10 to 90 %; one not "
        "done in {longest} h counts as never. Charcoal: {source}; the amount covers nine of ten and 15 % more, and "
        "what will not burn.",
        members=f"{plan.members}", longest=f"{LONGEST_H:.0f}", source=plan.fuel.source,
    )  # fmt: skip
    where = "the low oven" if plan.kitchen.hold == "low oven" else "a cool box with towels, warmed first"
    hours = "14 h and more" if plan.hold_hours >= 14.0 else f"{plan.hold_hours:.1f} h"
    yield text(
        "Hold: {where}, coldest spot above {limit} for {hours} (computed; no measured box). Rounds, portions, rest and "
        "carving times: common practice, no source.",
        where=where, limit=Temperature(plan.limit), hours=hours,
    )  # fmt: skip


def _hung(words: str, lead: str = "", inset: int = 0) -> list[str]:
    """Words at 80 columns behind `lead`, its later lines set in; a number keeps its percent sign."""
    whole = words.replace(" %", "\u00a0%")  # textwrap breaks at plain spaces alone
    lines = textwrap.wrap(whole, WIDTH, initial_indent=lead, subsequent_indent=" " * inset) or [lead]
    return [line.replace("\u00a0%", " %") for line in lines]

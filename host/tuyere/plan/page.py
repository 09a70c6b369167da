"""The plan as a page of plain text, 80 columns, words first: short, or full with every detail."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from datetime import tzinfo

from tuyere.plan.draws import LONGEST_H
from tuyere.plan.result import Odds, Plan
from tuyere.plan.times import beside, clock, local, share
from tuyere.plan.timetable_lines import table, wrapped
from tuyere.text import Count, Mass, Reader, Said, Temperature, band, render, text

WIDTH = 80
SHOWN = 2  # other starts on the short page, at most


def page(plan: Plan, units: str = "C", zone: tzinfo | None = None, full: bool = True, pit: int = 0) -> list[str]:
    """The lines; headings are in capitals. units: F or C. full: with every detail. pit: the timetable of that cooker
    alone; 0 for all."""
    reader = Reader(units.upper(), zone)
    lines = [*_head(plan, reader)]
    lines += ["", *_timetable(plan, reader, full, pit)]
    lines += ["", *(_full(plan, reader) if full else _short(plan, reader))]
    return [line.rstrip() for line in lines]


def _head(plan: Plan, reader: Reader) -> Iterator[str]:
    zone = reader.zone
    served = f"{local(plan.serve, zone):%a %d %b %Y, served at %H:%M}"
    name = textwrap.shorten(plan.name.upper(), WIDTH - len(served) - 2, placeholder="...")
    yield f"{name:{WIDTH - len(served)}}{served}"
    much = plan.amounts
    people = f"{plan.guests} guests: " if plan.guests else ""
    said = text(
        "{people}{bought} raw, {on} trimmed in {pieces}, {carved} to serve{each}.",
        people=people, bought=Mass(much.bought), on=Mass(much.on), pieces=Count(much.pieces, "piece"),
        carved=Mass(much.carved), each=text(", {mass} each", mass=Mass(much.portion / 1000.0)) if much.portion else "",
    )  # fmt: skip
    yield from hung(render(said, reader))
    held = render(band(plan.low, plan.high), reader)
    likely = clock(plan.last[1], zone) if plan.last[1] else "never"
    first = "First meat" if len({piece.on for piece in plan.pieces}) > 1 else "Meat"
    cookers = f" on {len(plan.pits)} cookers" if len(plan.pits) > 1 else ""
    done = f"all done likely {likely} ({_range(plan.last, zone)})"
    yield from hung(f"{first} on {clock(plan.on, zone)}{cookers}, band {held}; {done}.")
    for words in plan.words:
        yield from hung(render(words, reader))
    for words in plan.warnings:
        yield from hung(f"! {render(words, reader)}", "", 2)


def _range(times: Sequence[int], zone: tzinfo | None) -> str:
    """'08:10-12:05', eight times in ten; both days if they differ."""
    if not times[2]:
        return f"from {clock(times[0], zone)} on, or never"
    return f"{clock(times[0], zone)}-{beside(times[2], times[0], zone)}"


def _timetable(plan: Plan, reader: Reader, full: bool, pit: int) -> Iterator[str]:
    yield "TIMETABLE" + f" OF PIT {pit}" * (pit > 0)
    several = len(plan.pits) > 1
    if several:
        kinds = ", ".join(f"pit {i + 1} {one.cooker}" for i, one in enumerate(plan.pits))
        yield from hung(f"{kinds[0].upper()}{kinds[1:]}. A line without a number is for every pit.", "  ", 2)
    yield from table([row for row in plan.rows if not pit or row.pit in (0, pit)], reader, full, several and not pit)


def _short(plan: Plan, reader: Reader) -> Iterator[str]:
    near = sorted((one for one in plan.others if not one.chosen), key=lambda one: abs(one.on - plan.on))[:SHOWN]
    if near:
        said = "; ".join(_other_words(one, reader.zone) for one in sorted(near, key=lambda one: one.on))
        note = " (* costs sleep)" if "*" in said else ""
        yield from hung(f"Other starts: {said}{note}.", "", 2)
    items = "; ".join(render(item.what, reader) for item in plan.shopping)
    yield from hung(f"To buy and have ready: {items}.", "", 2)
    rule = plan.cautions[0]
    cooling = plan.cautions[2] if len(plan.cautions) > 2 else rule
    yield from hung(f"Food: {render(rule.text, reader)} {render(cooling.text, reader)} Local rules go first.", "", 2)
    yield from hung(
        "Air and fire: never indoors or under a roof (carbon monoxide), away from walls. Burning grease: fan off, "
        "vents and lid shut, no water.", "", 2,
    )  # fmt: skip
    yield "With --full: every detail, caution and source."


def _other_words(one: Odds, zone: tzinfo | None) -> str:
    return f"{clock(one.on, zone)} {share(one.odds)}{'*' * bool(one.asks)}"


def _full(plan: Plan, reader: Reader) -> Iterator[str]:
    yield from _others(plan, reader.zone)
    yield from ("", "TO BUY AND TO HAVE READY")
    for item in plan.shopping:
        said = text("{what}: {detail}", what=item.what, detail=item.detail) if item.detail else item.what
        yield from hung(render(said, reader), "  ", 4)
    if len(plan.pits) > 1:
        for i, pit in enumerate(plan.pits):
            said = text("Pit {i}, {kind}: {need} charcoal", i=i + 1, kind=pit.cooker, need=Mass(pit.fuel.need))
            yield from hung(render(said, reader), "  ", 4)
    yield from ("", "CAUTIONS")
    for caution in plan.cautions:
        source = f" ({caution.source})" if caution.source else ""
        yield from hung(f"{render(caution.text, reader)}{source}", "  ", 4)
    yield from hung("Follow your local rules; they come before all of this.", "  ", 4)
    yield from ("", "WHERE THE NUMBERS COME FROM")
    for said in (*plan.learnt, *_sources(plan)):
        yield from hung(render(said, reader), "  ", 4)


def _others(plan: Plan, zone: tzinfo | None) -> Iterator[str]:
    yield "OTHER STARTS"
    yield f"  {'meat on':11}{'ready':>7}   {'last done':11}{'hold':>6}   what it asks of your sleep"
    for one in plan.others:
        yield from _other(one, zone)


def _other(one: Odds, zone: tzinfo | None) -> Iterator[str]:
    mark = ">" if one.chosen else " "
    odds = share(one.odds)
    hold = f"{one.hold:.1f} h" if one.hold > 0.0 else "none"
    likely = clock(one.likely, zone) if one.likely else "never"
    line = f"{mark} {clock(one.on, zone)}  {odds:>7}   {likely:9}  {hold:>6}   "
    yield from hung(", ".join(one.asks) or "nothing", line, len(line))


def _sources(plan: Plan) -> Iterator[Said]:
    yield text(
        "Finish: {members} simulated cooks of each piece, in pits held in this band; ranges are 10 to 90 %; one not "
        "done in {longest} h counts as never. Charcoal: {source}; the amount covers nine of ten and 15 % more, and "
        "what will not burn.",
        members=f"{plan.members}", longest=f"{LONGEST_H:.0f}", source=plan.fuel.source,
    )  # fmt: skip
    room = Temperature(plan.kitchen.room)
    where: Said = text("a warmed cool box at {room}", room=room)
    if plan.kitchen.hold == "low oven":
        where = text("an oven at {c}", c=Temperature(plan.oven or plan.limit))
    elif plan.kitchen.hold == "box with towels":
        where = text("a warmed cool box with towels, standing at {room}", room=room)
    yield text(
        "Hold: {where}, coldest spot above {limit} for {hours} vented, {straight} put in straight from the pit, where "
        "it goes on cooking for a while (computed; no measured box). Rounds, portions, rest and carving times, what "
        "fits on a grate: common practice, no source.",
        where=where, limit=Temperature(plan.limit), hours=_hours(plan.hold_hours),
        straight=_hours(plan.straight_hours),
    )  # fmt: skip


def _hours(hours: float) -> str:
    return "14 h and more" if hours >= 14.0 else f"{hours:.1f} h"


def hung(words: str, lead: str = "", inset: int = 0) -> list[str]:
    """Words at 80 columns behind `lead`, its later lines set in."""
    return wrapped(words, WIDTH, lead, inset)

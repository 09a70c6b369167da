"""The plan as a page of plain text, words first: short, or full with every detail."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import tzinfo

from tuyere.measures import count
from tuyere.plan.draws import LONGEST_H
from tuyere.plan.result import Odds, Plan
from tuyere.plan.times import beside, clock, local, share
from tuyere.plan.timetable_lines import table, wrapped
from tuyere.text import Count, Mass, Reader, Said, Temperature, band, render, text

WIDTH, LEAST, MOST = 80, 60, 100  # columns: of a page that is piped; of a terminal that is narrow, or wide
SHOWN = 2  # other starts on the short page, at most


def page(
    plan: Plan, units: str = "C", zone: tzinfo | None = None, full: bool = True, pit: int = 0, width: int = WIDTH
) -> list[str]:  # fmt: skip
    """The lines, of at most `width` columns (60 or more); headings are in capitals. units: F or C. full: with every
    detail. pit: the timetable of that cooker alone; 0 for all."""
    laid = _Page(plan, Reader(units.upper(), zone), width)
    lines = [*laid.head(), "", *laid.timetable(full, pit), "", *(laid.full() if full else laid.short())]
    return [line.rstrip() for line in lines]


def _range(times: Sequence[int], zone: tzinfo | None) -> str:
    """'08:10-12:05', eight times in ten; both days if they differ."""
    if not times[2]:
        return f"from {clock(times[0], zone)} on, or never"
    return f"{clock(times[0], zone)}-{beside(times[2], times[0], zone)}"


@dataclass(frozen=True)
class _Page:
    plan: Plan
    reader: Reader
    width: int

    def hung(self, words: str, lead: str = "", inset: int = 0) -> list[str]:
        """Words at this width behind `lead`, the later lines set in."""
        return wrapped(words, self.width, lead, inset)

    def said(self, words: Said) -> list[str]:
        """A sentence of a list."""
        return self.hung(render(words, self.reader), "  ", 4)

    def head(self) -> Iterator[str]:
        zone = self.reader.zone
        served = f"{local(self.plan.serve, zone):%a %d %b %Y, served at %H:%M}"
        name = textwrap.shorten(self.plan.name.upper(), self.width - len(served) - 2, placeholder="...")
        yield f"{name:{self.width - len(served)}}{served}"
        much = self.plan.amounts
        people = f"{count(self.plan.guests, 'guest')}: " if self.plan.guests else ""
        said = text(
            "{people}{bought} raw, {on} trimmed in {pieces}, {carved} to serve{each}.",
            people=people, bought=Mass(much.bought), on=Mass(much.on), pieces=Count(much.pieces, "piece"),
            carved=Mass(much.carved),
            each=text(", {mass} each", mass=Mass(much.portion / 1000.0)) if much.portion else "",
        )  # fmt: skip
        yield from self.hung(render(said, self.reader))
        held = render(band(self.plan.low, self.plan.high), self.reader)
        likely = clock(self.plan.last[1], zone) if self.plan.last[1] else "never"
        first = "First meat" if len({piece.on for piece in self.plan.pieces}) > 1 else "Meat"
        cookers = f" on {len(self.plan.pits)} cookers" if len(self.plan.pits) > 1 else ""
        done = f"all done likely {likely} ({_range(self.plan.last, zone)})"
        yield from self.hung(f"{first} on {clock(self.plan.on, zone)}{cookers}, band {held}; {done}.")
        for words in self.plan.words:
            yield from self.hung(render(words, self.reader))
        for words in self.plan.warnings:
            yield from self.hung(f"! {render(words, self.reader)}", "", 2)

    def timetable(self, full: bool, pit: int) -> Iterator[str]:
        yield "TIMETABLE" + f" OF PIT {pit}" * (pit > 0)
        several = len(self.plan.pits) > 1
        if several:
            kinds = ", ".join(f"pit {i + 1} {one.cooker}" for i, one in enumerate(self.plan.pits))
            yield from self.hung(f"{kinds[0].upper()}{kinds[1:]}. A line without a number is for every pit.", "  ", 2)
        rows = [row for row in self.plan.rows if not pit or row.pit in (0, pit)]
        yield from table(rows, self.reader, self.width, full, several and not pit)

    def short(self) -> Iterator[str]:
        others = [one for one in self.plan.others if not one.chosen]
        near = sorted(others, key=lambda one: abs(one.on - self.plan.on))[:SHOWN]
        if near:
            said = "; ".join(_other_words(one, self.reader.zone) for one in sorted(near, key=lambda one: one.on))
            note = " (* costs sleep)" if "*" in said else ""
            yield from self.hung(f"Other starts: {said}{note}.", "", 2)
        items = "; ".join(render(item.what, self.reader) for item in self.plan.shopping)
        yield from self.hung(f"To buy and have ready: {items}.", "", 2)
        rule = self.plan.cautions[0]
        cooling = self.plan.cautions[2] if len(self.plan.cautions) > 2 else rule
        food = " ".join(render(one.text, self.reader) for one in (rule, cooling))
        yield from self.hung(f"Food: {food} Local rules go first.", "", 2)
        yield from self.hung(
            "Air and fire: never indoors or under a roof (carbon monoxide), away from walls. Burning grease: fan off, "
            "vents and lid shut, no water.", "", 2,
        )  # fmt: skip
        yield "With --full: every detail, caution and source."

    def full(self) -> Iterator[str]:
        yield from self._others()
        yield from ("", "TO BUY AND TO HAVE READY")
        for item in self.plan.shopping:
            said = text("{what}: {detail}", what=item.what, detail=item.detail) if item.detail else item.what
            yield from self.said(said)
        if len(self.plan.pits) > 1:
            for i, pit in enumerate(self.plan.pits):
                said = text(
                    "Pit {i}, {kind}: {need} charcoal; a fill is about {fill}",
                    i=i + 1, kind=pit.cooker, need=Mass(pit.fuel.need), fill=Mass(pit.fuel.fill),
                )  # fmt: skip
                yield from self.said(said)
        yield from ("", "CAUTIONS")
        for caution in self.plan.cautions:
            yield from self.said(text("{rule} ({source})", rule=caution.text, source=caution.source)
                                 if caution.source else caution.text)  # fmt: skip
        yield from self.said("Follow your local rules; they come before all of this.")
        yield from ("", "WHERE THE NUMBERS COME FROM")
        for said in (*self.plan.learnt, *_sources(self.plan)):
            yield from self.said(said)

    def _others(self) -> Iterator[str]:
        yield "OTHER STARTS"
        yield f"  {'meat on':11}{'ready':>7}   {'last done':11}{'hold':>6}   in your sleep"
        for one in self.plan.others:
            yield from self._other(one)

    def _other(self, one: Odds) -> Iterator[str]:
        mark, zone = ">" if one.chosen else " ", self.reader.zone
        odds = share(one.odds)
        hold = f"{one.hold:.1f} h" if one.hold > 0.0 else "none"
        likely = clock(one.likely, zone) if one.likely else "never"
        line = f"{mark} {clock(one.on, zone)}  {odds:>7}   {likely:9}  {hold:>6}   "
        yield from self.hung(", ".join(one.asks) or "nothing", line, len(line))


def _other_words(one: Odds, zone: tzinfo | None) -> str:
    return f"{clock(one.on, zone)} {share(one.odds)}{'*' * bool(one.asks)}"


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

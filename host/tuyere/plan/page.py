"""The plan as a page of plain text, 80 columns, words first."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Sequence
from datetime import datetime, tzinfo

from tuyere.measures import OWN_F, both
from tuyere.plan.draws import LONGEST_H
from tuyere.plan.result import Odds, Plan, Row
from tuyere.plan.times import local, share

WIDTH = 80
ASIDE = 15  # columns of the times
_DEGREES = re.compile(r"(\d+(?:\.\d+)?)(?:(-| to )(\d+(?:\.\d+)?))? C\b")
_DIFFERENCE = re.compile(r"(?<=\bby )(\d+(?:\.\d+)?) C\b")  # "moves it by 1 C"
_HEAT = 65.0  # C; what is hotter is a pit or an oven, and in F those are given by fives


def page(plan: Plan, units: str = "C", zone: tzinfo | None = None) -> list[str]:
    """The lines; headings are in capitals. units: F or C."""
    lines = [*_head(plan, units, zone), "", "TIMETABLE", *_table(plan.rows, units, zone), "", *_others(plan, zone)]
    lines += ["", "TO BUY AND TO HAVE READY"]
    for item in plan.shopping:
        text = f"{item.what}: {item.detail}" if item.detail else item.what
        lines += _hung(both(text, units), "  ", 4)
    lines += ["", "CAUTIONS"]
    for caution in plan.cautions:
        source = f" ({caution.source})" if caution.source else ""
        lines += _hung(f"{degrees(caution.text, units)}{source}", "  ", 4)
    lines += _hung("Follow your local rules; they come before all of this.", "  ", 4)
    lines += ["", "WHAT THE NUMBERS REST ON"]
    for text in (*plan.learnt, *_sources(plan)):
        lines += _hung(degrees(text, units), "  ", 4)
    return [line.rstrip() for line in lines]


def _head(plan: Plan, units: str, zone: tzinfo | None) -> Iterator[str]:
    served = f"{local(plan.serve, zone):%a %d %b %Y, served at %H:%M}"
    name = textwrap.shorten(plan.name.upper(), WIDTH - len(served) - 2, placeholder="...")
    yield f"{name:{WIDTH - len(served)}}{served}"
    much = plan.amounts
    people = f"{plan.guests} guests: " if plan.guests else ""
    text = f"{people}{much.bought:.1f} kg raw, {much.on:.1f} kg trimmed in {_pieces(much.pieces)}, "
    text += f"{much.carved:.1f} kg carved"
    text += f", {much.portion:.0f} g each." if much.portion else "."
    yield from _hung(both(text, units))
    low, high = (c if units.upper() == "C" else c * 1.8 + 32.0 for c in (plan.low, plan.high))
    band = f"{low:.0f}-{high:.0f} {units.upper()}"
    likely = f"{local(plan.last[1], zone):%H:%M}" if plan.last[1] else "never"
    yield from _hung(
        f"Meat on {local(plan.on, zone):%a %H:%M}, fire lit at {local(plan.light, zone):%H:%M}, band {band}. "
        f"Last piece done {_range(plan.last, zone)}, likely {likely}."
    )
    for words in plan.words:
        yield from _hung(words)


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"


def _range(times: Sequence[int], zone: tzinfo | None) -> str:
    """'Sat 08:10-12:05'; both days if they differ."""
    early, late = local(times[0], zone), local(times[2], zone)
    if not times[2]:
        return f"from {early:%a %H:%M} on, in one of ten never"
    return f"{early:%a %H:%M}-{late:%H:%M}" if early.date() == late.date() else f"{early:%a %H:%M} to {late:%a %H:%M}"


def _table(rows: Sequence[Row], units: str, zone: tzinfo | None) -> Iterator[str]:
    day: datetime | None = None
    for row in rows:
        at = local(row.at, zone)
        if day is None or at.date() != day.date():
            day = at
            yield f"{at:%A %d %B}"
        times = f"  {at:%H:%M}" + (f"-{local(row.until, zone):%H:%M}" if row.until else "")
        what = row.what + (f". {row.detail}" if row.detail else "")
        yield from _hung(both(degrees(what, units), units), f"{times:{ASIDE}}", ASIDE)


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


def _sources(plan: Plan) -> Iterator[str]:
    yield (
        f"Finish: {plan.members} simulated cooks of each piece, in pits held in this band; ranges are 10 to 90 %; one "
        f"not done in {LONGEST_H:.0f} h counts as never. "
        f"Charcoal: {plan.fuel.source}; the amount covers nine of ten and 15 % more, and what will not burn."
    )
    where = "the low oven" if plan.kitchen.hold == "low oven" else "a cool box with towels, warmed first"
    hours = "14 h and more" if plan.hold_hours >= 14.0 else f"{plan.hold_hours:.1f} h"
    yield (
        f"Hold: {where}, coldest spot above {plan.limit:g} C for {hours} "
        "(computed; no measured box). Rounds, portions, rest and carving times: common practice, no source."
    )


def _hung(text: str, lead: str = "", inset: int = 0) -> list[str]:
    """Text at 80 columns behind `lead`, its later lines set in; a number keeps its percent sign."""
    whole = text.replace(" %", "\u00a0%")  # textwrap breaks at plain spaces alone
    lines = textwrap.wrap(whole, WIDTH, initial_indent=lead, subsequent_indent=" " * inset) or [lead]
    return [line.replace("\u00a0%", " %") for line in lines]


def degrees(text: str, units: str) -> str:
    """Temperatures in C as the reader wants them: in F by fives for the range of a pit or an oven; a difference has no
    zero."""
    if units.upper() == "C":
        return text
    text = _DIFFERENCE.sub(lambda by: f"{float(by[1]) * 1.8:.0f} F", text)
    text = OWN_F.sub(lambda own: own[1], text)

    def turned(match: re.Match[str]) -> str:
        low, between, high = match.groups()
        oven = text[: match.start()].endswith(("oven at ", "oven that keeps "))
        to = 5 if oven or (high and float(low) >= _HEAT) else 1
        return "".join([_fahrenheit(low, to), between + _fahrenheit(high, to) if high else "", " F"])

    return _DEGREES.sub(turned, text)


def _fahrenheit(celsius: str, to: int) -> str:
    return f"{round((float(celsius) * 1.8 + 32.0) / to) * to}"

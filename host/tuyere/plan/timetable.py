"""The timetable of a start: what the hands do, and when, kept out of the cook's sleep where that can be."""

from __future__ import annotations

from collections.abc import Sequence

from .asked import Asked, Own
from .burning import PANS
from .lists import done_words
from .model import Row
from .start import Choosing, Start
from .times import HOUR, MINUTE, local
from .trade import BARK_FROM_H, FUEL_EVERY_H, PAN_EVERY_H, PRACTICE, ROUND_MIN, SPRITZ_FROM_H, WRAP_MIN

NEAR = 20 * MINUTE  # rounds so near to the wrap are done with it
ROUND = ROUND_MIN * MINUTE


def rows(asked: Asked, own: Sequence[Own], chosen: Start, judged: Choosing, place: str) -> list[Row]:
    """All lines, by time."""
    found = [*_before(asked, own, chosen), *_rounds(asked, chosen), *_wrap(asked, own, chosen)]
    found += [*_done(asked, own, chosen, judged, place), *_carve(asked, own, judged.carve_at), *_asleep(asked, chosen)]
    found.append(Row(asked.serve, "serve", "Serve", hands=False))
    return sorted(found, key=lambda row: row.at)


def _before(asked: Asked, own: Sequence[Own], chosen: Start) -> list[Row]:
    pan = asked.cooker in PANS
    trim = sum(PRACTICE[piece.cut].trim_min for piece in own) * MINUTE
    begin = asked.sleep.before(chosen.light - 15 * MINUTE, trim)
    if begin < asked.now:  # beside the lighting, then
        begin = asked.now if asked.sleep.free(asked.now, asked.now + trim) else chosen.light
    return [
        Row(begin, "trim", f"Trim and season {_count(own)}",
            "Fat down to 5 mm; weigh and measure each; then back into the cold.", begin + trim),
        Row(chosen.light, "light", "Light the pit",
            f"Top vent half open{'; fill the pan' * pan}. Pit probe at grate height, 5 cm from the meat"
            f"{', not over the pan' * pan}."),
        Row(chosen.on, "on", "Meat on",
            "Once the pit holds its band, thick ends to the heat. Half an hour later: clean probes into the flats."),
    ]  # fmt: skip


def _count(own: Sequence[Own]) -> str:
    if len(own) == 1:
        return own[0].name
    return f"{len(own)} pieces"


def _rounds(asked: Asked, chosen: Start) -> list[Row]:
    """Every hour what is due then, in one opening; in the sleep nothing, and on waking a look."""
    found: list[Row] = []
    missed = False
    hour = SPRITZ_FROM_H
    while (at := chosen.on + hour * HOUR) < chosen.last[1]:
        bare = at < chosen.first[0] and (not asked.wrap or at < chosen.wrap)
        what = _due(hour, bare, asked.cooker in PANS)
        if what and (not asked.wrap or abs(at - chosen.wrap) >= NEAR):
            if asked.sleep.free(at, at + ROUND):
                if missed and not asked.sleep.free(at - HOUR, at):
                    found += _waking(asked, chosen, at)
                missed = False
                found.append(Row(at, "round", _round(what), until=at + ROUND))
            else:
                missed = True
        elif missed and asked.sleep.free(at, at + ROUND):
            found += _waking(asked, chosen, at)
            missed = False
        hour += 1
    return found


def _due(hour: int, bare: bool, pan: bool) -> list[str]:
    what = []
    if bare and hour >= SPRITZ_FROM_H:
        what.append("damp dry or dark places")
    if bare and hour >= BARK_FROM_H:
        what.append("note each bark, 0-10")
    if bare and pan and hour % PAN_EVERY_H == 0:
        what.append("fill the pan")
    if hour % FUEL_EVERY_H == 0:
        what.append("look at the fuel")
    return what


def _round(what: Sequence[str]) -> str:
    return "Round: " + ", ".join(what)


def _waking(asked: Asked, chosen: Start, before: int) -> list[Row]:
    """A look on waking, unless the wrap or a round is then."""
    at = asked.sleep.wakes(before - HOUR)
    if not chosen.on < at < before - NEAR or (asked.wrap and abs(at - chosen.wrap) < HOUR // 2):
        return []
    bare = not asked.wrap or at < chosen.wrap
    what = [_fire(asked), *(["damp and note each bark, 0-10"] if bare else [])]
    return [Row(at, "round", "Round on waking: " + ", ".join(what), until=at + ROUND)]


def _wrap(asked: Asked, own: Sequence[Own], chosen: Start) -> list[Row]:
    if not asked.wrap:
        return []
    begin, end = (f"{local(at, asked.sleep.zone):%H:%M}" for at in chosen.window)
    where = f"Window {begin}-{end}, by the bark you note: 45-105 min before the wanted shade."
    if chosen.wrap > chosen.window[1]:
        where += " Later than that for your sleep: the bark gets darker."
    elif chosen.wrap < chosen.window[0]:
        where += " Sooner than that for your sleep: the bark stays lighter."
    until = chosen.wrap + len(own) * WRAP_MIN * MINUTE
    return [Row(chosen.wrap, "wrap", f"Wrap in {asked.wrap}, look at {_fire(asked)}", where, until)]


def _fire(asked: Asked) -> str:
    return "fuel and pan" if asked.cooker in PANS else "the fuel"


def _done(asked: Asked, own: Sequence[Own], chosen: Start, judged: Choosing, place: str) -> list[Row]:
    sleep = asked.sleep
    begin, end = chosen.first[0], max(chosen.last[2], chosen.first[0])
    feel = sleep.wakes(begin) if "taking pieces out" not in chosen.asks else begin
    likely = f"{local(chosen.first[1], sleep.zone):%H:%M}-{local(chosen.last[1], sleep.zone):%H:%M}"
    hold = "into the low oven at 70 C" if place == "low oven" else "towels round them, into the warmed box"
    hot = done_words(own[0].cut, asked.altitude)
    early = judged.carve_at - round(judged.hold_h * HOUR)
    rows = [
        Row(feel, "done", "Feel for tender, take out what is done",
            f"Likely {likely}. Done when a skewer goes in without a push, at {hot}.", max(end, feel)),
        Row(max(chosen.first[1], feel), "hold", f"Hold: vent 10 min, {hold}",
            "Read the coldest one by hand every hour.", judged.carve_at, hands=False),
    ]  # fmt: skip
    if early > chosen.first[0]:
        rows[-1].detail += (
            f" Done before {local(early, sleep.zone):%H:%M}: leave it wrapped where the pit is coolest "
            "until then; once all are done, phase `hold` (70-80 C) keeps them."
        )
    return rows


def _carve(asked: Asked, own: Sequence[Own], begin: int) -> list[Row]:
    found, at = [], begin
    for piece in own:
        end = at + PRACTICE[piece.cut].carve_min * MINUTE
        found.append(Row(at, "carve", f"Carve {piece.name}", "Weigh the slices: it teaches your yield.", end))
        at = end
    for row in found[1:]:
        row.detail = ""
    return found


def _asleep(asked: Asked, chosen: Start) -> list[Row]:
    """The nights between lighting and serving."""
    found: list[Row] = []
    at = chosen.light - 12 * HOUR
    while at < asked.serve:
        if asked.sleep.asleep(at):
            end = asked.sleep.wakes(at)
            begin = at
            while asked.sleep.asleep(begin - 5 * MINUTE):
                begin -= 5 * MINUTE
            if end > chosen.light:
                held = "The board holds the band, and calls for a trip or the fuel." if end > chosen.on else ""
                found.append(Row(begin, "asleep", "Sleep", held, end, hands=False))
            at = end
        at += 15 * MINUTE
    return found

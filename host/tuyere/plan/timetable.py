"""The timetable of a start: what the hands do, and when, kept out of the cook's sleep where possible."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.plan.box import OVEN
from tuyere.plan.burning import PANS
from tuyere.plan.lists import done_at
from tuyere.plan.practice import FUEL_EVERY_H, HELD, LOW_OVEN_C, PAN_EVERY_H, PRACTICE, ROUND_MIN, SPRITZ_FROM_H
from tuyere.plan.request import Asked, Own
from tuyere.plan.result import Row
from tuyere.plan.start import Choosing, Start, wrap_takes
from tuyere.plan.times import HOUR, MINUTE, local
from tuyere.text import Length, Listed, Said, Temperature, Value, band, sentences, text

NEAR = 20 * MINUTE  # rounds nearer to the wrap than this are done with it
SLIGHT = 10 * MINUTE  # outside of its window a wrap serves as well
ROUND = ROUND_MIN * MINUTE


def rows(asked: Asked, own: Sequence[Own], chosen: Start, judged: Choosing, place: str) -> list[Row]:
    """All lines, by time."""
    found = [*_before(asked, own, chosen), *_rounds(asked, own, chosen), *_wraps(asked, own, chosen)]
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
            text("Fat down to {fat}; weigh and measure each; then back into the cold.", fat=Length(0.005)),
            begin + trim),
        Row(chosen.light, "light", "Light the pit",
            text("Top vent half open{fill}. Pit probe at grate height, {off} from the meat{clear}.",
                 fill="; fill the pan" * pan, off=Length(0.05), clear=", not over the pan" * pan)),
        Row(chosen.on, "on", "Meat on",
            "Once the pit holds its band, thick ends to the heat. Half an hour later: clean probes, mid-thickness."),
    ]  # fmt: skip


def _count(own: Sequence[Own]) -> str:
    if len(own) == 1:
        return own[0].name
    return f"{len(own)} pieces"


def _rounds(asked: Asked, own: Sequence[Own], chosen: Start) -> list[Row]:
    """What is due at each half hour, in one opening; in the sleep nothing, and on waking a look."""
    found: list[Row] = []
    missed = False
    cuts = dict.fromkeys(piece.cut for piece in own)
    ends = {one.cut: one.at for one in chosen.wraps}
    last = chosen.last[1] or asked.serve
    for half in range(2, int(2 * (min(last, asked.serve) - chosen.on) / HOUR) + 1):
        at = chosen.on + half * HOUR // 2
        if any(abs(at - wrap) < NEAR for wrap in ends.values()):
            continue
        bare = [cut for cut in cuts if at < min(ends.get(cut, asked.serve), chosen.feel)]
        what = _due(half / 2.0, bare, asked.cooker in PANS)
        if not asked.sleep.free(at, at + ROUND):
            missed = missed or bool(what)
            continue
        woke = asked.sleep.wakes(at - HOUR // 2)
        if missed and not (what and at - woke < NEAR):
            look = [_fire(asked), *(["damp and note each bark, 0-10"] if bare else [])]
            if all(abs(woke - wrap) >= HOUR // 2 for wrap in ends.values()):
                found.append(Row(woke, "round", "Round on waking: " + ", ".join(look), until=woke + ROUND))
        missed = False
        if what:
            found.append(Row(at, "round", "Round: " + ", ".join(what), until=at + ROUND))
    return found


def _due(hour: float, bare: Sequence[str], pan: bool) -> list[str]:
    """What is due at a number of hours after the meat went on, with these cuts still bare."""
    what = []
    if bare and hour >= SPRITZ_FROM_H and hour % 1.0 == 0.0:
        what.append("damp dry or dark places")
    barks = [PRACTICE[cut] for cut in bare]
    if any(hour >= one.bark_from_h and (hour - one.bark_from_h) % one.bark_every_h == 0.0 for one in barks):
        what.append("note each bark, 0-10")
    if bare and pan and hour % PAN_EVERY_H == 0.0:
        what.append("fill the pan")
    if hour % FUEL_EVERY_H == 0.0:
        what.append("look at the fuel")
    return what


def _wraps(asked: Asked, own: Sequence[Own], chosen: Start) -> list[Row]:
    found = []
    for one in chosen.wraps:
        begin, end = (f"{local(at, asked.sleep.zone):%H:%M}" for at in one.window)
        where = "Note each piece's bark colour first. "
        where += f"Window by the bark {begin}-{end}, 45-105 min before the wanted shade."
        if one.at > one.window[1]:
            where += " Later than that for your sleep: the bark gets darker."
        elif one.at < one.window[0] - SLIGHT and one.latest < one.window[0]:
            where += " Sooner than that, since the first may be done soon: the bark stays lighter."
        elif one.at < one.window[0] - SLIGHT:
            where += " Sooner than that for your sleep: the bark stays lighter."
        names = [piece.name for piece in own if piece.cut == one.cut]
        who = f"{', '.join(names)} " if len(chosen.wraps) > 1 else ""
        what = f"Wrap {who}in {asked.wrap}, look at {_fire(asked)}"
        found.append(Row(one.at, "wrap", what, where, one.at + wrap_takes(own, one.cut)))
    return found


def _fire(asked: Asked) -> str:
    return "fuel and pan" if asked.cooker in PANS else "the fuel"


def _done(asked: Asked, own: Sequence[Own], chosen: Start, judged: Choosing, place: str) -> list[Row]:
    zone = asked.sleep.zone
    ends = (f"{local(at, zone):%H:%M}" if at else "never" for at in (chosen.first[1], chosen.last[1]))
    likely = "-".join(dict.fromkeys(ends))
    hold: Said = "towels round them, into the warmed box"
    if place == OVEN:
        hold = text("into the low oven at {c}", c=Temperature(LOW_OVEN_C, fives=True))
    early = judged.carve_at - round(judged.hold_h * HOUR)
    until = max(min(chosen.last[2] or judged.rested, judged.rested), chosen.feel)
    begin = max(chosen.first[1], chosen.feel) if chosen.first[1] else judged.rested
    rows = [
        Row(chosen.feel, "done", "Feel for tender, take out what is done",
            text("Likely {likely}. Done when a skewer goes in without a push, at {c}.", likely=likely,
                 c=_hot(asked, own)), until),
    ]  # fmt: skip
    if begin < judged.carve_at:
        detail: list[Said] = ["Read the coldest one by hand every hour."]
        if place != OVEN and early > chosen.first[0] > 0:
            detail.append(
                text(
                    "Done before {time}: leave it wrapped where the pit is coolest until then; once all are done, "
                    "phase `hold` ({held}) keeps them.",
                    time=f"{local(early, zone):%H:%M}",
                    held=band(*HELD, fives=True),
                )
            )
        what = text("Hold: vent 10 min, {hold}", hold=hold)
        rows.append(Row(begin, "hold", what, sentences(detail), judged.carve_at, hands=False))
    return rows


def _hot(asked: Asked, own: Sequence[Own]) -> Value:
    """At what each cut is done."""
    by: dict[Value, list[str]] = {}
    for cut in dict.fromkeys(piece.cut for piece in own):
        by.setdefault(done_at(cut, asked.altitude), []).append(cut)
    if len(by) == 1:
        return next(iter(by))
    return Listed(tuple(text("{cuts} {c}", cuts=" and ".join(cuts), c=c) for c, cuts in by.items()))


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

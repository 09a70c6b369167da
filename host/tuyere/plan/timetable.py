"""The timetable of a start: what the hands do, and when, kept out of the cook's sleep where possible."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import groupby

import msgspec

from tuyere.cook import carving
from tuyere.plan.box import Keeping
from tuyere.plan.loads import PANS
from tuyere.plan.practice import PRACTICE, THAW_KG_DAY
from tuyere.plan.refuels import TAKES, Refuel
from tuyere.plan.request import Asked, Own
from tuyere.plan.result import Row
from tuyere.plan.rounds import rounds
from tuyere.plan.start import Choosing, Start
from tuyere.plan.taking_out import taking_out
from tuyere.plan.times import DAY, HOUR, MINUTE
from tuyere.plan.wrap_rows import named, wrap_rows
from tuyere.text import Count, Length, Mass, text

CHECK = 20 * MINUTE


def rows(
    asked: Asked, own: Sequence[Own], chosen: Start, judged: Choosing, keep: Keeping,
    fillings: Sequence[Sequence[Refuel]], probes: Mapping[int, int],
) -> list[Row]:  # fmt: skip
    """All lines, by time. fillings: of the baskets, by cooker with meat. probes: their numbers, by piece."""
    lights = chosen.lights(asked.kinds)
    found = [*_before(asked, own, min(lights.values())), *_fires(asked, own, chosen, lights, probes)]
    found += [*rounds(asked, chosen), *wrap_rows(asked, own, chosen), *taking_out(asked, own, chosen, judged, keep)]
    found += [_filled(one, pit + 1) for pit, ones in zip(lights, fillings, strict=True) for one in ones]
    found += [*_carve(own, judged.carve_at), *_asleep(asked, min(lights.values()), chosen.on)]
    found.append(Row(asked.serve, "serve", "Serve", hands=False))
    return sorted(_merged(found, len(lights)), key=lambda row: row.at)


def _merged(found: Sequence[Row], pits: int) -> list[Row]:
    """What is the same at every pit at one time stands once."""
    out: list[Row] = []
    for row in found:
        same = [one for one in found if msgspec.structs.replace(one, pit=0) == msgspec.structs.replace(row, pit=0)]
        everywhere = pits == 1 or (row.pit > 0 and len({one.pit for one in same}) == pits)
        if everywhere and row.pit > 1:
            continue
        out.append(msgspec.structs.replace(row, pit=0) if everywhere else row)
    return out


def thaw_days(own: Sequence[Own]) -> int:
    """Days in a fridge for the heaviest of the pieces, from frozen."""
    return math.ceil(max(piece.mass / (1.0 - PRACTICE[piece.cut].trim) for piece in own) / THAW_KG_DAY)


def _before(asked: Asked, own: Sequence[Own], light: int) -> list[Row]:
    trim = sum(PRACTICE[piece.cut].trim_min for piece in own) * MINUTE
    begin = asked.sleep.before(light - 15 * MINUTE, trim)
    if begin < asked.now:  # beside the lighting, then
        begin = asked.now if asked.sleep.free(asked.now, asked.now + trim) else light
    days = thaw_days(own)
    heaviest = max(piece.mass / (1.0 - PRACTICE[piece.cut].trim) for piece in own)
    thaw = asked.sleep.before(begin - days * DAY, 10 * MINUTE)
    check = max(asked.sleep.before(begin, CHECK), asked.now)
    found = [
        Row(check, "check", "Check the probes; charge the phone and try a call (F7)",
            until=check + CHECK, more="Probes in ice water and in boiling water. The call must wake you."),
        Row(begin, "trim", f"Trim and season {_count(own)}", "", begin + trim,
            more=text("Fat down to {fat}; weigh and measure each; then back into the cold.", fat=Length(0.005))),
    ]  # fmt: skip
    if thaw >= asked.now:
        words = text("If frozen: into the fridge now, {days} for {mass}", days=Count(days, "day"), mass=Mass(heaviest))
        found.insert(0, Row(thaw, "thaw", words))
    return found


def _fires(
    asked: Asked, own: Sequence[Own], chosen: Start, lights: dict[int, int], probes: Mapping[int, int]
) -> list[Row]:
    found: list[Row] = []
    for pit, light in lights.items():
        pan = asked.kinds[pit] in PANS
        words = "Light the pit, fill the pan" if pan else "Light the pit"
        where = text("Top vent half open. Pit probe at grate height, {off} from the meat{clear}.", off=Length(0.05),
                     clear=", not over the pan" * pan)  # fmt: skip
        found.append(Row(light, "light", words, more=where, pit=pit + 1))
    first = {one.batch.slot.pit: True for one in chosen.goings}
    whole = len({one.on for one in chosen.goings}) == 1
    loads = max(one.batch.slot.load for one in chosen.goings)
    for on, pit, load in sorted({(one.on, one.batch.slot.pit, one.batch.slot.load) for one in chosen.goings}):
        mine = [one for one in chosen.goings if (one.on, one.batch.slot.pit, one.batch.slot.load) == (on, pit, load)]
        who = "Meat" if whole and len(lights) == 1 else named(own, [i for one in mine for i in one.batch.pieces])
        what = f"{who} on"
        its = sorted((probes[i], own[i].name) for one in mine for i in one.batch.pieces if i in probes)
        all_have = all(i in probes for one in chosen.goings if one.batch.slot.pit == pit for i in one.batch.pieces)
        which = "" if all_have else ", ".join(f"{number} in {name}" for number, name in its)
        if loads and len({one.on for one in chosen.goings if one.batch.slot.load == load}) == 1:
            what = f"{('First', 'Second')[load]} load on: {named(own, [i for one in mine for i in one.batch.pieces])}"
        more = "Once the pit holds its band, thick ends to the heat. Half an hour later: clean probes, mid-thickness."
        if not first[pit]:
            more = "One short opening; half an hour later a clean probe, mid-thickness, if one is free."
        first[pit] = False
        found.append(Row(on, "on", what, f"Probe {which}" if which else "", more=more, pit=pit + 1))
    return found


def _filled(one: Refuel, pit: int) -> Row:
    what = text("Add {mass} of charcoal to the basket", mass=Mass(one.mass))
    more = (
        "Wear gloves. Knock the ash down, lay the charcoal beside what glows and a few lit pieces on top, shut the lid "
        "soon: the pit falls for a while."
    )
    return Row(one.at, "fuel", what, until=one.at + TAKES, more=more, pit=pit)


def _count(own: Sequence[Own]) -> str:
    return own[0].name if len(own) == 1 else f"{len(own)} pieces"


def _carve(own: Sequence[Own], begin: int) -> list[Row]:
    """A line for the pieces of a cut that are carved one after the other."""
    found: list[Row] = []
    at = begin
    for cut, of in groupby(own, key=lambda piece: piece.cut):
        pieces = list(of)
        end = at + len(pieces) * PRACTICE[cut].carve_min * MINUTE
        verb = carving.VERBS.get(cut, "Carve")
        who = named(pieces, range(len(pieces)))
        how = f", {PRACTICE[cut].carve_min} min each" if len(pieces) > 1 else ""
        weigh = "Weigh what you serve: it teaches your yield." if not found else ""
        found.append(Row(at, "carve", f"{verb} {who}{how}", "", end, more=weigh))
        at = end
    return found


def _asleep(asked: Asked, light: int, on: int) -> list[Row]:
    """The nights between lighting and serving."""
    found: list[Row] = []
    at = light - 12 * HOUR
    while at < asked.serve:
        if asked.sleep.asleep(at):
            end = asked.sleep.wakes(at)
            begin = at
            while asked.sleep.asleep(begin - 5 * MINUTE):
                begin -= 5 * MINUTE
            if end > light:
                held = "the board holds the band, and calls you if it must" if end > on else ""
                found.append(Row(begin, "asleep", "Sleep", held, end, hands=False))
            at = end
        at += 15 * MINUTE
    return found

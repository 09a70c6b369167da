"""How the start was chosen, and what to be warned of, in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tuyere.cook import kept_programmes, programme
from tuyere.measures import percent
from tuyere.meat.cuts import CUTS
from tuyere.plan.box import Keeping
from tuyere.plan.buying import Amounts
from tuyere.plan.draws import LONGEST_H
from tuyere.plan.practice import PORTION_LEAST_G, PRACTICE
from tuyere.plan.refuels import Refuel
from tuyere.plan.request import Asked, Own
from tuyere.plan.start import Choosing, Start
from tuyere.plan.times import DAY, HOUR, MINUTE, Sleep, clock, share
from tuyere.plan.timetable import thaw_days
from tuyere.plan.wrapping import wrap_takes
from tuyere.text import Count, Key, Mass, Said, band, text

NEVER = 0.05  # odds that a piece is never done, from which they are mentioned
CALM = 0.8  # a calmer start is mentioned if it has this share of the odds asked for
THIN = 0.80  # lower odds are warned of
LONG_HOLD_H = 6.0  # a likely hold that is explained
SLOW_CARVE, SLOW_TRIM = 45 * MINUTE, 3 * HOUR
HEAVY_KG = 18.0  # of cold meat at once; from 22 kg on, rehearsed boards that are not told doubt a sound probe
BIG = 1.5  # times the portion asked for
SLEEP_LEAST = 4 * 60  # min; no plan asks for less sleep


def why(asked: Asked, chosen: Start, latest: Start | None, judged: Choosing, keep: Keeping) -> list[Said]:
    """How the start was chosen."""
    zone = asked.sleep.zone
    said: list[Said] = []
    if latest is None:
        words = f"No start gives {percent(asked.odds)}; the best there is gives {share(chosen.odds)}."
        if could := judged.would_do(chosen):
            words += f" Serving at {clock(could, zone)} would have {percent(asked.odds)}."
        said.append(words)
    else:
        near = f" ({percent(asked.odds)}, as near as the draws can tell)" if round(chosen.odds, 2) < asked.odds else ""
        said.append(f"Ready in time with odds of {share(chosen.odds)}{near}: all pieces out, rested and carved.")
        if latest.on > chosen.on and latest.asks and not chosen.asks:
            said.append(
                f"A start at {clock(latest.on, zone)} would still have {share(latest.odds)}, but asks for "
                f"{_all(latest.asks)} in your sleep."
            )
    if (never := judged.never()) > NEVER:
        said.append(
            f"{share(never)} chance that a piece is not done within {LONGEST_H:.0f} h, if ever: a hotter band helps."
        )
    if chosen.asks:
        said.append(_not_kept(asked, chosen, judged))
    elif chosen.night > 0.05:
        said.append(
            f"{share(chosen.night)} chance that a piece is done before you wake: it waits in the pit and gets softer."
        )
    calm = calmer(judged, chosen)
    if calm is not None and latest is not None and calm.odds >= CALM * asked.odds:
        said.append(
            f"Or meat on at {clock(calm.on, zone)}: that asks nothing of your sleep, holds for "
            f"{calm.likely_hold:.0f} h, and has {share(calm.odds)}."
        )
    if chosen.beyond > 0.1 and keep.hours < (chosen.likely_hold + LONG_HOLD_H):
        where = "oven" if asked.oven else "box"
        said.append(
            f"The {where} keeps about {judged.hold_h:.0f} h; {share(chosen.beyond)} chance that a piece waits in the "
            "pit before that."
        )
    if len({one.on for one in chosen.goings}) == 1 and len(chosen.goings) > len(asked.kinds):
        said.append("All go on at one time: their times are alike, or your sleep lies between.")
    return [*said, *_bands(asked)]


def _all(asks: Sequence[str]) -> str:
    return asks[0] if len(asks) == 1 else f"{', '.join(asks[:-1])} and {asks[-1]}"


def _not_kept(asked: Asked, chosen: Start, judged: Choosing) -> str:
    other = other_sleep(judged)
    words = (
        f"Your sleep {asked.sleep.words()} cannot be kept: {_all(chosen.asks)} "
        f"{'falls' if len(chosen.asks) == 1 else 'fall'} into it. "
    )
    if other is None:
        return words + "Move the sleep or the serving, or find a second pair of hands."
    at = clock(other[1].on, asked.sleep.zone)
    return words + f"With --sleep {other[0].words()} nothing would: meat on {at}, {share(other[1].odds)}."


def calmer(judged: Choosing, chosen: Start) -> Start | None:
    """Where the chosen start asks for sleep: the likeliest one that asks for no sleep, if any."""
    if not chosen.asks:
        return None
    calm = [one for one in judged.starts() if not one.asks and 0.0 < one.likely_hold <= chosen.likely_hold]
    return max(calm, key=lambda one: (one.odds, -one.night, -one.on), default=None)


def other_sleep(judged: Choosing) -> tuple[Sleep, Start] | None:
    """The sleep nearest to the cook's own, by an hour sooner or later and up to two hours shorter, into which nothing
    would fall, and its start; None if there is none of 4 h or more."""
    own = judged.asked.sleep
    length = (own.end - own.begin) % 1440
    for shorter in (0, 60, 120):
        for moved in (0, 60, -60):
            begin = (own.begin + moved) % 1440
            if length - shorter < SLEEP_LEAST:
                return None
            sleep = Sleep(begin, (begin + length - shorter) % 1440, own.zone)
            best, could = replace(judged, asked=replace(judged.asked, sleep=sleep)).choose()
            if could is not None and not best.asks and best.cost < 1.0:
                return sleep, best
    return None


def _bands(asked: Asked) -> list[Said]:
    """What a programme with several bands means for the times."""
    if len({(one.low, one.high) for one in asked.phases}) < 2:
        return []
    phases = programme.said([kept_programmes.from_plan(one) for one in asked.phases])
    return [
        text(
            "The programme: {phases}. All times are those of its coolest band, {band}: a hotter phase is done sooner.",
            phases=phases, band=band(asked.low, asked.high),
        )
    ]  # fmt: skip


def warnings(
    asked: Asked, much: Amounts, own: Sequence[Own], chosen: Start, fillings: Sequence[Sequence[Refuel]]
) -> list[Said]:
    """Small portions, thin odds, a fire that should burn already, meat that does not thaw in time, a fill that does
    not last the night, much cold meat at once, slow carving."""
    said: list[Said] = []
    if much.portion is not None and much.portion < PORTION_LEAST_G:
        said.append(
            text(
                "Small portions: {each} each, and {usual} is a usual one. Buy {more} more.",
                each=Mass(much.portion / 1000.0), usual=Mass(asked.portion_g / 1000.0),
                more=Mass(much.bought * (asked.portion_g / much.portion - 1.0)),
            )
        )  # fmt: skip
    if much.portion is not None and much.portion > BIG * asked.portion_g and asked.raw is None and not asked.own:
        said.append(
            text(
                "More than is asked for: the smallest {cut} weighs {mass} trimmed.",
                cut=asked.cut, mass=Mass(CUTS[asked.cut].kg[0]),
            )
        )  # fmt: skip
    if chosen.odds < THIN:
        late = round(1.0 / max(1.0 - chosen.odds, 0.01))
        often = f"one such supper in {late} is late" if late > 1 else "most such suppers are late"
        said.append(f"Thin odds: {often}. Serve later, or have something else to put on the table.")
    if chosen.light - asked.now < HOUR:
        said.append("The fire is to be lit within the hour.")
    days = thaw_days(own)
    if chosen.light - asked.now < days * DAY:
        what = "what is frozen now will not be ready" if asked.own else "buy it unfrozen"
        said.append(text("Too late to thaw in the fridge ({days}): {what}.", days=Count(days, "day"), what=what))
    said += _fires(asked, own, chosen, fillings)
    wraps = sum(wrap_takes(one.batch) for one in chosen.goings if one.wrap is not None)
    if len(asked.kinds) > 1 and wraps > SLOW_CARVE:
        said.append(f"The wraps take {wraps // MINUTE} min for one: have more hands then.")
    takes = sum(PRACTICE[piece.cut].trim_min for piece in own) * MINUTE
    if takes > SLOW_TRIM:
        said.append(f"Trimming takes {takes / HOUR:.1f} h for one: have more hands, or trim the day before.")
    takes = sum(PRACTICE[piece.cut].carve_min for piece in own) * MINUTE
    if takes > SLOW_CARVE:
        said.append(f"Carving takes {takes // MINUTE} min for one: with more knives begin later.")
    return said


def _fires(
    asked: Asked, own: Sequence[Own], chosen: Start, fillings: Sequence[Sequence[Refuel]]
) -> list[Said]:  # fmt: skip
    """Of charcoal that does not last the sleep, and of what a heavy load does to a pit."""
    said: list[Said] = []
    for pit, ones in zip(chosen.lights(asked.kinds), fillings, strict=True):
        for one in ones:
            if one.in_sleep:
                where = f"Pit {pit + 1}: one" if len(fillings) > 1 else "One"
                at = clock(one.at, asked.sleep.zone)
                said.append(
                    f"{where} fill may not last your sleep: get up at {at} to add charcoal, or ask somebody to."
                )
    heaviest = max(sum(own[i].mass for i in pieces) for pieces in _at_once(chosen).values())
    if heaviest >= HEAVY_KG:
        said.append(
            text(
                "{mass} of cold meat at once pulls a pit down for half an hour or more. Note it as it goes on ({key}): "
                "the board then expects that, and calls nobody to look at its probe.",
                key=Key("note", "n"),
                mass=Mass(heaviest),
            )
        )  # fmt: skip
    return said


def _at_once(chosen: Start) -> dict[tuple[int, int], list[int]]:
    """The pieces that one opening of a pit takes in, by pit and time."""
    found: dict[tuple[int, int], list[int]] = {}
    for one in chosen.goings:
        found.setdefault((one.batch.slot.pit, one.on), []).extend(one.batch.pieces)
    return found

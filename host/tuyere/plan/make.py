"""From what is asked to the plan."""

from __future__ import annotations

from hearth.core import fields

from tuyere.cook import kept_programmes, programme
from tuyere.cook.planned import Kitchen, Phase, PlannedPiece
from tuyere.measures import percent
from tuyere.meat.piece import PieceOfMeat as Meat
from tuyere.plan import lists
from tuyere.plan.box import BOX, OVEN, hold_hours
from tuyere.plan.burning import burning
from tuyere.plan.buying import amounts
from tuyere.plan.draws import LONGEST_H, Before, Drawing, forecaster
from tuyere.plan.learnt import Learnt
from tuyere.plan.practice import HELD
from tuyere.plan.request import Asked
from tuyere.plan.result import Odds, Plan, Wrap
from tuyere.plan.start import Choosing, Start, carve_begins, must_be_done
from tuyere.plan.times import HOUR, MINUTE, BadPlan, local, share
from tuyere.plan.timetable import rows
from tuyere.text import Said, Temperature, band, text

APART = 45 * MINUTE
LEAST = 0.05  # with lower odds there is no plan
NEVER = 0.05  # odds that a piece is never done, from which they are mentioned
CALM = 0.8  # a calmer start is mentioned if it has this share of the odds asked for
OTHERS_H = (-4, -2, -1, 0, 1, 2, 3)  # starts shown, hours from the chosen one
LATER_H = (0, 1, 2, 3)  # and from the latest with the odds asked for


def make(asked: Asked, learnt: Learnt, before: Before | None = None) -> Plan:
    """Plan a supper. before: stands in for `tuyere.forecast.finish.before`. BadPlan if no plan is possible."""
    draw: Before = before or forecaster().before
    much, own = amounts(asked, learnt.shares())
    targets = [lists.target(one.cut, asked.altitude) for one in own]
    place, rule = OVEN if asked.oven else BOX, lists.hold_rule(asked)
    hold_h = hold_hours(own, place, rule.c or 60.0, asked.altitude)
    judged = Choosing(
        asked, Drawing(own, targets, asked, learnt.pace.used, draw),
        carve_begins(own, asked.serve), must_be_done(own, asked.serve), hold_h, learnt.bark.used,
    )  # fmt: skip
    if judged.never() > 0.5:
        raise BadPlan(
            text(
                "In a pit held at {band} most such pieces do not come to {target} within {hours} h, if at all: give a "
                "hotter --band, such as {usual}.",
                band=band(asked.low, asked.high), target=Temperature(max(targets), 1), hours=round(LONGEST_H),
                usual=band(121.1, 135.0),
            )
        )  # fmt: skip
    chosen, latest = judged.choose()
    if chosen.odds < LEAST:
        raise BadPlan(_too_soon(asked, judged, chosen))
    meats = [Meat(one.name, one.cut, one.mass, one.flat, one.point, one.start, one.intact) for one in own]
    fuel = burning(asked, burns(judged, chosen), meats)
    table = rows(asked, own, chosen, judged, place)
    return Plan(
        name=asked.name,
        light=chosen.light,
        on=chosen.on,
        serve=asked.serve,
        pieces=[
            PlannedPiece(
                name=one.name,
                cut=one.cut,
                mass=one.mass,
                flat=one.flat,
                point=one.point,
                start=one.start,
                intact=one.intact,
                target=targets[i],
                probe=i + 1 if i < 3 else 0,
                wrap_with=asked.wrap,
            )
            for i, one in enumerate(own)
        ],
        phases=phases(asked),
        made=asked.now,
        guests=asked.guests,
        kitchen=Kitchen(asked.cooker, asked.altitude, place, use=asked.use, region=asked.region),
        low=asked.low,
        high=asked.high,
        sleep=asked.sleep.words(),
        odds=chosen.odds,
        asked_odds=asked.odds,
        first=list(chosen.first),
        last=list(chosen.last),
        wraps=[Wrap(one.cut, one.at, list(one.window)) for one in chosen.wraps],
        hold_hours=hold_h,
        limit=rule.c or 60.0,
        members=len(judged.hours(chosen)),
        amounts=much,
        fuel=fuel,
        rows=table,
        others=others(judged, chosen, latest),
        shopping=lists.shopping(asked, own, much, fuel, place),
        cautions=lists.cautions(asked, own),
        learnt=learnt.words(asked.cut),
        words=[*_why(asked, chosen, latest, judged), *_bands(asked)],
    )


def _too_soon(asked: Asked, judged: Choosing, best: Start) -> str:
    """Why there is no plan for this serving, and for which serving there is one."""
    zone = asked.sleep.zone
    words = (
        f"With meat on at {local(best.on, zone):%a %H:%M} at the earliest, this is ready by "
        f"{local(asked.serve, zone):%a %H:%M} with odds of {share(best.odds)}: serve later"
    )
    could = judged.would_do(best)
    return (
        f"{words}; {local(could, zone):%a %H:%M} has {percent(asked.odds)}." if could else f"{words}, or a smaller cut."
    )


def burns(judged: Choosing, chosen: Start) -> float:
    """Hours that the fire is needed: until the last piece is out, or the box can take over from the pit."""
    out = chosen.last[2] or judged.rested
    if not judged.asked.oven and chosen.first[0]:
        out = max(out, judged.carve_at - round(judged.hold_h * HOUR))
    return (out - chosen.light) / HOUR


def phases(asked: Asked) -> list[Phase]:
    """The programme: at most eight rows for the board; texts stay on the host. One band to the finish, which is by
    feel; a phase that changed nothing would only ask for a key."""
    found = list(asked.phases)
    if not found:
        found = [Phase("to the finish", asked.low, asked.high, fields.END_BY_HAND, purpose=programme.FINISH)]
    if not asked.oven and not any(one.purpose == programme.HOLD for one in found) and len(found) < fields.ROWS:
        found.append(Phase("hold", *HELD, fields.END_BY_HAND, purpose=programme.HOLD))
    return found  # past the last row the fire burns out


def others(judged: Choosing, chosen: Start, latest: Start | None) -> list[Odds]:
    """Other starts and what they give, the chosen one among them."""
    earliest = judged.starts()[0].on
    later = {latest.on + hours * HOUR for hours in LATER_H} if latest is not None else set()
    near = [chosen.on + hours * HOUR for hours in OTHERS_H]
    times = {chosen.on, *later, *(on for on in near if all(abs(on - other) >= APART for other in later))}
    starts = [judged.start(on) for on in sorted(times) if on == chosen.on or earliest <= on < judged.rested]
    return [
        Odds(one.on, one.odds, one.last[1], one.likely_hold, one.beyond, list(one.asks), one.on == chosen.on)
        for one in starts
    ]


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


def _why(asked: Asked, chosen: Start, latest: Start | None, judged: Choosing) -> list[Said]:
    """How the start was chosen."""
    zone = asked.sleep.zone
    said: list[Said] = []
    if latest is None:
        words = f"No start gives {percent(asked.odds)}; the best there is gives {share(chosen.odds)}."
        if could := judged.would_do(chosen):
            words += f" Serving at {local(could, zone):%a %H:%M} would have {percent(asked.odds)}."
        said.append(words)
    else:
        near = f" ({percent(asked.odds)}, as near as the draws can tell)" if round(chosen.odds, 2) < asked.odds else ""
        said.append(f"Ready in time with odds of {share(chosen.odds)}{near}: all pieces out, rested and carved.")
        if latest.on > chosen.on and latest.asks and not chosen.asks:
            said.append(
                f"A start at {local(latest.on, zone):%a %H:%M} would still have {share(latest.odds)}, but asks for "
                f"{' and '.join(latest.asks)} in your sleep."
            )
    if (never := judged.never()) > NEVER:
        said.append(
            f"{share(never)} chance that a piece is not done within {LONGEST_H:.0f} h, if ever: a hotter band helps."
        )
    if chosen.asks:
        other = judged.other_sleep()
        said.append(
            f"Your sleep {asked.sleep.words()} cannot be kept: {' and '.join(chosen.asks)} "
            f"{'falls' if len(chosen.asks) == 1 else 'fall'} into it. "
            + (
                f"With --sleep {other[0].words()} nothing would: meat on {local(other[1].on, zone):%a %H:%M}, "
                f"{share(other[1].odds)}."
                if other
                else "Move the sleep or the serving, or find a second pair of hands."
            )
        )
    elif chosen.night > 0.05:
        said.append(
            f"{share(chosen.night)} chance that a piece is done before you wake: it waits in the pit and gets softer."
        )
    calm = judged.calmer(chosen)
    if calm is not None and latest is not None and calm.odds >= CALM * asked.odds:
        said.append(
            f"Or meat on at {local(calm.on, zone):%a %H:%M}: that asks nothing of your sleep, holds for "
            f"{calm.likely_hold:.0f} h, and has {share(calm.odds)}."
        )
    if chosen.beyond > 0.1 and not asked.oven:
        said.append(
            f"The box keeps the meat above its limit for about {judged.hold_h:.0f} h (computed, no measured box): "
            f"{share(chosen.beyond)} chance that a piece is done sooner than that and waits in the pit."
        )
    return said

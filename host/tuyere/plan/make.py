"""From what is asked to the plan."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from hearth.core import fields

from tuyere.cook import programme
from tuyere.cook.planned import Filling, Kitchen, Phase, PlannedPiece
from tuyere.measures import percent
from tuyere.meat.piece import PieceOfMeat as Meat
from tuyere.plan import lists
from tuyere.plan.box import Keeping, held, keeping
from tuyere.plan.burning import Burning, burning
from tuyere.plan.buying import amounts
from tuyere.plan.capacity import places
from tuyere.plan.draws import LONGEST_H, Before, Drawing, forecaster
from tuyere.plan.learnt import Learnt
from tuyere.plan.loads import Load
from tuyere.plan.refuels import refuels
from tuyere.plan.request import Asked, Own
from tuyere.plan.result import Odds, Pit, Plan, Wrap
from tuyere.plan.start import Choosing, Going, Start, carve_begins, must_be_done
from tuyere.plan.times import HOUR, MINUTE, BadPlan, clock, share
from tuyere.plan.timetable import rows, thaw_days
from tuyere.plan.why import warnings, why
from tuyere.text import Temperature, band, text

APART = 45 * MINUTE
LEAST = 0.05  # with lower odds there is no plan
OTHERS_H = (-4, -2, -1, 0, 1, 2, 3)  # starts shown, hours from the chosen one
LATER_H = (0, 1, 2, 3)  # and from the latest with the odds asked for
PROBES = 3  # of a board


def make(asked: Asked, learnt: Learnt, before: Before | None = None) -> Plan:
    """Plan a supper. before: stands in for `tuyere.forecast.finish.before`. BadPlan if no plan is possible."""
    draw: Before = before or forecaster().before
    much, own = amounts(asked, learnt.shares())
    targets = [lists.target(one.cut, asked.altitude) for one in own]
    slots = places(asked, own)
    rules = lists.rules_of(asked)
    keep = keeping(asked, own, rules.limit, rules.most_h)
    judged = Choosing(
        asked, Drawing(own, targets, asked, learnt.pace.used, draw, learnt.bark.used, slots),
        carve_begins(own, asked.serve), must_be_done(own, asked.serve), keep.hours,
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
    if max(slot.load for slot in slots) and chosen.likely_hold > keep.hours:
        raise BadPlan(_no_second_load(asked, chosen, keep.hours))
    pits = _pits(asked, own, targets, judged, chosen)
    fuel = _together([one.fuel for one in pits])
    fillings = [list(refuels(one.light, one.fuel, asked.sleep)) for one in pits]
    its = {i: going for going in chosen.goings for i in going.batch.pieces}
    numbers = _probes(chosen.goings)
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
                probe=numbers.get(i, 0),
                wrap_with=asked.wrap,
                on=its[i].on,
                wrap_at=its[i].wrap_at,
                feel_at=its[i].feel,
                done=its[i].middle,
                pit=slots[i].pit + 1,
            )
            for i, one in enumerate(own)
        ],
        phases=phases(asked, rules.limit),
        made=asked.now,
        guests=asked.guests,
        kitchen=_kitchen(asked, keep),
        low=asked.low,
        high=asked.high,
        sleep=asked.sleep.words(),
        fillings=[Filling(one.at, one.mass, pit) for pit, ones in enumerate(fillings, 1) for one in ones],
        odds=chosen.odds,
        asked_odds=asked.odds,
        first=list(chosen.first),
        last=list(chosen.last),
        wraps=[
            Wrap(one.batch.cut, one.wrap.at, list(one.wrap.window), [own[i].name for i in one.batch.pieces])
            for one in chosen.goings
            if one.wrap is not None
        ],
        hold_hours=keep.hours,
        straight_hours=keep.straight,
        oven=keep.setting,
        limit=rules.limit,
        members=len(chosen.lasts),
        amounts=much,
        fuel=fuel,
        pits=pits,
        rows=rows(asked, own, chosen, judged, keep, fillings, numbers),
        others=others(judged, chosen, latest),
        shopping=lists.shopping(asked, own, much, pits, fuel, keep.place, thaw_days(own)),
        cautions=lists.cautions(asked, own),
        learnt=learnt.words(asked.cut),
        words=why(asked, chosen, latest, judged, keep),
        warnings=warnings(asked, much, own, chosen, fillings),
    )


def _kitchen(asked: Asked, keep: Keeping) -> Kitchen:
    return Kitchen(
        asked.kinds[0], asked.altitude, keep.place, room=keep.room, use=asked.use, region=asked.region,
        oven_lowest=asked.oven_lowest, oven_error=asked.oven_error, pit_error=asked.pit_error,
    )  # fmt: skip


def _too_soon(asked: Asked, judged: Choosing, best: Start) -> str:
    """Why there is no plan for this serving, and for which serving there is one."""
    zone = asked.sleep.zone
    words = (
        f"With meat on at {clock(best.on, zone)} at the earliest, this is ready by "
        f"{clock(asked.serve, zone)} with odds of {share(best.odds)}: serve later"
    )
    could = judged.would_do(best)
    return f"{words}; {clock(could, zone)} has {percent(asked.odds)}." if could else f"{words}, or a smaller cut."


def _no_second_load(asked: Asked, chosen: Start, hours: float) -> str:
    """Why the first of two loads cannot be kept until serving."""
    cookers = len(asked.kinds) + 1
    return (
        f"The pieces need two loads, and the first would be held for {chosen.likely_hold:.0f} h, longer than it stays "
        f"hot ({hours:.0f} h): give --cookers {cookers}{', or --oven' * (not asked.oven)}, or --fits with what your "
        "grate takes."
    )


def _probes(goings: Sequence[Going]) -> dict[int, int]:
    """The probes of each pit, 1..3, by piece: of its first load one for each batch, in the order in which they go on,
    then a second one for each, and so on. A piece of a second load is given one by hand, once it is free."""
    found: dict[int, int] = {}
    for pit in {one.batch.slot.pit for one in goings}:
        first = [one for one in goings if (one.batch.slot.pit, one.batch.slot.load) == (pit, 0)]
        rows = zip_longest(*(one.batch.pieces for one in sorted(first, key=lambda one: (one.on, one.batch.pieces))))
        pieces = [i for row in rows for i in row if i is not None]
        found.update(zip(pieces, range(1, PROBES + 1), strict=False))
    return found


def _pits(
    asked: Asked, own: Sequence[Own], targets: Sequence[float], judged: Choosing, chosen: Start
) -> list[Pit]:  # fmt: skip
    """Each cooker that has meat, with what its fire burns."""
    found = []
    for pit, light in chosen.lights(asked.kinds).items():
        goings = [one for one in chosen.goings if one.batch.slot.pit == pit]
        on = min(one.on for one in goings)
        loads = []
        for going in goings:
            wrap_h = (going.wrap.at - going.on) / HOUR if going.wrap is not None else None
            for i in going.batch.pieces:
                one = own[i]
                meat = Meat(one.name, one.cut, one.mass, one.flat, one.point, one.start, one.intact, done_c=targets[i])
                loads.append(Load(meat, (going.on - on) / HOUR, wrap_h, asked.wrap))
        kind = asked.kinds[pit]
        found.append(Pit(kind, light, on, burning(asked, kind, burns(judged, chosen, pit), loads)))
    return found


def burns(judged: Choosing, chosen: Start, pit: int = 0) -> float:
    """Hours that a fire is needed: until its last piece is out, or the box can take over from the pit."""
    mine = [one for one in chosen.goings if one.batch.slot.pit == pit]
    out = max(one.last[2] or judged.rested for one in mine)
    if not judged.asked.oven and any(one.first[0] for one in mine):
        out = max(out, judged.carve_at - round(judged.hold_h * HOUR))
    return (out - chosen.lights(judged.asked.kinds)[pit]) / HOUR


def _together(found: Sequence[Burning]) -> Burning:
    return Burning(
        sum(one.likely for one in found), sum(one.need for one in found), sum(one.fill for one in found),
        sum(one.water for one in found), found[0].source,
    )  # fmt: skip


def phases(asked: Asked, limit: float) -> list[Phase]:
    """The programme: at most eight rows for the board; texts stay on the host. One band to the finish, which is by
    feel; a phase that changed nothing would only ask for a key."""
    found = list(asked.phases)
    if not found:
        found = [Phase("to the finish", asked.low, asked.high, fields.END_BY_HAND, purpose=programme.FINISH)]
    if not asked.oven and not any(one.purpose == programme.HOLD for one in found) and len(found) < fields.ROWS:
        found.append(Phase("hold", *held(limit, asked.pit_error), fields.END_BY_HAND, purpose=programme.HOLD))
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

"""The lines from the first felt piece to the hot hold: warm what holds, feel, take out, hold."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tuyere.plan.box import BOX, OVEN, Keeping, boxes, held
from tuyere.plan.lists import done_at, rules_of
from tuyere.plan.request import Asked, Own
from tuyere.plan.result import Row
from tuyere.plan.start import Choosing, Going, Start
from tuyere.plan.times import HOUR, MINUTE, beside
from tuyere.plan.wrap_rows import named
from tuyere.text import Said, Span, Temperature, band, sentences, text

NEAR = 30 * MINUTE
WARM = 40 * MINUTE  # before the first piece may be taken out: hot water in the box for half an hour; an oven heats up


def taking_out(asked: Asked, own: Sequence[Own], chosen: Start, judged: Choosing, keep: Keeping) -> Iterator[Row]:
    """Of every batch, and the hold of them all."""
    begin = max(chosen.first[1], chosen.feel) if chosen.first[1] else judged.rested
    if begin < judged.carve_at:
        yield _warm(asked, own, begin, keep, all(one.waits for one in chosen.goings))
    for going in chosen.goings:
        yield _feel(asked, own, chosen, judged, going)
    if begin < judged.carve_at:
        yield _hold(asked, begin, chosen, judged, keep)


def _feel(asked: Asked, own: Sequence[Own], chosen: Start, judged: Choosing, going: Going) -> Row:
    zone = asked.sleep.zone
    ends = (beside(at, going.feel, zone) if at else "never" for at in (going.first[1], going.last[1]))
    likely = "-".join(dict.fromkeys(ends))
    until = max(min(going.last[2] or judged.rested, judged.rested), going.feel)
    who = f"{named(own, going.batch.pieces)} " if len(chosen.goings) > 1 or len(own) > 1 else ""
    what = text(
        "Feel {who}for tender: likely {likely}, at {c}",
        who=who, likely=likely, c=done_at(going.batch.cut, asked.altitude),
    )  # fmt: skip
    more = "Take out what is done: a skewer goes in without a push. Feel the others again every half hour."
    return Row(going.feel, "done", what, until=until, more=more, pit=going.batch.slot.pit + 1)


def _warm(asked: Asked, own: Sequence[Own], begin: int, keep: Keeping, waits: bool) -> Row:
    at = asked.sleep.before(begin, WARM)
    if not waits:
        at = begin - WARM
    elif at < begin - 2 * WARM:  # the sleep lies before it: on waking, then
        at = asked.sleep.wakes(begin - WARM)
    if keep.place == OVEN:
        return Row(at, "warm", text("Heat the oven to {c}", c=Temperature(keep.setting or 0.0)),
                   more="A thermometer inside says what it really keeps.")  # fmt: skip
    count = boxes(own)
    what = f"Warm the {'box' if count == 1 else f'{count} boxes'} with hot water"
    return Row(at, "warm", what, more="Full of hot water for half an hour, then dry.")


def _hold(asked: Asked, begin: int, chosen: Start, judged: Choosing, keep: Keeping) -> Row:
    zone = asked.sleep.zone
    rules = rules_of(asked)
    limit = Temperature(rules.limit)
    if keep.place == OVEN:
        what: Said = text("Hold in the oven at {c}", c=Temperature(keep.setting or 0.0))
        detail: list[Said] = [text("That is the limit of {limit} and {error} for the oven's error.", limit=limit,
                                   error=Span(asked.oven_error))]  # fmt: skip
        if (keep.setting or 0.0) > rules.limit + asked.oven_error + 0.1:
            detail = [text("Your oven's lowest; the limit is {limit}.", limit=limit)]
    else:
        what = f"Hold: vent 10 min, {'towels, ' * (keep.place == BOX)}into the warmed box"
        detail = [text("Hot for {hours} h there, {straight} h if not vented.", hours=_hours(keep.hours),
                       straight=_hours(keep.straight))]  # fmt: skip
    early = judged.carve_at - round(judged.hold_h * HOUR)
    early += -early % (5 * MINUTE)
    if early > begin + NEAR and chosen.beyond > 0.1:
        time = beside(early, begin, zone)
        if len({one.on for one in chosen.goings}) > 1 and max(one.last[1] for one in chosen.goings) > early:
            detail.append(
                f"What goes in before {time} may not stay hot until carving: read it by hand from then on; the pit is "
                "still needed by the others."
            )
        else:
            template = "Before {time} leave what is done wrapped where the pit is coolest; once all are, phase `hold` "
            keeps = band(*held(rules.limit, asked.pit_error))
            detail.append(text(template + "({held}).", time=time, held=keeps))
    more = text("Read the coldest one by hand every hour: {limit} or more.", limit=limit)
    return Row(begin, "hold", what, sentences(detail), judged.carve_at, hands=False, more=more)


def _hours(hours: float) -> str:
    return "14 and more" if hours >= 14.0 else f"{hours:.1f}"

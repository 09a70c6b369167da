"""The rounds: what is due at each half hour, in one opening of each pit, and a look on waking."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tuyere.plan.loads import PANS
from tuyere.plan.practice import FUEL_EVERY_H, PAN_EVERY_H, PRACTICE, ROUND_MIN, SPRITZ_FROM_H
from tuyere.plan.request import Asked
from tuyere.plan.result import Row
from tuyere.plan.start import Going, Start
from tuyere.plan.times import HOUR, MINUTE

NEAR = 20 * MINUTE  # rounds nearer to a wrap than this are done with it
ROUND = ROUND_MIN * MINUTE
QUICK = 5 * HOUR  # to the wrap; the bark of such a batch is noted twice as often
DAMP, BARK, PAN, FUEL = "damp dry or dark places", "note each bark, 0-10", "fill the pan", "look at the fuel"


def rounds(asked: Asked, chosen: Start) -> Iterator[Row]:
    """Of every pit."""
    for pit in sorted({one.batch.slot.pit for one in chosen.goings}):
        yield from _pit(asked, [one for one in chosen.goings if one.batch.slot.pit == pit], pit)


def fire(cooker: str) -> str:
    """What is looked at besides the meat."""
    return "fuel and pan" if cooker in PANS else "the fuel"


def _pit(asked: Asked, goings: Sequence[Going], pit: int) -> Iterator[Row]:
    cooker, sleep = asked.kinds[pit], asked.sleep
    wraps = [one.wrap.at for one in goings if one.wrap is not None]
    on = min(one.on for one in goings)
    last = max(one.last[1] or asked.serve for one in goings)
    missed = False
    for half in range(2, int(2 * (min(last, asked.serve) - on) / HOUR) + 1):
        at = on + half * HOUR // 2
        if any(abs(at - wrap) < NEAR for wrap in wraps):
            continue
        bare = [one for one in goings if one.on <= at < min(one.wrap.at if one.wrap else asked.serve, one.feel)]
        what = _due(at, half, bare, cooker in PANS)
        if not sleep.free(at, at + ROUND):
            missed = missed or bool(what)
            continue
        woke = sleep.wakes(at - HOUR // 2)
        if missed and not (what and at - woke < NEAR):
            look = [fire(cooker), *(["damp and note each bark, 0-10"] if bare else [])]
            if all(abs(woke - wrap) >= HOUR // 2 for wrap in wraps):
                yield Row(woke, "round", "Round on waking: " + ", ".join(look), until=woke + ROUND, pit=pit + 1)
        missed = False
        if what:
            yield Row(at, "round", "Round: " + ", ".join(what), until=at + ROUND, pit=pit + 1)


def _due(at: int, half: int, bare: Sequence[Going], pan: bool) -> list[str]:
    """What is due this number of half hours after the first meat of the pit went on, with these batches bare."""
    whole, what = half % 2 == 0, []
    if whole and any(at - one.on >= SPRITZ_FROM_H * HOUR for one in bare):
        what.append(DAMP)
    if any(_bark_due(at, one, whole) for one in bare):
        what.append(BARK)
    if bare and pan and half % (2 * PAN_EVERY_H) == 0:
        what.append(PAN)
    if half % (2 * FUEL_EVERY_H) == 0:
        what.append(FUEL)
    return what


def _bark_due(at: int, one: Going, whole: bool) -> bool:
    """In the second half of the time to its wrap, or to its usual one: hourly, and of a quick batch half-hourly."""
    until = one.wrap.at - one.on if one.wrap is not None else round(PRACTICE[one.batch.cut].shade_h * HOUR)
    return at - one.on >= until / 2.0 and (whole or until <= QUICK)

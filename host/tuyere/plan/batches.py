"""Pieces that go on, are wrapped and are felt together, and when each batch goes on so that all are ready together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tuyere.plan.capacity import FIRST, Slot
from tuyere.plan.request import Own
from tuyere.plan.times import HOUR, MINUTE, Sleep

GRID = 15 * MINUTE
TOGETHER_H = 0.75  # pieces of a cut whose likely hours differ by less go on together: one open lid
CHANGE_H = 0.5  # from the last piece of a load out to the next load on
SETTLE = 30 * MINUTE  # how long the pit is watched after meat went on


@dataclass(frozen=True)
class Batch:
    """Pieces of one cut and about one pace, by their index, in one load of one pit."""

    cut: str
    pieces: tuple[int, ...]
    slot: Slot = FIRST


def batches(own: Sequence[Own], slots: Sequence[Slot], likely: Sequence[float]) -> tuple[Batch, ...]:
    """The batches, the slowest first. likely: hours of each piece; inf where it may never be done."""
    found: list[Batch] = []
    order = sorted(range(len(own)), key=lambda i: (slots[i].load, slots[i].pit, own[i].cut, -likely[i], i))
    for i in order:
        last = found[-1] if found else None
        same = last is not None and (last.cut, last.slot) == (own[i].cut, slots[i])
        if last is not None and same and not likely[last.pieces[0]] - likely[i] >= TOGETHER_H:
            found[-1] = Batch(last.cut, tuple(sorted((*last.pieces, i))), last.slot)
        else:
            found.append(Batch(own[i].cut, (i,), slots[i]))
    return tuple(sorted(found, key=lambda b: (b.slot.load, -likely[b.pieces[0]], b.slot.pit)))


def offsets(found: Sequence[Batch], needs: Sequence[float]) -> list[float]:
    """Hours after the first of all goes on at which each batch goes on, so that all are ready together.

    needs: hours to allow for each batch, finite. The loads of a pit follow one another: a load goes on when the one
    before has had its hours, and CHANGE_H more.
    """
    by_load: dict[Slot, float] = {}
    for batch, need in zip(found, needs, strict=True):
        by_load[batch.slot] = max(by_load.get(batch.slot, 0.0), need)
    loads = {slot.pit: sorted(s.load for s in by_load if s.pit == slot.pit) for slot in by_load}
    total = {pit: sum(by_load[Slot(pit, load)] for load in of) + CHANGE_H * (len(of) - 1) for pit, of in loads.items()}
    longest = max(total.values())
    out = []
    for batch, need in zip(found, needs, strict=True):
        pit, load = batch.slot.pit, batch.slot.load
        before = sum(by_load[Slot(pit, one)] + CHANGE_H for one in loads[pit] if one < load)
        out.append(longest - total[pit] + before + by_load[batch.slot] - need)
    return out


def allowed(ordered: Sequence[float], odds: float) -> float:
    """Hours to allow for a batch: those that have these odds, or the longest that its members ever take."""
    hours = quantile(ordered, odds)
    if math.isfinite(hours):
        return hours
    ever = [hours for hours in ordered if math.isfinite(hours)]
    return ever[-1] if ever else 0.0


def awake(at: int, first: int, latest: int, sleep: Sleep) -> int:
    """The time near `at` at which a batch goes on with the cook awake: the waking, if that is not after `latest`, else
    before the sleep, but not before `first`. `at` itself where neither is possible."""
    if sleep.free(at, at + SETTLE):
        return at
    wakes = sleep.wakes(at)
    wakes += -wakes % (5 * MINUTE)
    if wakes <= latest and sleep.free(wakes, wakes + SETTLE):
        return wakes
    earlier = at
    while earlier > first and not sleep.free(earlier, earlier + SETTLE):
        earlier -= GRID
    return earlier if earlier >= first and sleep.free(earlier, earlier + SETTLE) else at


def later(begin: int, hours: float) -> int:
    """`hours` after begin, on the grid, UTC ms."""
    at = begin + round(hours * HOUR)
    return at - at % GRID


def quantile(ordered: Sequence[float], share: float) -> float:
    """The value below which `share` of a sorted sample lies, straight between its points."""
    place = share * (len(ordered) - 1)
    i = min(int(place), len(ordered) - 2) if len(ordered) > 1 else 0
    if len(ordered) == 1 or ordered[i] == ordered[i + 1] or place == i:
        return ordered[i]
    return ordered[i] + (ordered[i + 1] - ordered[i]) * (place - i)

"""When to start: the odds of every start, what each would ask of the cook's sleep, and which one to take."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from tuyere.cook import carving
from tuyere.plan.batches import GRID, SETTLE, Batch, allowed, awake, later, offsets, quantile
from tuyere.plan.capacity import Slot
from tuyere.plan.draws import Drawing
from tuyere.plan.practice import PREHEAT, PREHEAT_MIN
from tuyere.plan.request import Asked, Own
from tuyere.plan.times import HOUR, MINUTE
from tuyere.plan.wrapping import WRAPPED_LEAST, Wrapping, wrap, wrap_takes

BACK_H = 30.0  # how long before the last possible start the search begins
NIGHT = 0.50  # with higher odds that a piece is done in the sleep, the plan asks for taking it out then
RISING = 0.2  # weight of anything that falls into the sleep
LOST_PER_H = 0.5  # and weight of an hour of sleep lost: to bed later, or up earlier, whichever is less
ONCE = 1.0  # at most, for a wrap: up, and to bed again
OFF_PER_H = 0.25  # weight of an hour of a wrap out of its window
PER_H = 0.15  # weight of an hour of likely hold beyond what stays hot
LONG_H, LONG_PER_H = 4.0, 0.05  # a longer hold is no gain, whatever keeps it: the weight of an hour beyond
SAMPLING = 0.02  # standard error of the odds of an ensemble of 200
SURE = 0.97  # odds of a batch that goes on later than the first, by itself
WAITS = 60 * MINUTE  # how long a wrapped piece that is done may wait in the pit: common practice, no source
STEP, WRAPS = 5 * MINUTE, 20 * MINUTE
AGAIN = 60 * MINUTE  # for what comes sooner after another the cook stays up
Times = tuple[int, int, int]


@dataclass(frozen=True)
class Going:
    """A batch in a start, UTC ms: on; its wrap, None to stay bare; its first and its last piece done, 10, 50 and 90 %
    (0: never); feel: the time from which its done pieces are taken out."""

    batch: Batch
    on: int
    wrap: Wrapping | None
    first: Times
    last: Times
    feel: int
    waits: bool = True  # whether its pieces may wait for the cook to wake
    night: float = 0.0  # odds that its first or its last is done in the sleep, and more than WAITS before its end

    @property
    def wrap_at(self) -> int:
        """When it is wrapped, UTC ms; 0: it stays bare."""
        return self.wrap.at if self.wrap is not None else 0

    @property
    def middle(self) -> list[int]:
        """When a piece of it is done, 10, 50 and 90 %: between its first and its last one; none if one never may be."""
        found = [(one + other) // 2 for one, other in zip(self.first, self.last, strict=True)]
        return found if all(self.first) and all(self.last) else []


@dataclass(frozen=True)
class Start:
    """One start, UTC ms. on: the first meat; light: the first fire. odds: all pieces done, rested and carved by
    serving. first, last: done, 10, 50 and 90 % of the first piece and of the last one (0: never); likely_hold: hours.
    beyond: odds that a piece is done before the hold can begin to last. asks: what would have to be done in the sleep,
    in words."""

    on: int
    light: int
    odds: float
    first: Times
    last: Times
    likely_hold: float
    beyond: float
    goings: tuple[Going, ...]
    asks: tuple[str, ...]
    night: float = 0.0  # the highest odds of a batch that it is done in the sleep and waits
    cost: float = 0.0  # what it asks of the sleep and of the hold, in things to be done in the sleep
    lasts: tuple[float, ...] = field(default=(), repr=False)  # hours from `on` to the last piece, sorted

    @property
    def wraps(self) -> list[Wrapping]:
        """The wraps of its batches."""
        return [one.wrap for one in self.goings if one.wrap is not None]

    @property
    def feel(self) -> int:
        """When the first piece is felt."""
        return min(one.feel for one in self.goings)

    def lights(self, kinds: Sequence[str]) -> dict[int, int]:
        """When each pit is lit, by its number from 0. kinds: of the cookers."""
        pits = sorted({one.batch.slot.pit for one in self.goings})
        return {
            pit: min(one.on for one in self.goings if one.batch.slot.pit == pit) - preheat(kinds[pit]) for pit in pits
        }


@dataclass(frozen=True)
class Choosing:
    """What every start is judged from. carve_at: when carving begins; rested: by when all must be done; hold_h: how
    long the hold stays above its limit."""

    asked: Asked
    drawing: Drawing
    carve_at: int
    rested: int
    hold_h: float
    _judged: dict[int, Start] = field(default_factory=dict, init=False, repr=False, compare=False)

    def begins(self, on: int) -> list[int]:
        """When each batch goes on if the first does at `on`: each in its own time, with the cook awake if it can be."""
        found = []
        last = max(batch.slot.load for batch in self.drawing.batches)
        for batch, off, need in zip(self.drawing.batches, self._offsets, self._needs, strict=True):
            if off <= 0.0:
                found.append(on)
                continue
            at = later(on, off)
            if batch.slot.load == last:  # nothing waits for an early start of the others
                sure = allowed(self._usual(batch), SURE)
                at = max(at, later(self.rested, -sure))
            latest = max(at, self.rested - round(need * HOUR))
            found.append(awake(at, on, latest, self.asked.sleep))
        return found

    def _usual(self, batch: Batch) -> list[float]:
        """Hours to the last piece of a batch that is wrapped as usual, sorted."""
        return self.drawing.ends(batch, self.drawing.usual_h(batch.cut))[1]

    @cached_property
    def _needs(self) -> list[float]:
        return [allowed(self._usual(batch), self.asked.odds) for batch in self.drawing.batches]

    @cached_property
    def _offsets(self) -> list[float]:
        return offsets(self.drawing.batches, self._needs)

    def start(self, on: int) -> Start:
        """Judge a start."""
        if on not in self._judged:
            self._judged[on] = self._start(on)
        return self._judged[on]

    def _start(self, on: int) -> Start:
        asked, sleep = self.asked, self.asked.sleep
        goings = tuple(self._going(batch, at) for batch, at in zip(self.drawing.batches, self.begins(on), strict=True))
        firsts, lasts, ready = self._members(on, goings)
        members = len(lasts)
        first, last = (
            tuple(when(on, quantile(hours, share)) for share in (0.1, 0.5, 0.9)) for hours in (firsts, lasts)
        )
        asks: list[str] = []
        lights = [at for kind, at in zip(asked.kinds, self._lights(goings), strict=False)]
        if not all(sleep.free(at, at + 20 * MINUTE) for at in lights):
            asks.append("lighting")
        if not all(sleep.free(one.on, one.on + SETTLE) for one in goings):
            asks.append("putting the meat on")
        cost = self._lost(goings)
        wraps = [one.wrap for one in goings if one.wrap is not None]
        broken = [one.at for one in wraps if not sleep.free(one.at, one.at + WRAPS)]
        if broken:
            asks.append("the wrap")
            cost += sum(min(ONCE, self._weight(at[0], at[-1] + WRAPS)) for at in risings(broken))
        cost += OFF_PER_H * max((one.off(one.at) / HOUR for one in wraps), default=0.0)
        if not all(one.waits for one in goings):
            asks.append("taking pieces out")
        night = max(one.night for one in goings)
        cost += night
        if not sleep.free(self.carve_at, asked.serve):
            asks.append("carving")
        hold = (self.carve_at - first[1]) / HOUR if first[1] else 0.0
        cost += PER_H * max(0.0, hold - self.hold_h) + LONG_PER_H * max(0.0, hold - LONG_H)
        early = bisect_right(firsts, (self.carve_at - on) / HOUR - self.hold_h) / members
        return Start(
            on, min(lights), ready / members, first, last, hold, early, goings, tuple(asks),  # type: ignore[arg-type]
            night, cost, tuple(lasts),
        )  # fmt: skip

    def _lights(self, goings: Sequence[Going]) -> list[int]:
        pits = sorted({one.batch.slot.pit for one in goings})
        on = {pit: min(one.on for one in goings if one.batch.slot.pit == pit) for pit in pits}
        return [on[pit] - preheat(self.asked.kinds[pit]) for pit in pits]

    def _lost(self, goings: Sequence[Going]) -> float:
        """What fires and meat going on cost the sleep: those of one night are one rising, or one late evening."""
        nights: dict[int, list[tuple[int, int]]] = {}
        kinds, sleep = self.asked.kinds, self.asked.sleep
        first: dict[int, int] = {}
        for one in goings:
            pit = one.batch.slot.pit
            first[pit] = min(first.get(pit, one.on), one.on)
        for one in goings:
            pit = one.batch.slot.pit
            begin = one.on - preheat(kinds[pit]) if one.on == first[pit] else one.on
            asleep = [at for at in (*range(begin, one.on + SETTLE, STEP), one.on + SETTLE) if sleep.asleep(at)]
            if asleep:
                nights.setdefault(sleep.wakes(asleep[-1]), []).append((begin, one.on + SETTLE))
        return sum(self._weight(min(one for one, _ in ones), max(end for _, end in ones)) for ones in nights.values())

    def _weight(self, begin: int, end: int) -> float:
        """The cost of what falls into the sleep from begin to end."""
        return RISING + LOST_PER_H * self.asked.sleep.lost(begin, end) / HOUR

    def _members(self, on: int, goings: Sequence[Going]) -> tuple[list[float], list[float], int]:
        """(hours from `on` to the first piece, to the last, sorted; how many cooks are ready in time): all pieces done
        by `rested`, and those of a load before the next goes on."""
        by: dict[Slot, int] = {}
        for one in goings:
            by[one.batch.slot] = min(by.get(one.batch.slot, one.on), one.on)
        rows: list[list[float]] = []
        late: list[float] = []
        for one in goings:
            slot = one.batch.slot
            latest = by.get(Slot(slot.pit, slot.load + 1), self.rested)
            wrap_h = (one.wrap.at - one.on) / HOUR if one.wrap is not None else 0.0
            for i in one.batch.pieces:
                hours = self.drawing.hours(i, wrap_h)
                rows.append([(one.on - on) / HOUR + each for each in hours])
                late.append((latest - on) / HOUR)
        cooks = list(zip(*rows, strict=True))
        ready = sum(all(h <= limit for h, limit in zip(cook, late, strict=True)) for cook in cooks)
        return sorted(min(cook) for cook in cooks), sorted(max(cook) for cook in cooks), ready

    def _going(self, batch: Batch, on: int) -> Going:
        sleep, usual = self.asked.sleep, self.drawing.usual_h(batch.cut)
        wrapped: Wrapping | None = None
        after = on
        if self.asked.wrap:
            shade = self.drawing.shade_h(batch.cut)
            wrapped = wrap(batch, on, shade, self.drawing.ends(batch, usual)[0], sleep)
            after = wrapped.at + wrap_takes(batch) + WRAPPED_LEAST
            after += -after % STEP
        wrap_h = (wrapped.at - on) / HOUR if wrapped is not None else 0.0
        firsts, lasts = self.drawing.ends(batch, wrap_h)
        first, last = (
            tuple(when(on, quantile(hours, share)) for share in (0.1, 0.5, 0.9)) for hours in (firsts, lasts)
        )
        night = max(self._at_night(on, firsts), self._at_night(on, lasts))
        feel = min(max(first[0] or self.rested, after), self.rested)
        waits = night <= NIGHT and not (sleep.asleep(feel) and sleep.wakes(feel) > self.rested)
        if waits:
            feel = sleep.wakes(feel)
        return Going(batch, on, wrapped, first, last, feel, waits, night)  # type: ignore[arg-type]

    def never(self) -> float:
        """The odds that a piece never comes, whatever the start."""
        usual = [self.drawing.usual_h(piece.cut) for piece in self.drawing.own]
        cooks = list(zip(*(self.drawing.hours(i, wrap_h) for i, wrap_h in enumerate(usual)), strict=True))
        return sum(any(math.isinf(hours) for hours in cook) for cook in cooks) / len(cooks)

    def would_do(self, one: Start) -> int:
        """The serving time, UTC ms, for which that start would have the odds asked for; 0: there is none."""
        need = one.lasts[min(math.ceil(self.asked.odds * len(one.lasts)), len(one.lasts)) - 1]
        if math.isinf(need):
            return 0
        at = one.on + round(need * HOUR) + (self.asked.serve - self.rested)
        return at + -at % GRID

    def _at_night(self, on: int, done: Sequence[float]) -> float:
        """The odds that a piece is done while the cook sleeps and then waits long until the cook wakes."""
        sleep = self.asked.sleep
        if sleep.begin == sleep.end:
            return 0.0
        marks = [on + round(hours * HOUR) for i in range(40) if math.isfinite(hours := quantile(done, (i + 0.5) / 40))]
        return sum(sleep.asleep(at) and sleep.asleep(at + WAITS) for at in marks) / 40.0

    def starts(self) -> list[Start]:
        """All starts that there still are, a quarter of an hour apart, earliest first; at least one."""
        batches, offs = self.drawing.batches, self._offsets
        pits: dict[int, float] = {}
        for batch, off in zip(batches, offs, strict=True):
            pits[batch.slot.pit] = min(pits.get(batch.slot.pit, off), off)
        earliest = self.asked.now + max(preheat(self.asked.kinds[pit]) - round(off * HOUR) for pit, off in pits.items())
        soonest = max(off + self._usual(batch)[0] for batch, off in zip(batches, offs, strict=True))
        latest = self.rested - round(soonest * HOUR) if math.isfinite(soonest) else self.rested
        begin = max(earliest, latest - round(max(BACK_H, BACK_H / 2.0 + max(offs)) * HOUR))
        begin += -begin % GRID
        return [self.start(on) for on in range(begin, max(latest, begin) + 1, GRID)]

    def choose(self) -> tuple[Start, Start | None]:
        """(the start to take, the latest one with the odds asked for, whatever the sleep; None if there is none).

        Of those with the odds asked for, or so near that the ensemble cannot tell: the one that costs least sleep and
        hold; of these the latest. Where there is none, the same of those that are as good as the best: where a piece
        may never be done, an earlier start brings nothing but a longer hold.
        """
        starts = self.starts()
        wanted = self.asked.odds
        good = [one for one in starts if one.odds >= wanted - SAMPLING]
        if not good:
            most = max(one.odds for one in starts)
            near = [one for one in starts if one.odds >= most - SAMPLING]
            return min(near, key=lambda one: (round(one.cost, 1), -one.on)), None
        best = min(good, key=lambda one: (round(one.cost, 1), one.odds < wanted, -one.on))
        return best, max((one for one in good if one.odds >= wanted), key=lambda one: one.on, default=best)


def risings(times: Sequence[int]) -> list[list[int]]:
    """Times for which the cook gets up, those of one rising together."""
    found: list[list[int]] = []
    for at in sorted(times):
        if found and at - found[-1][-1] <= AGAIN:
            found[-1].append(at)
        else:
            found.append([at])
    return found


def when(on: int, hours: float) -> int:
    """A time `hours` later, to five minutes; 0 for never."""
    return on + round(hours * HOUR / STEP) * STEP if math.isfinite(hours) else 0


def preheat(cooker: str) -> int:
    """From lighting to the meat, ms."""
    return PREHEAT.get(cooker, PREHEAT_MIN) * MINUTE


def carve_begins(own: Sequence[Own], serve: int) -> int:
    """When the first piece is carved, so that the last is done at serving."""
    return carving.carve_begins([piece.cut for piece in own], serve)


def must_be_done(own: Sequence[Own], serve: int) -> int:
    """By when all pieces must be out, to rest before carving begins."""
    return carving.must_be_done([piece.cut for piece in own], serve)

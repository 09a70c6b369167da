"""When to start: the odds of every start, what each would ask of the cook's sleep, and which one to take."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from .asked import Asked, Own
from .drawing import Drawing, quantile
from .times import HOUR, MINUTE
from .trade import LEAD_MIN, PRACTICE, PREHEAT, PREHEAT_MIN

GRID = 15 * MINUTE
BACK_H = 30.0  # starts are looked at so long before the last one that could still do
NIGHT = 0.50  # with higher odds that a piece is done in the sleep, the plan asks for taking it out then
LIGHTING = 2.0  # lighting in the sleep counts like two other things: a new fire wants an hour and more
LONG_HOLD_H, PER_H = 10.0, 0.25  # a likely hold longer than that counts, too, each hour so much
SETTLE = 30 * MINUTE  # after the meat went on the pit is watched for so long
WRAP_EARLY, WRAP_LATE = 60 * MINUTE, 120 * MINUTE  # how far from its window a wrap may move for the sleep


@dataclass(frozen=True)
class Start:
    """One start, UTC ms. odds: all pieces done, rested and carved by serving. done: 10, 50, 90 % of the first piece's
    and of the last one's; likely_hold: hours. beyond: odds that a piece is done before the hold can begin to last.
    asks: what would have to be done in the sleep, in words. best: the middle of the wrap window; wrap: the time chosen.
    """

    on: int
    light: int
    odds: float
    first: tuple[int, int, int]
    last: tuple[int, int, int]
    likely_hold: float
    beyond: float
    window: tuple[int, int]
    wrap: int
    asks: tuple[str, ...]
    night: float = 0.0  # odds that a piece is done in the sleep
    cost: float = 0.0  # what it asks of the sleep and of the hold, in things to be done in the sleep


@dataclass(frozen=True)
class Choosing:
    """What every start is judged from. carve_at: when carving begins; rested: by when all must be done; hold_h: how
    long the hold stays above its limit; bark_h: hours to the wanted shade."""

    asked: Asked
    drawing: Drawing
    carve_at: int
    rested: int
    hold_h: float
    bark_h: float

    def start(self, on: int) -> Start:
        """Judge a start."""
        asked, sleep = self.asked, self.asked.sleep
        dark = on + round(self.bark_h * HOUR)
        window = (dark - LEAD_MIN[1] * MINUTE, dark - LEAD_MIN[0] * MINUTE)
        wrap = _wrap(asked, window)
        found = self.drawing.wrapped((wrap - on) / HOUR)
        light = on - preheat(asked.cooker)
        odds = bisect_right(found.last, (self.rested - on) / HOUR) / len(found.last)
        first, last = (
            tuple(when(on, quantile(hours, share)) for share in (0.1, 0.5, 0.9)) for hours in (found.first, found.last)
        )
        asks, cost, night = [], 0.0, self._at_night(on, found.first)
        if not sleep.free(light, light + 20 * MINUTE) or not sleep.free(on, on + SETTLE):
            asks.append("lighting or putting the meat on")
            cost += LIGHTING
        if asked.wrap and not sleep.free(wrap, wrap + 20 * MINUTE):
            asks.append("the wrap")
            cost += 1.0
        if night > NIGHT:
            asks.append("taking pieces out")
        cost += night
        if not sleep.free(self.carve_at, asked.serve):
            asks.append("carving")
        hold = (self.carve_at - first[1]) / HOUR
        cost += PER_H * max(0.0, hold - LONG_HOLD_H)
        early = bisect_right(found.first, (self.carve_at - on) / HOUR - self.hold_h) / len(found.first)
        return Start(on, light, odds, first, last, hold, early, window, wrap, tuple(asks), night, cost)  # type: ignore[arg-type]

    def calmer(self, chosen: Start) -> Start | None:
        """Where the chosen start asks for sleep: the likeliest one that asks for no sleep, if any."""
        if not chosen.asks:
            return None
        calm = [one for one in self.starts() if not one.asks and 0.0 < one.likely_hold <= chosen.likely_hold]
        return max(calm, key=lambda one: (one.odds, -one.night, -one.on), default=None)

    def hours(self, one: Start) -> list[float]:
        """Hours from that start to the last piece, by member, sorted."""
        return self.drawing.wrapped((one.wrap - one.on) / HOUR).last

    def _at_night(self, on: int, first: Sequence[float]) -> float:
        """The odds that the first piece is done while the cook sleeps."""
        sleep = self.asked.sleep
        if sleep.begin == sleep.end:
            return 0.0
        marks = [when(on, quantile(first, (i + 0.5) / 40)) for i in range(40)]
        return sum(sleep.asleep(at) for at in marks) / 40.0

    def starts(self) -> list[Start]:
        """All starts that there still are, a quarter of an hour apart, earliest first; at least one."""
        earliest = self.asked.now + preheat(self.asked.cooker)
        soonest = self.drawing.wrapped(self.bark_h - sum(LEAD_MIN) / 120.0).last[0]
        latest = self.rested - round(soonest * HOUR) if math.isfinite(soonest) else self.rested
        begin = max(earliest, latest - round(BACK_H * HOUR))
        begin += -begin % GRID
        return [self.start(on) for on in range(begin, max(latest, begin) + 1, GRID)]

    def choose(self) -> tuple[Start, Start | None]:
        """(the start to take, the latest one with the odds asked for, whatever the sleep; None if there is none).

        Of those with the odds asked for: the one that costs least sleep; of these the latest.
        """
        starts = self.starts()
        good = [one for one in starts if one.odds >= self.asked.odds]
        if not good:
            return max(starts, key=lambda one: (one.odds, -one.on)), None
        best = min(good, key=lambda one: (one.cost, -one.on))
        return best, good[-1]


def when(on: int, hours: float) -> int:
    """So many hours later; a piece that never comes is put a week off."""
    return on + round(min(hours, 168.0) * HOUR)


def preheat(cooker: str) -> int:
    """From lighting to the meat, ms."""
    return PREHEAT.get(cooker, PREHEAT_MIN) * MINUTE


def carve_begins(own: Sequence[Own], serve: int) -> int:
    """When the first piece is carved, so that the last is done at serving."""
    return serve - sum(PRACTICE[piece.cut].carve_min for piece in own) * MINUTE


def must_be_done(own: Sequence[Own], serve: int) -> int:
    """By when all pieces must be out, to rest before carving begins."""
    return carve_begins(own, serve) - max(PRACTICE[piece.cut].rest_min for piece in own) * MINUTE


def _wrap(asked: Asked, window: tuple[int, int]) -> int:
    """When to wrap: the middle of the window, moved to the nearest waking time within what the bark forgives."""
    best = (window[0] + window[1]) // 2
    best += -best % (5 * MINUTE)
    for off in range(0, WRAP_LATE + WRAP_EARLY, 5 * MINUTE):
        for at in (best - off, best + off):
            if window[0] - WRAP_EARLY <= at <= window[1] + WRAP_LATE and asked.sleep.free(at, at + 20 * MINUTE):
                return at
    return best

"""When to start: the odds of every start, what each would ask of the cook's sleep, and which one to take."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace

from tuyere.cook import carving
from tuyere.plan.draws import Drawing, quantile
from tuyere.plan.practice import LEAD_MIN, PRACTICE, PREHEAT, PREHEAT_MIN, WRAP_MIN
from tuyere.plan.request import Asked, Own
from tuyere.plan.times import HOUR, MINUTE, Sleep

GRID = 15 * MINUTE
BACK_H = 30.0  # how long before the last possible start the search begins
NIGHT = 0.50  # with higher odds that a piece is done in the sleep, the plan asks for taking it out then
LIGHTING = 1.5  # weight of lighting, or of putting the meat on, in the sleep; the wrap's is 1
PER_H = 0.25  # weight of an hour of likely hold beyond what stays hot, and of an hour of a wrap out of its window
SAMPLING = 0.02  # standard error of the odds of an ensemble of 200
WAITS = 60 * MINUTE  # how long a wrapped piece that is done may wait in the pit: common practice, no source
USUAL_PIT_C, WET_C = 131.5, 75.0  # a pit held at 250-275 F, and a surface in the plateau: common practice, no source
SLEEP_LEAST = 4 * 60  # min; no plan asks for less sleep
SETTLE = 30 * MINUTE  # how long the pit is watched after the meat went on
WRAP_AHEAD = 30 * MINUTE  # a wrap later than that before the first is likely done is not worth the open lid
WRAP_EARLY, WRAP_LATE = 60 * MINUTE, 120 * MINUTE  # how far from its window a wrap may move for the sleep


@dataclass(frozen=True)
class Wrapping:
    """The wrap of the pieces of one cut, UTC ms: the window by the bark, the latest that is worth it (before the first
    of them is likely done), and the time chosen."""

    cut: str
    window: tuple[int, int]
    latest: int
    at: int


@dataclass(frozen=True)
class Start:
    """One start, UTC ms. odds: all pieces done, rested and carved by serving. first, last: done, 10, 50 and 90 % of the
    first piece and of the last one (0: never); likely_hold: hours. beyond: odds that a piece is done before the hold
    can begin to last. asks: what would have to be done in the sleep, in words. wraps: by cut, none to stay bare."""

    on: int
    light: int
    odds: float
    first: tuple[int, int, int]
    last: tuple[int, int, int]
    likely_hold: float
    beyond: float
    wraps: tuple[Wrapping, ...]
    asks: tuple[str, ...]
    feel: int  # the time from which done pieces are taken out
    night: float = 0.0  # odds that the first or the last is done in the sleep, and more than WAITS before its end
    cost: float = 0.0  # what it asks of the sleep and of the hold, in things to be done in the sleep


@dataclass(frozen=True)
class Choosing:
    """What every start is judged from. carve_at: when carving begins; rested: by when all must be done; hold_h: how
    long the hold stays above its limit; bark: the hours that the user's own bark takes over the usual ones."""

    asked: Asked
    drawing: Drawing
    carve_at: int
    rested: int
    hold_h: float
    bark: float

    def start(self, on: int) -> Start:
        """Judge a start."""
        asked, sleep = self.asked, self.asked.sleep
        wraps = tuple(self._wrap(on, cut) for cut in self.drawing.cuts) if asked.wrap else ()
        found = self.drawing.wrapped([(one.at - on) / HOUR for one in wraps] or self._usual)
        light = on - preheat(asked.cooker)
        odds = bisect_right(found.last, (self.rested - on) / HOUR) / len(found.last)
        first, last = (
            tuple(when(on, quantile(hours, share)) for share in (0.1, 0.5, 0.9)) for hours in (found.first, found.last)
        )
        asks: list[str] = []
        cost, night = 0.0, max(self._at_night(on, found.first), self._at_night(on, found.last))
        begins = {
            "lighting": sleep.free(light, light + 20 * MINUTE),
            "putting the meat on": sleep.free(on, on + SETTLE),
        }
        asks += [what for what, free in begins.items() if not free]
        cost += LIGHTING * len(asks)
        if any(not sleep.free(one.at, one.at + 20 * MINUTE) for one in wraps):
            asks.append("the wrap")
            cost += 1.0
        off = max(
            (max(min(one.window[0], one.latest) - one.at, one.at - one.window[1]) / HOUR for one in wraps), default=0.0
        )
        cost += PER_H * max(0.0, off)
        wrapped = max((one.at + wrap_takes(self.drawing.own, one.cut) for one in wraps), default=0)
        feel = max(first[0] or self.rested, wrapped)
        if night > NIGHT or (sleep.asleep(feel) and sleep.wakes(feel) > self.rested):
            asks.append("taking pieces out")
        else:
            feel = sleep.wakes(feel)
        cost += night
        if not sleep.free(self.carve_at, asked.serve):
            asks.append("carving")
        hold = (self.carve_at - first[1]) / HOUR if first[1] else 0.0
        cost += PER_H * max(0.0, hold - self.hold_h)
        early = bisect_right(found.first, (self.carve_at - on) / HOUR - self.hold_h) / len(found.first)
        return Start(
            on, light, odds, first, last, hold, early, wraps, tuple(asks),  # type: ignore[arg-type]
            min(feel, self.rested), night, cost,
        )  # fmt: skip

    @property
    def _usual(self) -> list[float]:
        """Hours to the middle of each cut's window."""
        return [self._shade_h(cut) - sum(LEAD_MIN) / 120.0 for cut in self.drawing.cuts]

    def _shade_h(self, cut: str) -> float:
        """Hours to the wanted shade in this pit: what dries and browns goes with how far it is above a wet surface."""
        return self.bark * PRACTICE[cut].shade_h * (USUAL_PIT_C - WET_C) / (self.drawing.pit_c - WET_C)

    def _wrap(self, on: int, cut: str) -> Wrapping:
        """When to wrap a cut: the middle of the window that its bark leaves, or before the first of it is likely done,
        moved to the nearest waking time that the bark forgives."""
        sleep = self.asked.sleep
        dark = on + round(self._shade_h(cut) * HOUR)
        window = (dark - LEAD_MIN[1] * MINUTE, dark - LEAD_MIN[0] * MINUTE)
        likely = quantile(self.drawing.wrapped(self._usual, cut).first, 0.5)
        latest = on + round(likely * HOUR) - WRAP_AHEAD if math.isfinite(likely) else window[1] + WRAP_LATE
        best = min((window[0] + window[1]) // 2, latest)
        best -= best % (5 * MINUTE)
        early, late = min(window[0], latest) - WRAP_EARLY, min(window[1] + WRAP_LATE, latest)
        for off in range(0, WRAP_LATE + WRAP_EARLY, 5 * MINUTE):
            for at in (best - off, best + off):
                if early <= at <= late and sleep.free(at, at + 20 * MINUTE):
                    return Wrapping(cut, window, latest, at)
        return Wrapping(cut, window, latest, best)

    def calmer(self, chosen: Start) -> Start | None:
        """Where the chosen start asks for sleep: the likeliest one that asks for no sleep, if any."""
        if not chosen.asks:
            return None
        calm = [one for one in self.starts() if not one.asks and 0.0 < one.likely_hold <= chosen.likely_hold]
        return max(calm, key=lambda one: (one.odds, -one.night, -one.on), default=None)

    def other_sleep(self) -> tuple[Sleep, Start] | None:
        """The sleep nearest to the cook's own, by an hour sooner or later and up to two hours shorter, into which
        nothing would fall, and its start; None if there is none of 4 h or more."""
        own = self.asked.sleep
        length = (own.end - own.begin) % 1440
        for shorter in (0, 60, 120):
            for later in (0, 60, -60):
                begin = (own.begin + later) % 1440
                if length - shorter < SLEEP_LEAST:
                    return None
                sleep = Sleep(begin, (begin + length - shorter) % 1440, own.zone)
                best, could = replace(self, asked=replace(self.asked, sleep=sleep)).choose()
                if could is not None and not best.asks and best.cost < 1.0:
                    return sleep, best
        return None

    def hours(self, one: Start) -> list[float]:
        """Hours from that start to the last piece, by member, sorted; inf where it never is."""
        return self.drawing.wrapped([(wrap.at - one.on) / HOUR for wrap in one.wraps] or self._usual).last

    def never(self) -> float:
        """The odds that a piece never comes, whatever the start."""
        last = self.drawing.wrapped(self._usual).last
        return sum(math.isinf(hours) for hours in last) / len(last)

    def would_do(self, one: Start) -> int:
        """The serving time, UTC ms, for which that start would have the odds asked for; 0: there is none."""
        hours = self.hours(one)
        need = hours[min(math.ceil(self.asked.odds * len(hours)), len(hours)) - 1]
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
        earliest = self.asked.now + preheat(self.asked.cooker)
        soonest = self.drawing.wrapped(self._usual).last[0]
        latest = self.rested - round(soonest * HOUR) if math.isfinite(soonest) else self.rested
        begin = max(earliest, latest - round(BACK_H * HOUR))
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


def when(on: int, hours: float) -> int:
    """A time `hours` later; 0 for never."""
    return on + round(hours * HOUR) if math.isfinite(hours) else 0


def preheat(cooker: str) -> int:
    """From lighting to the meat, ms."""
    return PREHEAT.get(cooker, PREHEAT_MIN) * MINUTE


def carve_begins(own: Sequence[Own], serve: int) -> int:
    """When the first piece is carved, so that the last is done at serving."""
    return carving.carve_begins([piece.cut for piece in own], serve)


def must_be_done(own: Sequence[Own], serve: int) -> int:
    """By when all pieces must be out, to rest before carving begins."""
    return carving.must_be_done([piece.cut for piece in own], serve)


def wrap_takes(own: Sequence[Own], cut: str) -> int:
    """The hands' time for the wrap of a cut's pieces, ms."""
    return sum(piece.cut == cut for piece in own) * WRAP_MIN * MINUTE

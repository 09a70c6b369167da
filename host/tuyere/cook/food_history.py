"""What is known of one piece's temperature, from the meat going on until now, and for how long each rule has counted.

A reading counts for the piece if a person took it by hand, or if its own probe took it in the heat. Out of the heat a
probe counts only while it continues the last reading of the meat: a jump means that it was pulled. A reading above the
boiling point is not of meat. A note that a piece was boxed is not a temperature: in a box, in the room and in a cold
pit nothing heats the meat. So a hot reading there shows that the meat was hot all the time before. Time after the last
hot reading is unknown, and counts as below the limit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from msgspec import Struct

from tuyere.cook.food_spells import Columns, Spell, dead_pit, first_on, in_oven, is_of, joined, out_of_heat
from tuyere.cook.noted import Noted
from tuyere.meat import safety

MINUTE = 60_000
HOUR = 60 * MINUTE
GAP = 15 * MINUTE  # a longer time without readings counts as unwatched
SOON = 20 * MINUTE  # a probe that reads within this time after the meat went on was in from the start
TREND = 30 * MINUTE  # readings of this time give the pace of a fall
FALLS = 2.0  # C an hour; less is the wander of a plateau; common practice, no source
WET_C = 101.0  # the boiling point in any weather; a tip in meat stays below
JUMP, PACE = 5.0, 1.0  # C, and C a minute: the middle of meat moves no faster; a faster probe was pulled
OVER = ("carved", "in_fridge", "thrown_away")  # events after which no rule counts on
CARRY = 10.0  # C that a middle may still rise after it came out; common practice, no source


Read = list[tuple[int, float]]  # (UTC ms, C), oldest first
Taken = list[tuple[int, float, bool]]  # with whether it was taken by hand


class History(Struct):
    """A piece's readings and when nothing heated it, up to `now`. Times UTC ms, 0 for never; temperatures C."""

    on_at: int
    now: int
    limit: float  # of hot holding
    read: Read
    cold: list[Spell]  # out of the heat
    moved: int = 0  # when its probe was seated elsewhere; what it read before was of another spot, or of another piece
    counted: int = 0  # ms in all between 4 C and the limit, known or not shown otherwise; not the come-up in the heat
    known: int = 0  # ms of these that readings show
    since: int = 0  # since when it counts without a break; 0: it does not count now
    spoiled: int = 0  # when a stretch that readings show below the limit, after it was hot, ended last
    hot: bool = False  # it has been at the limit
    up_from: int = 0  # its come-up: when it passed 10 C, or the earliest that can have been
    up_to: int = 0  # first reading at 54.4 C; 0: none yet
    up_last: int = 0  # last reading below 54.4 C before that
    up_seen: bool = False  # read from the start

    @property
    def last(self) -> tuple[int, float] | None:
        """The newest reading."""
        return self.read[-1] if self.read else None

    @property
    def out(self) -> int:
        """Since when nothing heats it; 0 while something may."""
        return self.cold[-1][0] if self.cold and self.cold[-1][1] >= self.now else 0

    @property
    def fall(self) -> float:
        """C an hour by which it falls, from the readings of the last TREND; 0 where it does not, or they are few."""
        recent = [one for one in self.read if one[0] >= self.now - TREND]
        if len(recent) < 2 or recent[-1][0] - recent[0][0] < TREND // 3:
            return 0.0
        pace = (recent[0][1] - recent[-1][1]) * HOUR / (recent[-1][0] - recent[0][0])
        return pace if pace > FALLS else 0.0


def history(
    on_at: int, piece: int, probe: int, columns: Columns, events: Iterable[Noted], now: int, limit: float,
    place: str = "pit", pit_error: float = safety.PIT_ERROR,
) -> History:  # fmt: skip
    """Of a piece that went on at on_at (UTC ms), by its probe (1 to 3, 0 for none) and the events of the cook or its
    own, in any order. limit: of hot holding, C. place: where it is noted to be, if no event says so. pit_error: K by
    which it may lie cooler in the pit than the pit reads.

    ValueError for a limit that is no number.
    """
    if not math.isfinite(limit):
        raise ValueError(f"history: a hot-hold limit of {limit} C is none; give that of the place, such as 60 C.")
    mine = sorted((e for e in events if e.at <= now and is_of(e, piece)), key=lambda e: e.at)
    on_at = first_on(mine, on_at)
    over = next((event.at for event in mine if event.kind in OVER and event.at >= on_at), now)
    now = min(now, over)
    mine = [event for event in mine if event.at <= now]
    away = out_of_heat(mine, on_at, now)
    if place in ("out", "box", "cooling") and not (away and away[-1][1] >= now):
        away.append((now, now))  # somebody moved it there and noted no time
    read = _read(on_at, probe, columns, mine, away, now, limit)
    cold = joined([*away, *dead_pit(columns, on_at, now, limit + pit_error, in_oven(mine, now))])
    moved = _moved(read, [event.at for event in mine if event.kind == "probe_seated" and event.at > on_at])
    before = _counted(History(on_at, moved, limit, [(at, c) for at, c, _ in read if at < moved], cold))
    if before.counted >= safety.LEFT_OUT_H * HOUR:  # that is not undone by a probe in another spot
        moved = 0
    own = [(at, c) for at, c, by_hand in read if by_hand or at >= moved]
    return _counted(History(on_at, now, limit, own, cold, moved))


def of_meat(c: float | None) -> bool:
    """Whether a reading can be of meat: a number, and not above the boiling point."""
    return c is not None and math.isfinite(c) and c <= WET_C


def _read(
    on_at: int, probe: int, columns: Columns, events: Sequence[Noted], away: Sequence[Spell], now: int, limit: float
) -> Taken:  # fmt: skip
    """Its own readings: all by hand, and those of its probe that are of the meat.

    Out of the heat, a hand that found a spot below the limit is not overruled by a probe in the warmer middle.
    """
    found = [
        (event.at, event.value, True) for event in events
        if event.kind == "hand_reading" and event.piece and on_at <= event.at
    ]  # fmt: skip
    if 1 <= probe <= len(columns.meats):
        found += [
            (at, c, False) for at, c in zip(columns.at, columns.meats[probe - 1], strict=True) if on_at <= at <= now
        ]
    seats = [event.at for event in events if event.kind == "probe_seated"]
    read: Taken = []
    before: tuple[int, float] | None = None  # the last reading of the probe, else by hand
    pulled, low, spell, left = False, False, (0, 0), 0.0
    for at, c, by_hand in sorted(found, key=lambda one: (one[0], one[2])):
        if c is None or not of_meat(c):
            continue
        here = next((one for one in away if one[0] <= at <= one[1]), (0, 0))
        if here != spell:  # it came out, or went back
            pulled, low, spell, left = False, False, here, read[-1][1] if read else -math.inf
        if here[0] and not by_hand:
            if not any(here[0] <= seat <= at for seat in seats):
                jump = before is None or abs(c - before[1]) > JUMP + PACE * (at - before[0]) / MINUTE
                pulled = pulled or jump or c > left + CARRY
            if pulled or (low and c >= limit):
                continue
        if by_hand:
            low = c < limit
        if not by_hand or before is None:
            before = at, c
        read.append((at, c, by_hand))
    return read


def _moved(read: Taken, seats: Sequence[int]) -> int:
    """When the probe was last seated so that its reading jumped; 0: never."""
    by_probe = [(at, c) for at, c, by_hand in read if not by_hand]
    for seat in reversed(seats):
        before = max((one for one in by_probe if one[0] < seat), default=None)
        after = min((one for one in by_probe if one[0] >= seat), default=None)
        if before and after and abs(after[1] - before[1]) > JUMP + PACE * (after[0] - before[0]) / MINUTE:
            return seat
    return 0


def _counted(found: History) -> History:
    """The same, filled in for how long each rule counts: the come-up, and the time below the limit."""
    _start_up(found)
    before: tuple[int, float] | None = None
    for one in found.read:
        _between(found, before, one)
        if not found.up_to and one[1] >= safety.COME_UP_C[1]:
            found.up_to = one[0]
        elif not found.up_to:
            found.up_last = one[0]
        if one[1] >= found.limit:
            found.hot, found.since = True, 0
        before = one
    _between(found, before, None)
    return found


def _start_up(found: History) -> None:
    """When the come-up began: at 10 C if its probe saw it, else as it went on, the earliest that can be."""
    found.up_from = found.on_at
    if not found.read or found.read[0][0] - found.on_at > SOON:
        return
    found.up_seen = True
    over = next((at for at, c in found.read if c > safety.COME_UP_C[0]), found.now)
    found.up_from = found.on_at if over == found.read[0][0] else over


def _between(found: History, one: tuple[int, float] | None, other: tuple[int, float] | None) -> None:
    """Count the time from one reading to the next; None: the meat going on, and now."""
    start, end = one[0] if one else found.on_at, other[0] if other else found.now
    if end <= start:
        return
    if one and other and end - start <= GAP:
        below = _below(one, other, found.limit)
        spells = [below] if found.hot else [_part(spell, *below) for spell in found.cold]
        _add(found, end, spells, known=True)
        return
    if one and not other and end - start <= GAP:  # as it last was
        inside = safety.GROWTH_C[0] < one[1] < found.limit
        spells = [(start, end)] if found.hot else [_part(spell, start, end) for spell in found.cold]
        _add(found, end, spells if inside else [], known=inside)
        return
    was_low = one is not None and one[1] < found.limit
    if found.hot and (was_low or (other and other[1] < found.limit)):
        _add(found, end, [(start, end)], known=False)
        return
    spells = [_part(spell, start, end) for spell in found.cold if spell[0] < end and spell[1] > start]
    if other and other[1] >= found.limit and spells and spells[-1][1] == end and not was_low:
        spells.pop()  # nothing heats it there: hot at the end, it was hot all through
    _add(found, end, spells, known=False)


def _part(spell: Spell, start: int, end: int) -> Spell:
    return max(spell[0], start), min(spell[1], end)


def _add(found: History, end: int, spells: Iterable[Spell], known: bool) -> None:
    """Count these spells of the time up to `end`."""
    counts = False
    for one, other in spells:
        if other <= one:
            continue
        found.counted += other - one
        if known:
            found.known += other - one
            if found.hot:
                found.spoiled = other
        found.since = found.since or one
        counts = other == end
    if not counts:
        found.since = 0


def _below(one: tuple[int, float], other: tuple[int, float], limit: float) -> Spell:
    """The part of the straight line between two readings that lies between 4 C and the limit."""
    (start, a), (end, b) = one, other
    low = safety.GROWTH_C[0]
    if a == b:
        return (start, end) if low < a < limit else (start, start)
    first, last = sorted((_at(one, other, low), _at(one, other, limit)))
    return round(first), round(last)


def _at(one: tuple[int, float], other: tuple[int, float], c: float) -> float:
    """When the line between two readings is at c; the nearer end where it never is."""
    share = (c - one[1]) / (other[1] - one[1])
    return one[0] + min(max(share, 0.0), 1.0) * (other[0] - one[0])

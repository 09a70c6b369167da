"""What the probe of one piece has shown, by the tables of `tuyere.meat.safety`, and the rules the piece calls for.

A probe reads one spot, and the coldest may be cooler. For killing, the lower of two readings counts. Times without
readings do not count for it, nor does anything before the probe was last seated or before the meat was last below the
hot-hold limit. For growth, all of the time counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from msgspec import Struct

from tuyere.cook.food_history import GAP, HOUR, MINUTE, SOON, of_meat
from tuyere.cook.food_spells import ENTERS, LEAVES
from tuyere.cook.noted import Noted
from tuyere.meat import doneness, regions, safety
from tuyere.text import Duration, Number, Said, Share, Temperature, text

STEP_S = 60.0
UP_MS = round(safety.COME_UP_H * HOUR)
UP_LOW, UP_HIGH = Temperature(safety.COME_UP_C[0]), Temperature(safety.CREDIT_C)
INSIDE = Temperature(safety.INSIDE_C)
GROWS_LOW, GROWS_HIGH = (Temperature(c) for c in safety.GROWTH_C)


class Watched(Struct):
    """The totals of one piece's probe readings, in the heat."""

    on_at: int  # UTC ms
    first: int  # of the readings
    last: int
    now_c: float  # the last reading
    highest: float
    unread_min: float  # of times without readings, each longer than GAP
    come_up_h: float | None  # 10-54.4 C; None: not there yet, or the probe was not in from the start
    arrived: bool  # at 54.4 C
    growth_min: float  # between 4 and 60 C
    times: float  # over the FSIS table for 6.5 logs; inf from 70 C on
    inside: bool  # held at 62.8 C for 3 min
    dissolved: float  # share of its collagen

    @property
    def from_start(self) -> bool:
        """The probe was in as it went on."""
        return self.first - self.on_at <= SOON


def watched(
    on_at: int, piece: int, at: Sequence[int], read: Sequence[float | None], events: Iterable[Noted], moved: int = 0,
    spoiled: int = 0,
) -> Watched | None:  # fmt: skip
    """Of a piece that went on at on_at (UTC ms), from its probe's readings in time (C); None without any in the heat.

    `events` are the cook's, in any order. moved, spoiled: as in `History`; nothing read before the one, and no killing
    before the other counts.
    """
    mine = sorted((event for event in events if event.piece in (0, piece)), key=lambda event: event.at)
    seated = max((event.at for event in mine if event.kind == "probe_seated" and event.at > on_at), default=on_at)
    out = _out(mine)
    found = [
        (when, c)
        for when, c in zip(at, read, strict=True)
        if c is not None and of_meat(c) and when >= max(on_at, moved) and not any(one <= when < end for one, end in out)
    ]
    if not found:
        return None
    all_minutes = _minutes(found, math.inf)[0]
    runs = _minutes([one for one in found if one[0] >= seated], GAP)
    lower = [[min(pair) for pair in pairwise(run)] for run in runs]
    fresh = _minutes([one for one in found if one[0] >= max(seated, spoiled)], GAP)
    killed = [[min(pair) for pair in pairwise(run)] for run in fresh]
    come_up = safety.come_up_hours(all_minutes, STEP_S) if found[0][0] - on_at <= SOON else None
    return Watched(
        on_at, found[0][0], found[-1][0], found[-1][1], max(c for _, c in found),
        sum(later - one for (one, _), (later, _) in pairwise(found) if later - one > GAP) / MINUTE,
        come_up, any(c >= safety.COME_UP_C[1] for _, c in found),
        safety.growth_minutes(all_minutes[1:], STEP_S),
        sum(safety.times_over(run, STEP_S) for run in killed),
        any(_in_a_row(run) >= safety.INSIDE_MIN for run in killed),
        doneness.dissolved([c for run in lower for c in run], STEP_S),
    )  # fmt: skip


def _out(events: Sequence[Noted]) -> list[tuple[int, float]]:
    """When it lay out of the heat, by its events in time. Its probe may read the room then."""
    spells: list[tuple[int, float]] = []
    for event in events:
        if event.kind in LEAVES and not (spells and math.isinf(spells[-1][1])):
            spells.append((event.at, math.inf))
        elif event.kind in ENTERS and spells and math.isinf(spells[-1][1]):
            spells[-1] = spells[-1][0], event.at
    return spells


def _minutes(found: Sequence[tuple[int, float]], gap: float) -> list[list[float]]:
    """Readings as runs of one a minute, straight between two; a new run after a `gap` (ms)."""
    runs: list[list[float]] = [[found[0][1]]] if found else []
    for (one, c), (later, next_c) in pairwise(found):
        if later - one > gap:
            runs.append([next_c])
            continue
        count = max(1, round((later - one) / MINUTE))
        runs[-1] += [c + (next_c - c) * i / count for i in range(1, count + 1)]
    return runs


def _in_a_row(run: Sequence[float]) -> int:
    """The longest time in minutes at 62.8 C or more, as rounded to the board's hundredths."""
    most = held = 0
    for c in run:
        held = held + 1 if c >= safety.INSIDE_C - 0.005 else 0
        most = max(most, held)
    return most


def words(seen: Watched, intact: bool, killed: bool = True) -> list[Said]:
    """Its readings in sentences. killed: include the heat that it had."""
    out: list[Said] = [_come_up(seen)]
    grew = Duration(60.0 * round(seen.growth_min))
    out.append(text("Its probe read between {low} and {high} for {time}", low=GROWS_LOW, high=GROWS_HIGH, time=grew))
    if killed:
        out.append(_killed(seen))
    if killed and not intact:
        reached = "has been held" if seen.inside else "has not been held yet"
        held = Duration(60.0 * safety.INSIDE_MIN)
        template = "Not whole muscle: {c} for {time} {reached} at its probe"
        out.append(text(template, c=INSIDE, time=held, reached=reached))
    if seen.unread_min:
        gone = Duration(60.0 * round(seen.unread_min))
        template = "Its probe gave no reading for {gone} in between. That time counts as growth, not as heat"
        out.append(text(template, gone=gone))
    return out


def _killed(seen: Watched) -> Said:
    """How much of the lethal heat it had. The table stands once for all pieces, in `safety.LETHALITY`."""
    if math.isinf(seen.times):
        return text(
            "Salmonella killed (6.5 logs) at once: its probe read {c} or more",
            c=Temperature(70.0),
        )
    if seen.times >= 1.0:
        times = Number(seen.times, 1)
        return text("Salmonella killed (6.5 logs) {times} times over, by its probe", times=times)
    return text(
        "Salmonella not killed yet: {share} of the heat for 6.5 logs so far, by its probe",
        share=Share(min(0.99, seen.times)),
    )


def _come_up(seen: Watched) -> Said:
    rule = Duration(UP_MS / 1000.0)
    if seen.come_up_h is not None:
        took = Duration(3600.0 * seen.come_up_h)
        if seen.come_up_h <= safety.COME_UP_H:
            return text("From {low} to {high} it took {took}", low=UP_LOW, high=UP_HIGH, took=took)
        template = "From {low} to {high} it took {took}, more than the {rule} of the rule"
        return text(template, low=UP_LOW, high=UP_HIGH, took=took, rule=rule)
    since = whole_minutes(seen.last - seen.on_at)
    if seen.arrived:
        return text(
            "Its probe first read {gone} after it went on, so its hours from {low} to {high} are not known",
            gone=whole_minutes(seen.first - seen.on_at), low=UP_LOW, high=UP_HIGH,
        )  # fmt: skip
    if seen.last - seen.on_at <= UP_MS:
        return text("Not yet at {high}, {since} after it went on", high=UP_HIGH, since=since)
    template = "Not yet at {high}, {since} after it went on: the rule is {rule} from {low} on"
    return text(template, high=UP_HIGH, since=since, rule=rule, low=UP_LOW)


def verdict(seen: Watched, target_c: float) -> Said:
    """Whether it is done, as far as the probe and the collagen's fit can say."""
    share = seen.dissolved if seen.from_start and not seen.unread_min else None
    return doneness.judge(seen.now_c, share, None, target_c).words


def rules(
    seen: Watched | None, intact: bool, mass: float | None, asks: regions.Rules, trade: bool
) -> list[safety.Rule]:
    """The rules of a place that a piece calls for. A mass that is not known calls for none."""
    if seen is None:
        return regions.cautions(asks, intact, mass or math.inf, trade)
    hours = 0.0 if seen.arrived else (seen.last - seen.on_at) / HOUR
    return regions.cautions(asks, intact, mass or math.inf, trade, seen.come_up_h, seen.highest, hours)


def whole_minutes(ms: float) -> Duration:
    """A time to the minute."""
    return Duration(60.0 * round(ms / MINUTE))

"""What a piece's own readings say of its safety, by the tables of `tuyere.meat.safety`: a pure function, in words.

A probe reads one spot, and the coldest may be cooler. So between two readings the lower one counts for killing; none
counts across a time without readings, nor from before the probe was last seated; growth counts across all of it.
A reading hotter than water boils is not of meat.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Protocol

from msgspec import Struct

from tuyere.meat import doneness, safety
from tuyere.text import Said

MINUTE = 60_000
STEP_S = 60.0
GAP = 15 * MINUTE  # a longer time without readings is one that nobody watched
SOON = 20 * MINUTE  # a probe that reads so soon after the meat went on was in from the start
INSIDE_C, INSIDE_MIN = 62.8, 3  # safety.NOT_INTACT
WET_C = 101.0  # the boiling point in any weather; a tip in meat stays below
LEAVES, ENTERS = ("out", "in_box", "carved"), ("meat_on", "in_oven")


class Noted(Protocol):
    """What is needed of an event."""

    @property
    def kind(self) -> str:
        """As in `logbook.kinds`."""

    @property
    def at(self) -> int:
        """UTC ms."""

    @property
    def piece(self) -> int:
        """0: of all."""


class Watched(Struct):
    """What the readings of one piece come to."""

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
    inside: bool  # held at INSIDE_C for INSIDE_MIN
    dissolved: float  # share of its collagen

    @property
    def from_start(self) -> bool:
        """The probe was in as it went on."""
        return self.first - self.on_at <= SOON


def watched(
    on_at: int, piece: int, at: Sequence[int], read: Sequence[float | None], events: Iterable[Noted]
) -> Watched | None:
    """Of a piece that went on at on_at (UTC ms), from its probe's readings in time (C); None without any in the heat.

    `events` are the cook's, in any order.
    """
    mine = sorted((event for event in events if event.piece in (0, piece)), key=lambda event: event.at)
    seated = max((event.at for event in mine if event.kind == "probe_seated" and event.at > on_at), default=on_at)
    out = _out(mine)
    found = [
        (when, c)
        for when, c in zip(at, read, strict=True)
        if c is not None and c <= WET_C and when >= on_at and not any(one <= when < end for one, end in out)
    ]
    if not found:
        return None
    all_minutes = _minutes(found, math.inf)[0]
    runs = _minutes([one for one in found if one[0] >= seated], GAP)
    lower = [[min(pair) for pair in pairwise(run)] for run in runs]
    come_up = safety.come_up_hours(all_minutes, STEP_S) if found[0][0] - on_at <= SOON else None
    return Watched(
        on_at, found[0][0], found[-1][0], found[-1][1], max(c for _, c in found),
        sum(later - one for (one, _), (later, _) in pairwise(found) if later - one > GAP) / MINUTE,
        come_up, any(c >= safety.COME_UP_C[1] for _, c in found),
        safety.growth_minutes(all_minutes[1:], STEP_S),
        sum(safety.times_over(run, STEP_S) for run in lower),
        any(_in_a_row(run) >= INSIDE_MIN for run in lower),
        doneness.dissolved([c for run in lower for c in run], STEP_S),
    )  # fmt: skip


def _out(events: Sequence[Noted]) -> list[tuple[int, float]]:
    """When it lay out of the heat, by its events in time: what a probe reads of it then may be the room."""
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
    """The longest time in minutes that it was held at INSIDE_C."""
    most = held = 0
    for c in run:
        held = held + 1 if c >= INSIDE_C else 0
        most = max(most, held)
    return most


def words(seen: Watched, intact: bool) -> list[str]:
    """The same in sentences, C."""
    out = [_come_up(seen), f"Its probe read between 4 C and 60 C for {_span(seen.growth_min)}"]
    if math.isinf(seen.times):
        out.append("The heat that the FSIS table asks of beef (6.5 logs) was had at once: its probe read 70 C or more")
    elif seen.times >= 1.0:
        out.append(f"The heat that the FSIS table asks of beef (6.5 logs) was had {seen.times:.1f} times over")
    else:
        share = f"{min(99, round(100 * seen.times))} %"
        out.append(f"The heat that the FSIS table asks of beef (6.5 logs) is not had yet: {share} of it at its probe")
    if not intact:
        reached = "has been held" if seen.inside else "has not been held yet"
        out.append(f"Not whole muscle: {INSIDE_C} C for {INSIDE_MIN} min {reached} at its probe")
    if seen.unread_min:
        gone = _span(seen.unread_min)
        out.append(f"Its probe gave no reading for {gone} in between: that counts as growth, not as heat")
    return out


def _come_up(seen: Watched) -> str:
    low, high = safety.COME_UP_C
    if seen.come_up_h is not None:
        late = f", more than the {safety.COME_UP_H:g} h of the rule" if seen.come_up_h > safety.COME_UP_H else ""
        return f"From {low:g} C to {high} C it took {seen.come_up_h:.1f} h{late}"
    since = _span((seen.last - seen.on_at) / MINUTE)
    if not seen.arrived:
        late = f": the rule is {safety.COME_UP_H:g} h from {low:g} C on" if _over(seen) else ""
        return f"Not yet at {high} C, {since} after it went on{late}"
    gone = _span((seen.first - seen.on_at) / MINUTE)
    return f"Its probe first read {gone} after it went on, so its hours from {low:g} C to {high} C are not known"


def _over(seen: Watched) -> bool:
    return seen.last - seen.on_at > safety.COME_UP_H * 60 * MINUTE


def verdict(seen: Watched, target_c: float) -> Said:
    """Whether it is done, as far as the probe and the collagen's fit can say."""
    share = seen.dissolved if seen.from_start and not seen.unread_min else None
    return doneness.judge(seen.now_c, share, None, target_c).words


def rules(seen: Watched | None, intact: bool, mass: float | None, trade: bool) -> list[safety.Rule]:
    """The rules that a piece calls for. A mass that is not known calls for none."""
    if seen is None:
        return safety.cautions(intact, mass or math.inf, trade)
    hours = 0.0 if seen.arrived else (seen.last - seen.on_at) / 3.6e6
    return safety.cautions(intact, mass or math.inf, trade, seen.come_up_h, seen.highest, hours)


def _span(minutes: float) -> str:
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def listed(found: Iterable[safety.Rule]) -> list[str]:
    """Each rule once, with where it stands; the last line is for all of them."""
    said = list(dict.fromkeys(f"{rule.text} ({rule.source})" for rule in found))
    return [*said, safety.LOCAL] if said else []

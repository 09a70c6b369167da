"""The fire's breath: how hard the fire answers per unit of air, from what the fan needs to hold the pit.

Ash that closes the grate, or fuel that ends, shows hours ahead: the same pit needs more fan. With ash the need grows
nearly in a straight line, since ash falls as fast as coal burns and each gram takes its share of the way. `look` draws
that line through the quiet minutes and says when it would reach the whole fan; from then on nothing is left to hold
the pit with.
It tells a person, early enough to act. It trips nothing, calls nothing and never touches the fan.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from statistics import median

from tuyere.cook.snapshot import Breath, Event
from tuyere.text import Clock, Said, Share, text

MINUTE = 60_000
MENDS = ("ash_knocked", "fuel_added")  # what gives the fire its breath back: the line begins again
LIDS = ("opened", "opened_told", "opened_felt", "spritzed", "wrapped", "meat_on", "moved", "pan_filled", "out")
LID = 15 * MINUTE  # this long after one of them the fan is busy with it
SETTLES = 40 * MINUTE  # after the pit came into a band, or was lit again
NEAR_C = 2.0  # outside the band that still counts as held
LEAST_K = 20.0  # between the band's middle and the air outside
BUCKET = 10 * MINUTE
LINE = 120 * MINUTE  # what the line is drawn through
LEAST = 6  # buckets in it
BEST = 4  # buckets in the best stretch of the night
FALLEN = 0.7  # of the best breath: above it nothing is said
MUCH = 0.45  # of the whole fan: below it nothing is said
AHEAD = 90 * MINUTE  # this long before the fan is at its end it is said
GONE_ON = 2.0  # times its own uncertainty that the line must rise
TO_KNOCK = 40 * MINUTE  # before the fan is at its end: opening, knocking, and the fire's own time


def look(
    at: Sequence[int],
    pit: Sequence[float | None],
    fan: Sequence[float],
    low: Sequence[float],
    high: Sequence[float],
    outside: Sequence[float | None],
    events: Iterable[Event],
    now: int,
    most: float = 1.0,
) -> Breath:
    """The breath now. Columns by minute, oldest first: UTC ms, C (None: no reading), fan driven 0..1, the band, air
    outside (None: not known). events: of the cook. most: the most that the fan may be driven."""
    points = _needed(at, pit, fan, low, high, outside, list(events))
    if len(points) < LEAST:
        return Breath()
    best = min(sum(need for _, need in points[i : i + BEST]) / BEST for i in range(len(points) - BEST + 1))
    line = [(time, need) for time, need in points if time > now - LINE]
    if len(line) < LEAST or now - line[-1][0] > 3 * BUCKET:
        return Breath()
    slope, level, unsure = _line(line, now)
    share = min(1.0, best / max(level, 1e-3))
    found = Breath(share)
    if share > FALLEN or level < MUCH * most or slope < GONE_ON * unsure or slope <= 0.0:
        return found
    left = max(0.0, (most - level) / slope)
    if left > AHEAD:
        return found
    found.spent = now + int(left)
    found.knock_by = max(now, found.spent - TO_KNOCK)
    found.words = _words(found, now)
    return found


def _words(found: Breath, now: int) -> Said:
    answers = text("The fire answers its air with {share} of what it did", share=Share(found.share or 0.0))
    end = text("from about {spent} on the fan has nothing left to give", spent=Clock(found.spent))
    if found.knock_by <= now:
        return text("{answers}: ash is closing, or fuel ends. Knock the ash off now: {end}", answers=answers, end=end)
    return text(
        "{answers}: ash is closing, or fuel ends. Knock the ash off before {knock}: {end}",
        answers=answers, knock=Clock(found.knock_by), end=end,
    )  # fmt: skip


def _needed(
    at: Sequence[int], pit: Sequence[float | None], fan: Sequence[float], low: Sequence[float], high: Sequence[float],
    outside: Sequence[float | None], events: Sequence[Event],
) -> list[tuple[int, float]]:  # fmt: skip
    """(time, fan that the pit needed) by ten minutes, of this fire and its present band, as if the air outside stood as
    it does now; quiet minutes only."""
    if not at:
        return []
    begins = max((event.at for event in events if event.kind in MENDS), default=0)
    lids = sorted(event.at for event in events if event.kind in LIDS)
    band = (low[-1], high[-1])
    first = len(at)
    while first > 0 and (low[first - 1], high[first - 1]) == band:
        first -= 1
    middle = (band[0] + band[1]) / 2.0
    known = [value for value in outside if value is not None]
    present = known[-1] if known else None
    buckets: dict[int, list[float]] = {}
    settled, lid = 0, 0
    for i in range(first, len(at)):
        reading = pit[i]
        if at[i] <= begins or reading is None:
            continue
        if not settled:
            if reading >= band[0]:
                settled = at[i] + SETTLES
            continue
        while lid < len(lids) and lids[lid] <= at[i]:
            lid += 1
        busy = lid > 0 and at[i] < lids[lid - 1] + LID
        if busy or at[i] < settled or not band[0] - NEAR_C <= reading <= band[1] + NEAR_C:
            continue
        then = outside[i]
        scale = 1.0
        if present is not None and then is not None:
            scale = max(LEAST_K, middle - present) / max(LEAST_K, middle - then)
        buckets.setdefault(at[i] // BUCKET, []).append(fan[i] * scale)
    return [
        (number * BUCKET + BUCKET // 2, sum(values) / len(values))
        for number, values in sorted(buckets.items())
        if len(values) >= 4
    ]


def _line(points: Sequence[tuple[int, float]], now: int) -> tuple[float, float, float]:
    """(slope a ms, level now, standard error of the slope) of the median line through points (Theil and Sen: Sen,
    Journal of the American Statistical Association 63, 1968, 1379-1389): gusts in some of the points do not bend it."""
    slopes = [(later[1] - one[1]) / (later[0] - one[0]) for i, one in enumerate(points) for later in points[i + 1 :]]
    slope = median(slopes)
    level = median(need + slope * (now - time) for time, need in points)
    rests = [abs(need - level - slope * (time - now)) for time, need in points]
    middle = sum(time for time, _ in points) / len(points)
    wide = sum((time - middle) ** 2 for time, _ in points) ** 0.5
    return slope, level, 1.4826 * median(rests) / max(wide, 1.0)

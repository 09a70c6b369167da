"""What of a night stands where, whatever draws it: the time and the degrees that are shown, lines, bands, forecasts."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import ceil, inf

from tuyere.chart.axis import degree_step
from tuyere.chart.frame import EDGE, LIKELY, MINUTE, Frame, Picture
from tuyere.chart.history import History, Level
from tuyere.cook.ahead import Point
from tuyere.measures import TEMPERATURE

TEN, DAY = 10 * MINUTE, 24 * 60 * MINUTE
AFTER = 30 * MINUTE  # shown of a band to come, at least
BRIDGE = 30_000  # ms without a reading that still count as one line: a late cycle is no gap
Values = tuple[int, list[float], list[float]]  # a line, and its lowest and highest in each half column


def window(
    history: History, picture: Picture, forecast: Sequence[Point], columns: int, rows: int
) -> tuple[Frame, Level, list[tuple[int, int]], int]:
    """(a frame of the time that is shown, its degrees not set; the cycles at its resolution; which of them each half
    column has, none after the last cycle; the half column of now)."""
    until = max([0, *(at for at, *_ in forecast), *(at + AFTER for at, *_ in picture.ahead[1:])])
    start, half = time(history, picture.window, columns, until)
    level, frame = history.level(half), Frame(start, half, columns, rows, 0, 1)
    slots, now = frame.slots(level, history.start), int((history.end - start) / half)
    slots[now + 1 :] = [(0, 0)] * len(slots[now + 1 :])  # the last slot may end after the last cycle
    return frame, level, slots, now


def time(history: History, window: int, columns: int, until: int) -> tuple[float, float]:
    """(start, ms a half column). The end lies on a half column, so that columns do not shimmer as time goes on.
    The time ahead, up to `until`, is shown too, at most half as long as the window."""
    span = history.end - history.first
    reach = min(until, history.end + window // 2) if window else until
    if not window or span < window:
        start = (history.first // MINUTE) * MINUTE
        span = ceil(max(window, span, reach - start, TEN) / TEN) * TEN
        return start, span / (columns * 2)
    half = (window + ceil(max(0, reach - history.end) / TEN) * TEN) / (columns * 2)
    return (int(history.end / half) + 1) * half - window, half


def fans(forecast: Sequence[Point], frame: Frame, now: int) -> list[Values]:
    """The middle and the edges of each fan in the half columns after `now`, straight between its points."""
    count = frame.columns * 2
    out: list[Values] = []
    fan: list[list[float]] = []
    for first, second in pairwise(forecast):
        if second[0] <= first[0]:
            fan = []
            continue
        if not fan:
            fan = [[inf] * count for _ in range(3)]
            out += [(LIKELY if n == 1 else EDGE, low, []) for n, low in enumerate(fan)]
        for x in range(max(now + 1, ceil((first[0] - frame.start) / frame.half)), count):
            at = frame.start + x * frame.half
            if at > second[0]:
                break
            share = (at - first[0]) / (second[0] - first[0])
            for line, a, b in zip(fan, first[1:], second[1:], strict=True):
                line[x] = a + (b - a) * share
    return [(line, low, [-inf if v == inf else v for v in low]) for line, low, _ in out]


def bands(level: Level, slots: list[tuple[int, int]]) -> list[tuple[float, float] | None]:
    """The band (low, high) in each column, None where nothing was recorded."""
    out: list[tuple[float, float] | None] = []
    for (a, _), (_, b) in zip(slots[::2], slots[1::2], strict=True):
        found = None
        for i in range(b - 1, a - 1, -1):
            if level.high[i] > -inf:
                found = (level.low[i], level.high[i])
                break
        out.append(found)
    return out


def values(level: Level, line: int, slots: list[tuple[int, int]]) -> tuple[list[float], list[float]]:
    """Lowest and highest in each half column; lowest above highest where there is none."""
    lowest, highest = level.lowest[line], level.highest[line]
    return (
        [min(lowest[a:b]) if a < b else inf for a, b in slots],
        [max(highest[a:b]) if a < b else -inf for a, b in slots],
    )


def degrees(
    lines: list[Values],
    bands: list[tuple[float, float] | None],
    picture: Picture,
    rows: int,
) -> tuple[float, float]:
    """Degrees C at the upper and lower edge, on round numbers of the person's units."""
    lows = [b[0] for b in bands if b]
    highs = [b[1] for b in bands if b]
    if picture.near and lows:
        spread = max(highs) - min(lows)
        bottom, top = min(lows) - 1.5 * spread, max(highs) + 1.5 * spread
    else:
        bottom = min([*lows, *(min(low) for _, low, _ in lines)], default=0.0)
        top = max([*highs, *(max(high) for _, _, high in lines)], default=0.0)
    if not bottom <= top < inf:
        bottom, top = 0.0, 150.0
    low, high = TEMPERATURE.number(bottom, picture.units), TEMPERATURE.number(top, picture.units)
    step = degree_step(max(high - low, 10), rows, picture.units)
    fine = step / 2 if step >= 10 else step
    low, high = (low // fine) * fine, (high // fine + 1) * fine
    return TEMPERATURE.inside(high, picture.units), TEMPERATURE.inside(low, picture.units)

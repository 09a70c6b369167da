"""How a forecast narrowed, and what came: a small picture."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from tuyere.chart.axis import time_ticks
from tuyere.cook.say import clock
from tuyere.logbook.rows import Forecast

WIDTH, HEIGHT, LEFT, BELOW = 300, 120, 38, 18  # pixels


def narrowed(forecasts: Sequence[Forecast], done: int) -> str:
    """When each was shown, across; the time it gave for done, up; a line where it came. "" for fewer than two.

    `forecasts` are of one piece, oldest first; done: UTC ms, 0 if it was not noted.
    """
    shown = [one for one in forecasts if not done or one.at <= done]
    if len(shown) < 2:
        return ""
    first, last = shown[0].at, max(shown[-1].at, done)
    low = min([one.early for one in shown] + [done] * bool(done))
    high = max([one.late for one in shown] + [done] * bool(done))
    wide, tall = WIDTH - LEFT - 4, HEIGHT - BELOW - 4

    def x(at: int) -> float:
        return round(LEFT + wide * (at - first) / max(1, last - first), 1)

    def y(at: int) -> float:
        return round(4 + tall * (high - at) / max(1, high - low), 1)

    upper = [f"{x(one.at):g} {y(one.late):g}" for one in shown]
    lower = [f"{x(one.at):g} {y(one.early):g}" for one in reversed(shown)]
    likely = [f"{x(one.at):g} {y(one.likely):g}" for one in shown]
    parts = [
        f'<path class="soon" d="M{"L".join([*upper, *lower])}z"/>',
        f'<path class="line" d="M{"L".join(likely)}"/>',
    ]
    if done:
        parts.append(f'<path class="came" d="M{LEFT} {y(done):g}H{WIDTH - 4}"/>')
    parts += [
        f'<text x="{LEFT + at}" y="{HEIGHT - 4}" text-anchor="middle">{clock(utc)}</text>'
        for at, utc in time_ticks(first, last, wide, 60)
    ]
    parts += [
        f'<text x="{LEFT - 4}" y="{max(12, 4 + tall - up + 4):g}" text-anchor="end">{clock(utc)}</text>'
        for up, utc in time_ticks(low, high, tall, 26)
    ]
    words = escape("The finish as it was forecast: 10 to 90 % shaded, the likely time as a line, what came dashed")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="trend" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" '
        f'height="{HEIGHT}" role="img"><title>{words}</title>{"".join(parts)}</svg>'
    )

"""The trend as a picture in SVG (https://www.w3.org/TR/SVG2/): a pure function, the same scene as in the terminal.

It has no colours of its own: every part has a class, `rules` styles them, `variables` gives a palette. Nothing in it
runs, loads or links anything, and every text is escaped.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from math import ceil, inf

from tuyere.chart import layout
from tuyere.chart.axis import degree_step, time_ticks
from tuyere.chart.colours import Palette
from tuyere.chart.frame import DASHES, LIKELY, PIT, Picture
from tuyere.chart.history import History, Level
from tuyere.cook.ahead import Point
from tuyere.cook.say import clock, cut, midnight
from tuyere.measures import TEMPERATURE
from tuyere.printable import printable

Down = Callable[[float], float]  # a value in C, or a UTC ms -> pixels
STEP = 2  # pixels a half column
LEFT, BELOW, STRIP, LABEL = 34, 34, 30, 12  # pixels: degrees, marks and times, the fan, a line of text
MARK = 8  # pixels between letters under the plot
ROW = 18  # pixels a row of degrees, for the steps between labels
PER_LETTER = 6.6  # pixels, of a name at the right
NAMES = {"base": "base", "text": "text", "muted": "muted", "faint": "faint", "raised": "raised", "shade": "shade",
         "pit": "pit", "piece": "pieces", "fan": "fan", "fan-most": "fan_most", "hand": "hand", "urgent": "urgent",
         "urgent-text": "urgent_text"}  # fmt: skip


def escape(words: str) -> str:
    """As text of XML, which has no place for most control characters."""
    return html.escape(printable(words))


def variables(palette: Palette) -> str:
    """CSS custom properties of a palette: '--base:#1a1c1e;...'."""
    found = []
    for name, field in NAMES.items():
        value = getattr(palette, field)
        found.append(f"--{name}:{value[0] if isinstance(value, tuple) else value}")
    return ";".join(found)


def rules() -> str:
    """CSS for a picture; the properties of `variables` must be set around it."""
    dashes = "".join(f".trend .line{n}{{stroke-dasharray:{_dashes(n)}}}" for n in (1, 2, 3))
    return (
        ".trend{font:12px system-ui,sans-serif;background:var(--base)}"
        ".trend text{fill:var(--muted)}.trend .strong{fill:var(--text);font-weight:600}"
        ".trend .band{fill:var(--shade)}.trend .soon{fill:var(--shade);opacity:.5}"
        ".trend .grid{stroke:var(--faint)}.trend .now{stroke:var(--muted)}"
        ".trend .line{fill:none;stroke:var(--piece);stroke-width:1.5;stroke-linejoin:round}"
        ".trend .line0{stroke:var(--pit);stroke-width:2}"
        f"{dashes}.trend .likely{{fill:none;stroke:var(--muted);stroke-dasharray:{_dashes(LIKELY)}}}"
        ".trend .edge{fill:none;stroke:var(--fan);stroke-dasharray:1 4}"
        ".trend .fan{fill:var(--fan)}.trend .most{fill:var(--fan-most)}"
    )


def _dashes(line: int) -> str:
    """The pattern of a line in pixels, from that of the terminal."""
    return " ".join(str(len(list(run)) * STEP) for _, run in groupby(DASHES[line]))


def svg(history: History, picture: Picture, forecast: Sequence[Point] = ()) -> str:
    """The picture, `picture.width` x `picture.height` pixels. Its palette is not used."""
    width, height = max(200, picture.width), max(120, picture.height)
    body = "".join(_body(history, picture, forecast, width, height)) if history.cycles else (
        f'<text x="{width // 2}" y="{height // 2}" text-anchor="middle">no readings yet</text>'
    )  # fmt: skip
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="trend" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" role="img"><title>{escape(_words(history, picture))}</title>{body}</svg>'
    )


def _words(history: History, picture: Picture) -> str:
    """What the picture shows, for who cannot see it."""
    if not history.cycles:
        return "The trend: no readings yet"
    names = ", ".join(name for _, name in picture.lines)
    return f"The trend from {clock(history.first)} to {clock(history.end)}: the band, the fan, and {names}"


def _body(
    history: History, picture: Picture, forecast: Sequence[Point], width: int, height: int
) -> Iterator[str]:  # fmt: skip
    right = round(min(110.0, max(40.0, 10 + PER_LETTER * max(len(name) for _, name in picture.lines))))
    columns = (width - LEFT - right) // (2 * STEP)
    tall = height - BELOW - STRIP
    rows = max(4, tall // ROW)
    plain, level, slots, now = layout.window(history, picture, forecast, columns, rows)
    start, half = plain.start, plain.half
    past = layout.bands(level, slots)
    lines = [(line, *layout.values(level, line, slots)) for line, _ in picture.lines]
    fans = layout.fans(forecast, plain, now)
    ahead = [(low, high) for _, low, high in picture.ahead]
    top, bottom = layout.degrees([*lines, *fans], [*past, *ahead], picture, rows)
    scale = tall / (top - bottom)

    def down(value: float) -> float:
        return round(min(tall, max(0.0, (top - value) * scale)), 1)

    def across(at: float) -> float:
        return round(LEFT + (at - start) / half * STEP, 1)

    edge = LEFT + columns * 2 * STEP
    ticks = time_ticks(int(start), int(start + half * columns * 2), columns * 2 * STEP, 56)
    yield from (f'<path class="grid" d="M{LEFT + x} 0V{tall}"/>' for x, _ in ticks)
    yield from _bands(past, down)
    yield from _soon(picture, across, down, now * STEP + LEFT, edge)
    yield from _scale(past, picture, top, bottom, rows, down, edge)
    if fans or picture.ahead:
        yield f'<path class="now" d="M{LEFT + now * STEP} 0V{tall}"/>'
    for line, lowest, _ in fans:
        kind = "likely" if line == LIKELY else "edge"
        yield f'<path class="{kind}" d="{_line(lowest, lowest, 1, down)}"/>'
    bridge = max(1, ceil(layout.BRIDGE / half))
    for line, lowest, highest in sorted(lines, key=lambda one: -one[0]):  # the pit lies on top
        yield f'<path class="line line{line}" d="{_line(lowest, highest, bridge, down)}"/>'
    yield from _names(lines, picture, down, edge, tall)
    cells = {int(across(at) // MARK): letter for at, letter in sorted(picture.marks) if across(at) >= LEFT}
    for cell, letter in cells.items():  # two in one place show the later
        x = cell * MARK + MARK // 2
        if x <= edge:
            yield f'<text x="{x}" y="{tall + 13}" text-anchor="middle" class="strong">{escape(letter)}</text>'
    yield from _fan(level, slots, tall + BELOW, STRIP, edge)
    days = half * columns * 2 > layout.DAY
    for x, at in ticks:
        label = midnight(at) if days and clock(at) == "00:00" else clock(at)
        yield f'<text x="{LEFT + x}" y="{tall + 28}" text-anchor="middle">{label}</text>'


def _line(lowest: list[float], highest: list[float], bridge: int, down: Down) -> str:
    """The path of a line: up and down in each half column, broken where there is no reading."""
    parts, last = [], -(10**9)
    for i, low in enumerate(lowest):
        high = highest[i]
        if low > high or low == inf:
            continue
        a, b = down(high), down(low)
        x = LEFT + i * STEP
        parts.append(f"{'L' if i - last <= bridge else 'M'}{x} {a:g}" + (f"V{b:g}" if b - a >= 1 else ""))
        last = i
    if len(parts) == 1:
        parts.append("h1")  # a single reading shows, too
    return "".join(parts)


def _bands(past: list[tuple[float, float] | None], down: Down) -> Iterator[str]:
    x = LEFT
    for band, run in groupby(past):
        wide = len(list(run)) * 2 * STEP
        if band is not None:
            y, end = down(band[1]), down(band[0])
            yield f'<rect class="band" x="{x}" y="{y:g}" width="{wide}" height="{max(1.0, end - y):g}"/>'
        x += wide


def _soon(picture: Picture, across: Down, down: Down, now: int, edge: int) -> Iterator[str]:
    """The bands to come."""
    begins = [max(now, across(at)) for at, _, _ in picture.ahead] + [edge]
    for i, (_, low, high) in enumerate(picture.ahead):
        a, b = begins[i], min(edge, begins[i + 1])
        y, end = down(high), down(low)
        if b > a:
            yield f'<rect class="soon" x="{a:g}" y="{y:g}" width="{b - a:g}" height="{max(1.0, end - y):g}"/>'


def _scale(
    past: list[tuple[float, float] | None], picture: Picture, top: float, bottom: float, rows: int, down: Down,
    edge: int,
) -> Iterator[str]:  # fmt: skip
    """Degrees at the left: the edges of the present band stand out, round degrees where they leave room."""
    units = picture.units
    taken: list[float] = []
    band = next((b for b in reversed(past) if b), None)
    for value in (band[1], band[0]) if band else ():
        y = down(value)
        if all(abs(y - other) >= LABEL for other in taken):
            taken.append(y)
            yield _label(y, f"{TEMPERATURE.number(value, units):.0f}", "strong")
    low, high = TEMPERATURE.number(bottom, units), TEMPERATURE.number(top, units)
    step = degree_step(high - low, rows, units)
    for round_value in range(ceil(low / step) * step, int(high) + 1, step):
        y = down(TEMPERATURE.inside(round_value, units))
        if all(abs(y - other) >= LABEL for other in taken):
            taken.append(y)
            yield _label(y, f"{round_value}", "degree")
            yield f'<path class="grid" d="M{LEFT} {y:g}H{edge}"/>'


def _label(y: float, words: str, kind: str) -> str:
    return f'<text class="{kind}" x="{LEFT - 5}" y="{max(10.0, y + 4):g}" text-anchor="end">{words}</text>'


def _names(
    lines: list[layout.Values], picture: Picture, down: Down, edge: int, tall: int
) -> Iterator[str]:  # fmt: skip
    """Names at the right, each beside the end of its line, none over another."""
    wanted = []
    for (line, lowest, highest), (_, name) in zip(lines, picture.lines, strict=True):
        last = next((i for i in range(len(lowest) - 1, -1, -1) if lowest[i] <= highest[i]), None)
        if last is not None:
            wanted.append((down((lowest[last] + highest[last]) / 2), line, name))
    placed: list[float] = []
    for y, line, name in sorted(wanted, key=lambda one: (one[1] != PIT, one[0])):
        tries = (y + side * LABEL * step for step in range(9) for side in ((1,) if not step else (1, -1)))
        at = next((t for t in tries if LABEL - 2 <= t <= tall and all(abs(t - p) >= LABEL for p in placed)), y)
        placed.append(at)
        kind = ' class="strong"' if line == PIT else ""
        yield f'<text{kind} x="{edge + 5}" y="{at + 4:g}">{escape(cut(name, 16))}</text>'


def _fan(level: Level, slots: list[tuple[int, int]], y: int, tall: int, edge: int) -> Iterator[str]:
    """Bars of the mean demand, and of the highest in a lighter tone, as one path each."""
    most, mean = [], []
    for column, ((a, _), (_, b)) in enumerate(zip(slots[::2], slots[1::2], strict=True)):
        if count := sum(level.fan_count[a:b]):
            x = LEFT + column * 2 * STEP
            top = max(level.fan_most[a:b]) * tall
            bar = max(1.0, sum(level.fan_sum[a:b]) / count * tall)  # off and not recorded differ
            most.append(f"M{x} {y + tall}v{-round(top, 1):g}h{2 * STEP}v{round(top, 1):g}z")
            mean.append(f"M{x} {y + tall}v{-round(bar, 1):g}h{2 * STEP}v{round(bar, 1):g}z")
    yield f'<path class="most" d="{"".join(most)}"/><path class="fan" d="{"".join(mean)}"/>'
    yield f'<text x="{edge + 5}" y="{y + tall}">fan %</text>'


SAMPLE = 34  # pixels


def sample(line: int) -> str:
    """A short piece of a line, for a list: 0 the pit, 1 to 3 a probe."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="trend sample" viewBox="0 0 {SAMPLE} 8" width="{SAMPLE}" '
        f'height="8" aria-hidden="true"><path class="line line{line}" d="M0 4H{SAMPLE}"/></svg>'
    )

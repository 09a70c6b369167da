"""The trend chart: a pure function from data and size to cells. No Textual in here.

Two layers are merged once. Behind: the band as background shade, its edges to an eighth of a row,
and the time grid; a band to come is shaded in every second column. In front: lines as braille dots
(two columns by four rows a cell), each half column from its lowest to its highest value and joined
to the last, so that no spike vanishes. The pit is a solid line. The pieces differ by the
pattern of their lines and by name. The fan has a strip of its own below. Where there is no reading,
there is no line. A forecast fans out to the right of now in thin dots, its middle denser than its
edges.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from tuyere.chart import fan_strip, layout, margins
from tuyere.chart.axis import time_ticks
from tuyere.chart.colours import Palette
from tuyere.chart.frame import DASHES, LEFT, LETTERS, LIKELY, PIT, Frame, Ink, Picture, Row, joined
from tuyere.chart.history import History
from tuyere.chart.layout import BRIDGE, DAY, Values
from tuyere.cook.ahead import Point
from tuyere.cook.say import cut

WASTE = 1.15  # times the degrees a row that are needed: what the lower edge of the band may cost
EIGHTHS = " ▁▂▃▄▅▆▇█"

# Four dots of a half column, top to bottom, as bits of a braille cell.
_LEFT_DOTS = (0x01, 0x02, 0x04, 0x40)
_RIGHT_DOTS = (0x08, 0x10, 0x20, 0x80)
_LEFT_BITS = [sum(bit for i, bit in enumerate(_LEFT_DOTS) if n >> i & 1) for n in range(16)]
_RIGHT_BITS = [sum(bit for i, bit in enumerate(_RIGHT_DOTS) if n >> i & 1) for n in range(16)]


def draw(history: History, picture: Picture, forecast: Sequence[Point] = ()) -> list[Row]:
    """Cells of the whole chart, `height` rows of runs that add up to `width` columns each.

    `forecast` are points in order of time; one that is not later than the one before begins another fan.
    """
    palette, width, height = picture.palette, picture.width, picture.height
    if width < 24 or height < 5:
        return _message("", width, height, palette)
    if not history.cycles:
        return _message("no readings yet", width, height, palette)
    right = max(7, min(14, width // 6, 2 + max(len(name) for _, name in picture.lines)))
    columns = width - LEFT - right
    strip = 1 if height < 12 else 2 if height < 18 else 3
    rows = height - strip - 2
    plain, level, slots, now = layout.window(history, picture, forecast, columns, rows)
    start, half = plain.start, plain.half
    past = layout.bands(level, slots)
    bands = _to_come(past, picture, plain, now // 2)
    lines = [(line, *layout.values(level, line, slots)) for line, _ in picture.lines]
    fans = layout.fans(forecast, plain, now)
    top, bottom = layout.degrees([*lines, *fans], bands, picture, rows)
    top, per_row = _settle(top, bottom, rows, past)
    frame = Frame(start, half, columns, rows, top, per_row)

    ticks = time_ticks(int(start), int(start + half * columns * 2), columns)
    back = _behind(frame, bands, {c for c, _ in ticks}, palette)
    if fans or picture.ahead:
        back[now // 2] = tuple(_rule(cell, palette) for cell in back[now // 2])
    cells = _ink(frame, [*fans, *lines])
    left = margins.scale(frame, past, picture)
    names = margins.names(frame, lines, picture, right)
    out = [
        [left[r], *_merge(r, back, cells, palette), names[r]]
        for r in range(rows)
    ]  # fmt: skip
    out.append(margins.marks(frame, picture, left[rows], right))
    out += fan_strip.draw(level, slots, strip, LEFT, right, palette)
    out.append(margins.times(ticks, columns, right, palette, half * columns * 2 > DAY))
    return out


def _message(words: str, width: int, height: int, palette: Palette) -> list[Row]:
    blank: Row = [(" " * width, (palette.muted, palette.base, False))]
    rows = [list(blank) for _ in range(height)]
    if height:
        rows[height // 2] = [(cut(words, width).center(width), (palette.muted, palette.base, False))]
    return rows


def _to_come(
    past: list[tuple[float, float] | None], picture: Picture, frame: Frame, now: int
) -> list[tuple[float, float] | None]:
    """The bands of the past with those to come: in every second column after `now`, so that they look planned."""
    out = list(past)
    for column in range(now + 1, len(past)):
        at = frame.start + (2 * column + 1) * frame.half
        found = next(((low, high) for begin, low, high in reversed(picture.ahead) if begin <= at), None)
        out[column] = found if column % 2 else None
    return out


def _settle(top: float, bottom: float, rows: int, bands: list[tuple[float, float] | None]) -> tuple[float, float]:
    """(top, degrees a row) over at least `bottom` to `top`, so that the present band begins with a row, and ends
    with one if it has two or more: a line over half a cell of shade would make the band's edge ragged. Where that would
    leave much of the chart empty, only its upper edge is settled. Below its first row there is another one, for the
    label of its lower edge."""
    per_row = (top - bottom) / rows
    band = next((b for b in reversed(bands) if b), None)
    if band is None or not bottom < band[0] < band[1] <= top:
        return top, per_row
    low, high = band
    per_row, above = min((max((high - bottom) / (rows - k), (top - high) / k), k) for k in range(1, max(2, rows - 1)))
    whole = int((high - low) / per_row)
    if whole >= 2 and (high - low) / whole <= WASTE * per_row:
        per_row = (high - low) / whole
    return high + above * per_row, per_row


def _behind(
    frame: Frame, bands: list[tuple[float, float] | None], ticks: set[int], palette: Palette
) -> list[tuple[tuple[str, Ink, str | None], ...]]:
    """For each column its cells from the top: glyph, ink, and the background a line in this cell gets."""
    known: dict[tuple[int, int, bool], tuple[tuple[str, Ink, str | None], ...]] = {}
    out = []
    for column, band in enumerate(bands):
        if band is None:
            high = low = -1
        else:
            high, low = frame.eighth(band[1]), frame.eighth(band[0])
        key = (high, low, column in ticks)
        if key not in known:
            known[key] = tuple(_shade(r * 8, high, low, key[2], palette) for r in range(frame.rows))
        out.append(known[key])
    return out


def _shade(cell: int, high: int, low: int, tick: bool, palette: Palette) -> tuple[str, Ink, str | None]:
    """One cell of the layer behind; `high`, `low` are the band's edges, `cell` the cell's top, in eighths."""
    covered = min(cell + 8, low) - max(cell, high)
    if palette.colourless or palette.ascii:
        if covered >= 4:
            return (":" if palette.ascii else "░"), (palette.faint, palette.base, False), palette.base
        return " ", (palette.faint, palette.base, False), palette.base
    if covered <= 0:
        return ("┊" if tick else " "), (palette.faint, palette.base, False), palette.base
    if covered >= 8:
        return ("┊" if tick else " "), (palette.base, palette.shade, False), palette.shade
    # A band thinner than a row lies in the cell that has most of it.
    behind = palette.shade if covered >= 4 or 2 * covered >= low - high else palette.base
    if cell < high:  # the upper edge: the lower part of the cell is in the band
        return EIGHTHS[min(8, cell + 8 - high)], (palette.shade, palette.base, False), behind
    return EIGHTHS[cell + 8 - low], (palette.base, palette.shade, False), behind


def _rule(cell: tuple[str, Ink, str | None], palette: Palette) -> tuple[str, Ink, str | None]:
    """The cell with the line of now in it."""
    return ("|" if palette.ascii else "│"), (palette.muted, cell[2], False), cell[2]


def _ink(frame: Frame, lines: list[Values]) -> dict[int, tuple[int, int]]:
    """Braille bits and line number by cell (row * columns + column); the pit is drawn last and lies on top."""
    cells: dict[int, tuple[int, int]] = {}
    dots = frame.rows * 4
    scale = 4 / frame.per_row
    bridge = max(1, ceil(BRIDGE / frame.half))
    phase = int(frame.start / frame.half)
    for line, lowest, highest in sorted(lines, key=lambda entry: (entry[0] >= 0, -entry[0])):
        dash = DASHES[line]
        last, from_, to = -(10**9), 0, 0
        for x, low in enumerate(lowest):
            high = highest[x]
            if low > high:
                continue
            a, b = int((frame.top - high) * scale), int((frame.top - low) * scale)
            upper, lower = a, b
            if x - last <= bridge:  # join to the half column before
                if a > to + 1:
                    upper = to + 1
                elif b < from_ - 1:
                    lower = from_ - 1
            last, from_, to = x, a, b
            if lower < 0 or upper >= dots or not (dash[(x + phase) % 8] or lower - upper > 3):
                continue
            upper, lower = max(0, upper), min(dots - 1, lower)
            bits = _RIGHT_BITS if x & 1 else _LEFT_BITS
            run = (2 << lower) - (1 << upper)
            for row in range(upper >> 2, (lower >> 2) + 1):
                key = row * frame.columns + (x >> 1)
                cells[key] = (cells.get(key, (0, 0))[0] | bits[run >> row * 4 & 15], line)
    return cells


def _merge(
    row: int, back: list[tuple[tuple[str, Ink, str | None], ...]], cells: dict[int, tuple[int, int]], palette: Palette
) -> Row:
    """One row of both layers as runs of one ink."""
    cell = []
    for at, column in enumerate(back, row * len(back)):
        glyph, ink, behind = column[row]
        dots = cells.get(at)
        if dots is not None:
            bits, line = dots
            glyph = LETTERS[line] if palette.ascii else chr(0x2800 + bits)
            ink = (_colour(line, palette), behind, line == PIT)
        cell.append((glyph, ink))
    return joined(cell)


def _colour(line: int, palette: Palette) -> str | None:
    if line < PIT:
        return palette.muted if line == LIKELY else palette.fan
    return palette.pit if line == PIT else palette.pieces[line - 1]

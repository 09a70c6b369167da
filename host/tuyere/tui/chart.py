"""The trend chart: a pure function from data and size to cells. No Textual in here.

Two layers are merged once. Behind: the band as background shade, its edges to an eighth of a row,
and the time grid. In front: lines as braille dots (two columns by four rows a cell), each half
column from its lowest to its highest value and joined to the last, so that no spike vanishes.
The pit is a whole line, the pieces are told apart by the pattern of their line and by name. The
fan has a strip of its own below. No reading, no line.
"""

from __future__ import annotations

from math import ceil, inf

from tuyere.tui import fan_strip, margins
from tuyere.tui.axis import degree_step, time_ticks
from tuyere.tui.colours import Palette
from tuyere.tui.frame import DASHES, LEFT, LETTERS, PIT, Frame, Ink, Picture, Row
from tuyere.tui.history import History, Level
from tuyere.tui.say import cut
from tuyere.tui.units import celsius, shown

MINUTE = 60_000
BRIDGE = 30_000  # ms without a reading that still count as one line: a late cycle is no gap
EIGHTHS = " ▁▂▃▄▅▆▇█"

# Four dots of a half column, top to bottom, as bits of a braille cell.
_LEFT_DOTS = (0x01, 0x02, 0x04, 0x40)
_RIGHT_DOTS = (0x08, 0x10, 0x20, 0x80)
_LEFT_BITS = [sum(bit for i, bit in enumerate(_LEFT_DOTS) if n >> i & 1) for n in range(16)]
_RIGHT_BITS = [sum(bit for i, bit in enumerate(_RIGHT_DOTS) if n >> i & 1) for n in range(16)]


def draw(history: History, picture: Picture) -> list[Row]:
    """Cells of the whole chart, `height` rows of runs that add up to `width` columns each."""
    palette, width, height = picture.palette, picture.width, picture.height
    if width < 24 or height < 5:
        return _message("", width, height, palette)
    if not history.cycles:
        return _message("no readings yet", width, height, palette)
    right = max(7, min(14, width // 6, 2 + max(len(name) for _, name in picture.lines)))
    columns = width - LEFT - right
    strip = 1 if height < 12 else 2 if height < 18 else 3
    rows = height - strip - 2
    start, half = _time(history, picture.window, columns)
    level = history.level(half)
    plain = Frame(start, half, columns, rows, 0, 1)
    slots = plain.slots(level, history.start)
    bands = _bands(level, slots)
    lines = [(line, *_values(level, line, slots)) for line, _ in picture.lines]
    top, bottom = _degrees(lines, bands, picture, rows)
    top, per_row = _settle(top, bottom, rows, bands)
    frame = Frame(start, half, columns, rows, top, per_row)

    ticks = time_ticks(int(start), int(start + half * columns * 2), columns)
    back = _behind(frame, bands, {c for c, _ in ticks}, palette)
    cells = _ink(frame, level, lines)
    left = margins.scale(frame, bands, picture)
    names = margins.names(frame, lines, picture, right)
    out = [
        [left[r], *_merge(r, back, cells, palette), names[r]]
        for r in range(rows)
    ]  # fmt: skip
    out.append(margins.marks(frame, picture, right))
    out += fan_strip.draw(level, slots, strip, LEFT, right, palette)
    out.append(margins.times(ticks, columns, right, palette))
    return out


def _message(words: str, width: int, height: int, palette: Palette) -> list[Row]:
    blank: Row = [(" " * width, (palette.muted, palette.base, False))]
    rows = [list(blank) for _ in range(height)]
    if height:
        rows[height // 2] = [(cut(words, width).center(width), (palette.muted, palette.base, False))]
    return rows


def _time(history: History, window: int, columns: int) -> tuple[float, float]:
    """(start, ms a half column); the end lies on a half column, so that columns do not shimmer as time goes on."""
    span = history.end - history.first
    if not window or span < window:
        span = window or ceil(max(span, 10 * MINUTE) / (10 * MINUTE)) * 10 * MINUTE
        half = span / (columns * 2)
        return (history.first // MINUTE) * MINUTE, half
    half = window / (columns * 2)
    return (int(history.end / half) + 1) * half - window, half


def _bands(level: Level, slots: list[tuple[int, int]]) -> list[tuple[float, float] | None]:
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


def _values(level: Level, line: int, slots: list[tuple[int, int]]) -> tuple[list[float], list[float]]:
    """Lowest and highest in each half column; lowest above highest where there is none."""
    lowest, highest = level.lowest[line], level.highest[line]
    return (
        [min(lowest[a:b]) if a < b else inf for a, b in slots],
        [max(highest[a:b]) if a < b else -inf for a, b in slots],
    )


def _degrees(
    lines: list[tuple[int, list[float], list[float]]],
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
    low, high = shown(bottom, picture.units), shown(top, picture.units)
    step = degree_step(max(high - low, 10), rows, picture.units)
    fine = step / 2 if step >= 10 else step
    low, high = (low // fine) * fine, (high // fine + 1) * fine
    return celsius(high, picture.units), celsius(low, picture.units)


def _settle(top: float, bottom: float, rows: int, bands: list[tuple[float, float] | None]) -> tuple[float, float]:
    """(top, degrees a row) over at least `bottom` to `top`, so that the present band begins with a row, and ends
    with one if it has two or more: a line over half a cell of shade would make the band's edge ragged."""
    per_row = (top - bottom) / rows
    band = next((b for b in reversed(bands) if b), None)
    if band is None or not bottom < band[0] < band[1] <= top:
        return top, per_row
    low, high = band
    per_row, above = min((max((high - bottom) / (rows - k), (top - high) / k), k) for k in range(1, rows))
    whole = int((high - low) / per_row)
    if whole >= 2:
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
            high = round((frame.top - band[1]) / frame.per_row * 8)
            low = round((frame.top - band[0]) / frame.per_row * 8)
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


def _ink(frame: Frame, level: Level, lines: list[tuple[int, list[float], list[float]]]) -> dict[int, tuple[int, int]]:
    """Braille bits and line number by cell (row * columns + column); the pit is drawn last and lies on top."""
    cells: dict[int, tuple[int, int]] = {}
    dots = frame.rows * 4
    scale = 4 / frame.per_row
    bridge = max(1, ceil(BRIDGE / frame.half))
    phase = int(frame.start / frame.half)
    for line, lowest, highest in sorted(lines, key=lambda entry: -entry[0]):
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
    runs: Row = []
    text, ink = "", None
    at = row * len(back)
    for column in back:
        glyph, new, behind = column[row]
        dots = cells.get(at)
        if dots is not None:
            bits, line = dots
            glyph = LETTERS[line] if palette.ascii else chr(0x2800 + bits)
            new = (palette.pit if line == PIT else palette.pieces[line - 1], behind, line == PIT)
        if new == ink:
            text += glyph
        else:
            if ink is not None:
                runs.append((text, ink))
            text, ink = glyph, new
        at += 1
    if ink is not None:
        runs.append((text, ink))
    return runs

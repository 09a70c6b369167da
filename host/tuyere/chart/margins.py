"""What stands around the plot: degrees at the left, names at the right, marks and clock times below."""

from __future__ import annotations

from math import ceil, floor

from tuyere.chart.axis import degree_step
from tuyere.chart.colours import Palette
from tuyere.chart.frame import LEFT, LETTERS, PIT, Frame, Ink, Picture, Row
from tuyere.cook.say import clock, cut, midnight
from tuyere.measures import TEMPERATURE


def scale(frame: Frame, bands: list[tuple[float, float] | None], picture: Picture) -> list[tuple[str, Ink]]:
    """Degrees along the left, a label a row and one for the row below; the edges of the present band stand out and push
    others aside, and something stands below them: round degrees, else the lowest there is."""
    palette, units = picture.palette, picture.units
    muted: Ink = (palette.muted, palette.base, False)
    strong: Ink = (palette.text, palette.base, True)
    out = [(" " * LEFT, muted)] * (frame.rows + 1)
    taken: set[int] = set()
    band, lowest = next((b for b in reversed(bands) if b), None), -1
    if band:
        high, low = frame.eighth(band[1]) // 8, (frame.eighth(band[0]) - 1) // 8  # the first and the last shaded row
        for value, row in ((band[1], high), (band[0], max(low, high + 1))):  # a band within one row ends above the next
            if 0 <= row <= frame.rows:
                out[row] = (f"{TEMPERATURE.number(value, units):3.0f} ", strong)
                taken |= {row}
                lowest = row
        taken |= {row + beside for row in taken for beside in (-1, 1)}
    bottom = TEMPERATURE.number(frame.top - frame.per_row * frame.rows, units)
    top = TEMPERATURE.number(frame.top, units)
    step = degree_step(top - bottom, frame.rows, units)
    for apart in (step, step // 2):
        for value in range(ceil(bottom / apart) * apart, floor(top) + 1, apart):
            row = min(frame.rows - 1, frame.eighth(TEMPERATURE.inside(value, units)) // 8)
            if row not in taken:
                out[row] = (f"{value:3.0f} ", muted)
        if any(text.strip() for text, _ in out[lowest + 1 :]):
            return out
    if lowest < frame.rows:
        out[-1] = (f"{bottom:3.0f} ", muted)  # the lower edge of the plot
    return out


def names(
    frame: Frame, lines: list[tuple[int, list[float], list[float]]], picture: Picture, right: int
) -> list[tuple[str, Ink]]:
    """Names at the right, each beside the end of its line, none over another."""
    palette = picture.palette
    out = [(" " * right, (palette.muted, palette.base, False))] * frame.rows
    wanted = []
    for (line, lowest, highest), (_, name) in zip(lines, picture.lines, strict=True):
        last = next((i for i in range(len(lowest) - 1, -1, -1) if lowest[i] <= highest[i]), None)
        if last is None:
            continue
        row = (frame.top - (lowest[last] + highest[last]) / 2) / frame.per_row
        arrow = "" if 0 <= row < frame.rows else ("^" if row < 0 else "v") if palette.ascii else "↑" if row < 0 else "↓"
        wanted.append((min(frame.rows - 1.0, max(0.0, row)), line, arrow + name))
    taken: set[int] = set()
    for row, line, name in sorted(wanted, key=lambda w: (w[1] != PIT, w[0])):
        free = [r for r in range(frame.rows) if r not in taken]
        if not free:
            break
        at = min(free, key=lambda r: (abs(r - int(row)), -r))
        taken.add(at)
        letter = LETTERS[line] if palette.ascii else ""
        text = " " + cut(letter + name, right - 1).ljust(right - 1)
        colour = palette.pit if line == PIT else palette.pieces[line - 1]
        out[at] = (text, (colour, palette.base, line == PIT))
    return out


def marks(frame: Frame, picture: Picture, left: tuple[str, Ink], right: int) -> Row:
    """Letters under the plot where something happened; two in one column show the later. `left` stands before them."""
    palette = picture.palette
    letters = [" "] * frame.columns
    for at, letter in sorted(picture.marks):
        column = frame.column(at)
        if frame.start <= at and column < frame.columns:
            letters[column] = letter
    margin: Ink = (palette.muted, palette.base, False)
    text: Ink = (palette.text, palette.base, False)
    return [left, ("".join(letters), text), (" " * right, margin)]


def times(ticks: list[tuple[int, int]], columns: int, right: int, palette: Palette, days: bool) -> Row:
    """Clock times, each centred under its tick where there is room; with `days` midnight is called by its day."""
    line = [" "] * (LEFT + columns + right)
    for column, at in ticks:
        label = clock(at)
        if days and label == "00:00":
            label = midnight(at)
        begin = LEFT + column - len(label) // 2
        if begin >= 0 and begin + len(label) <= len(line):
            line[begin : begin + len(label)] = label
    return [("".join(line), (palette.muted, palette.base, False))]

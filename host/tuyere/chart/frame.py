"""What the parts of the chart share: what to draw, and where things are in it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tuyere.chart.colours import Palette
from tuyere.chart.history import Level

Ink = tuple[str | None, str | None, bool]  # colour, background, bold
Row = list[tuple[str, Ink]]


MINUTE = 60_000
LEFT = 4
PIT, LIKELY, EDGE = 0, -1, -2  # lines: 1 to 3 are the meat probes, below 0 the middle and the edges of a forecast
# Which of eight half columns carry ink; the pit is solid.
DASHES: dict[int, tuple[int, ...]] = {
    0: (1, 1, 1, 1, 1, 1, 1, 1),
    1: (1, 1, 1, 1, 1, 0, 0, 0),
    2: (1, 0, 1, 0, 1, 0, 1, 0),
    3: (1, 1, 1, 1, 0, 1, 0, 0),
    LIKELY: (1, 1, 0, 0, 1, 1, 0, 0),
    EDGE: (0, 0, 0, 1, 0, 0, 0, 1),
}
SAMPLES = {0: "━━━━", 1: "━━ ━", 2: "┅┅┅┅", 3: "━╸╺━"}
LETTERS = {0: "*", 1: "+", 2: "x", 3: "o", LIKELY: "-", EDGE: "."}  # where only ASCII can be shown


def joined(cells: Iterable[tuple[str, Ink]]) -> Row:
    """Cells in a row as runs of one ink."""
    runs: Row = []
    text, ink = "", None
    for glyph, new in cells:
        if new == ink:
            text += glyph
        else:
            if ink is not None:
                runs.append((text, ink))
            text, ink = glyph, new
    if ink is not None:
        runs.append((text, ink))
    return runs


@dataclass(frozen=True)
class Picture:
    """What to draw: size in cells, window in ms (0: all), lines as (number, name), marks as (ms, one letter)."""

    width: int
    height: int
    palette: Palette
    units: str = "F"
    window: int = 0
    lines: Sequence[tuple[int, str]] = ((0, "pit"),)
    marks: Sequence[tuple[int, str]] = ()
    near: bool = False  # only what is near the band, large
    ahead: Sequence[tuple[int, float, float]] = ()  # bands to come: from this UTC ms on, low and high in C


@dataclass(frozen=True)
class Frame:
    """Where things are: columns of time, rows of degrees."""

    start: float
    half: float  # ms a half column
    columns: int
    rows: int
    top: float  # degrees C at the upper edge
    per_row: float  # degrees C a row

    def column(self, at: float) -> int:
        return int((at - self.start) / self.half) // 2

    def eighth(self, value: float) -> int:
        """Where a value in C lies, in eighths of a row from the top; one rounding for shade and labels alike."""
        return round((self.top - value) / self.per_row * 8)

    def slots(self, level: Level, origin: int) -> list[tuple[int, int]]:
        """For each half column the slots (from, to) that overlap it."""
        first, scale, most = (self.start - origin) / level.width, self.half / level.width, level.count
        edges = [int(first + i * scale) for i in range(self.columns * 2 + 1)]
        return [(max(0, a), min(most, max(a + 1, b))) for a, b in pairwise(edges)]

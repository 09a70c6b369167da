"""The fan's strip under the chart: bars of the mean demand, and of the highest in a lighter tone."""

from __future__ import annotations

from tuyere.chart.colours import Palette
from tuyere.chart.frame import Ink, Row, joined
from tuyere.chart.history import Level

EIGHTHS = " ▁▂▃▄▅▆▇█"


def draw(level: Level, slots: list[tuple[int, int]], rows: int, left: int, right: int, palette: Palette) -> list[Row]:
    """`rows` rows of runs; a column stands for two half columns of `slots`. Without a cycle there is no bar."""
    bars: list[tuple[int, int] | None] = []
    full = rows * 8
    for (a, _), (_, b) in zip(slots[::2], slots[1::2], strict=True):
        count = sum(level.fan_count[a:b])
        if not count:
            bars.append(None)
            continue
        mean = sum(level.fan_sum[a:b]) / count
        bars.append((round(mean * full), round(max(level.fan_most[a:b]) * full)))
    margin: Ink = (palette.muted, palette.base, False)
    out: list[Row] = []
    for row in range(rows):
        floor = (rows - 1 - row) * 8
        label = "" if rows == 1 else "100" if row == 0 else "0" if row == rows - 1 else ""
        name = " fan %" if row == rows - 1 else ""
        runs: Row = [(label.rjust(left - 1) + " ", margin)]
        runs += joined(_cell(bar, floor, palette) for bar in bars)
        runs.append((name.ljust(right)[:right], margin))
        out.append(runs)
    return out


def _cell(bar: tuple[int, int] | None, floor: int, palette: Palette) -> tuple[str, Ink]:
    if bar is None:
        return " ", (palette.fan, palette.base, False)
    mean, most = bar
    fill = min(8, max(0, mean - floor))
    if floor == 0 and fill == 0:
        fill = 1  # the fan is off: a base line, so that "off" and "not recorded" differ
    if palette.ascii:
        return (" ._-=+*##"[fill]), (palette.fan, palette.base, False)
    behind = palette.fan_most if most - floor >= 4 else palette.base
    return EIGHTHS[fill], (palette.fan, behind, False)

"""How long the trend takes to draw: 43,200 cycles (24 h) of a pit and three probes at 120x35.

Against a naive chart in the same run (it looks at every cycle of every line for each redraw), because
milliseconds differ from machine to machine and their ratio does not much. The aim is 5 ms.

    python tests/bench/chart.py [--smoke]      # --smoke: few repeats, and an exit code
"""

from __future__ import annotations

import json
import random
import statistics
import sys
import time
from collections.abc import Callable

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from tuyere.chart.colours import DARK
from tuyere.chart.draw import draw
from tuyere.chart.frame import LEFT, Ink, Picture, Row
from tuyere.chart.history import History
from tuyere.cook.snapshot import Trend

CYCLES, WIDTH, HEIGHT = 43_200, 120, 35
AIM_MS = 5.0
LEAST_RATIO = 8.0  # of a drawing that looks at every cycle; about 20 on the machine this was written on
LINES = ((0, "pit"), (1, "flat"), (2, "point"), (3, "small"))


def cook() -> Trend:
    """A day: a climb, noise, dips and three slow pieces."""
    rng = random.Random(1)
    out = Trend(cook=1, last=CYCLES)
    for i in range(CYCLES):
        out.at.append(1_781_380_800_000 + i * 2000)
        out.pit.append(min(20 + i * 0.05, 128.0) + rng.gauss(0, 1.5) - (20 if i % 3600 < 40 and i > 7000 else 0))
        out.fan.append(min(1.0, max(0.0, 0.35 + rng.gauss(0, 0.1))))
        out.low.append(121.1)
        out.high.append(135.0)
        for n, column in enumerate((out.meat_1, out.meat_2, out.meat_3)):
            column.append(5 + i * (0.0021 - n * 0.0003) + rng.gauss(0, 0.2))
    return out


def naive(columns: Trend) -> list[str]:
    """Braille lines from all cycles: what one writes first."""
    width, rows = (WIDTH - LEFT - 8) * 2, HEIGHT - 5
    start, end = columns.at[0], columns.at[-1] + 1
    dots = [[0] * (width // 2) for _ in range(rows)]
    left, right = (0x01, 0x02, 0x04, 0x40), (0x08, 0x10, 0x20, 0x80)
    for line in (columns.meat_3, columns.meat_2, columns.meat_1, columns.pit):
        for at, value in zip(columns.at, line, strict=True):
            if value is None:
                continue
            x = (at - start) * width // (end - start)
            y = int((150 - value) / 150 * rows * 4)
            if 0 <= y < rows * 4:
                dots[y // 4][x // 2] |= (right if x & 1 else left)[y % 4]
    return ["".join(chr(0x2800 + bits) for bits in row) for row in dots]


def milliseconds(what: Callable[[], object], times: int) -> float:
    """Median of `times` runs."""
    took = []
    for _ in range(times):
        begin = time.perf_counter()
        what()
        took.append((time.perf_counter() - begin) * 1e3)
    return statistics.median(took)


def main() -> int:
    smoke = "--smoke" in sys.argv
    columns, history = cook(), History()
    load = milliseconds(lambda: (history.clear(), history.add(columns)), 1 if smoke else 5)
    styles: dict[Ink, Style] = {}

    def style(ink: Ink) -> Style:
        if ink not in styles:
            styles[ink] = Style(color=ink[0], bgcolor=ink[1], bold=ink[2])
        return styles[ink]

    def strips(rows: list[Row]) -> list[Strip]:
        return [Strip([Segment(text, style(ink)) for text, ink in row], WIDTH) for row in rows]

    found: dict[str, float] = {"cycles": CYCLES, "load_ms": load}
    repeats = 5 if smoke else 60
    for name, window in (("all", 0), ("4h", 4 * 3_600_000), ("1h", 3_600_000)):
        picture = Picture(WIDTH, HEIGHT, DARK, window=window, lines=LINES)
        found[f"redraw_{name}_ms"] = milliseconds(lambda p=picture: strips(draw(history, p)), repeats)
    found["naive_ms"] = milliseconds(lambda: naive(columns), 2 if smoke else 7)
    found["ratio"] = found["naive_ms"] / found["redraw_all_ms"]
    print(json.dumps({name: round(value, 2) for name, value in found.items()}))
    worst = max(value for name, value in found.items() if name.startswith("redraw"))
    print(
        f"redraw {worst:.1f} ms at worst (aim {AIM_MS:g}), {found['ratio']:.0f} times faster than naive",
        file=sys.stderr,
    )
    if smoke:
        return 0 if found["ratio"] >= LEAST_RATIO else 1
    return 0 if worst <= AIM_MS else 1


if __name__ == "__main__":
    sys.exit(main())

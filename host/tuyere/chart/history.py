"""The trend of one cook, kept so that drawing costs the columns of the screen and not the cycles.

Cycles fall into time slots of 8 s (four cycles), 32 s (sixteen cycles) and 128 s. Each slot
keeps the lowest and highest value of every line, so a spike of one cycle never vanishes, the
mean fan demand, and the band as of its last cycle. New cycles touch only the slots at the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, isfinite

from tuyere.cook.snapshot import Trend

SLOTS = (8_000, 32_000, 128_000)  # ms; each a whole multiple of the one before
LINES = 4  # the pit, then three meat probes


class Level:
    """All slots of one width; an empty slot has lowest above highest."""

    def __init__(self, width: int) -> None:
        self.width = width
        self.count = 0
        self.lowest: list[list[float]] = [[] for _ in range(LINES)]
        self.highest: list[list[float]] = [[] for _ in range(LINES)]
        self.fan_sum: list[float] = []
        self.fan_most: list[float] = []
        self.fan_count: list[int] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def grow(self, count: int) -> None:
        """Have at least `count` slots."""
        more = count - self.count
        if more <= 0:
            return
        for line in range(LINES):
            self.lowest[line].extend([inf] * more)
            self.highest[line].extend([-inf] * more)
        self.fan_sum.extend([0.0] * more)
        self.fan_most.extend([0.0] * more)
        self.fan_count.extend([0] * more)
        self.low.extend([inf] * more)
        self.high.extend([-inf] * more)
        self.count = count

    def shift(self, more: int) -> None:
        """Make room for `more` slots before the first."""
        for line in range(LINES):
            self.lowest[line][:0] = [inf] * more
            self.highest[line][:0] = [-inf] * more
        self.fan_sum[:0] = [0.0] * more
        self.fan_most[:0] = [0.0] * more
        self.fan_count[:0] = [0] * more
        self.low[:0] = [inf] * more
        self.high[:0] = [-inf] * more
        self.count += more


class History:
    """What the chart draws from: `first` and `end` are the oldest and newest cycle, `start` is the first slot."""

    def __init__(self) -> None:
        self.cook: int | None = None
        self.last = 0  # id to ask from next time
        self.cycles = 0
        self.first = 0
        self.start = 0
        self.end = 0
        self.levels = [Level(width) for width in SLOTS]

    def clear(self, cook: int | None = None) -> None:
        """Forget everything; the next trend is of `cook`."""
        self.__init__()  # type: ignore[misc]
        self.cook = cook

    def add(self, trend: Trend) -> int:
        """Take in new cycles; returns how many there were. A whole trend, or another cook's, starts afresh."""
        if trend.cook != self.cook or trend.whole:
            self.clear(trend.cook)
        self.last = max(self.last, trend.last)
        at = trend.at
        if not at:
            return 0
        first = min(at[0], at[-1])
        if not self.cycles:
            self.start = first // SLOTS[-1] * SLOTS[-1]
        elif first < self.start:
            self._make_room((self.start - first + SLOTS[-1] - 1) // SLOTS[-1])
        touched = self._fill(trend)
        self.first = min(self.first, first) if self.cycles else first
        self.cycles += len(at)
        self.end = max(self.end, at[-1])
        for fine, coarse in zip(self.levels, self.levels[1:], strict=False):
            touched = self._fold(fine, coarse, touched)
        return len(at)

    def level(self, span: float) -> Level:
        """The coarsest level whose slots are no wider than `span` ms, else the finest."""
        chosen = self.levels[0]
        for level in self.levels[1:]:
            if level.width <= span:
                chosen = level
        return chosen

    def _make_room(self, coarse: int) -> None:
        for level in self.levels:
            level.shift(coarse * SLOTS[-1] // level.width)
        self.start -= coarse * SLOTS[-1]

    def _fill(self, trend: Trend) -> set[int]:
        """Cycles into the finest slots, whole slots at a time; returns the slots touched."""
        level, at, start = self.levels[0], trend.at, self.start
        width = level.width
        columns: list[tuple[int, Sequence[float | None]]] = [
            (line, column)
            for line, column in enumerate((trend.pit, trend.meat_1, trend.meat_2, trend.meat_3))
            if len(column) == len(at) and column.count(None) < len(column)
        ]
        touched: set[int] = set()
        a, size = 0, len(at)
        while a < size:
            slot = (at[a] - start) // width
            if slot < 0:  # the board's clock was paired again and stepped back past the start
                self._make_room(-(slot * width // SLOTS[-1]))
                start = self.start
                slot = (at[a] - start) // width
            edge = start + (slot + 1) * width
            floor = edge - width
            b = a + 1
            while b < size and floor <= at[b] < edge:
                b += 1
            level.grow(slot + 1)
            for line, column in columns:
                values: Sequence[float] = column[a:b]  # type: ignore[assignment]
                if None in values:
                    values = [v for v in values if v is not None]
                    if not values:
                        continue
                lowest, highest = min(values), max(values)
                lows, highs = level.lowest[line], level.highest[line]
                lows[slot] = min(lows[slot], lowest)
                highs[slot] = max(highs[slot], highest)
            fans = trend.fan[a:b]
            level.fan_sum[slot] += sum(fans)
            level.fan_count[slot] += b - a
            level.fan_most[slot] = max(level.fan_most[slot], *fans)
            level.low[slot], level.high[slot] = trend.low[b - 1], trend.high[b - 1]
            touched.add(slot)
            a = b
        return touched

    @staticmethod
    def _fold(fine: Level, coarse: Level, touched: set[int]) -> set[int]:
        """The slots of `coarse` over the touched ones of `fine`, made again from them."""
        times = coarse.width // fine.width
        slots = {slot // times for slot in touched}
        coarse.grow(max(slots) + 1)
        for slot in slots:
            a, b = slot * times, min((slot + 1) * times, fine.count)
            for line in range(LINES):
                coarse.lowest[line][slot] = min(fine.lowest[line][a:b])
                coarse.highest[line][slot] = max(fine.highest[line][a:b])
            coarse.fan_sum[slot] = sum(fine.fan_sum[a:b])
            coarse.fan_most[slot] = max(fine.fan_most[a:b])
            coarse.fan_count[slot] = sum(fine.fan_count[a:b])
            for i in range(b - 1, a - 1, -1):
                if isfinite(fine.low[i]):
                    coarse.low[slot], coarse.high[slot] = fine.low[i], fine.high[i]
                    break
        return slots

"""The night's readings, thinned to one entry a minute as they come. Forecasts are made from them."""

from __future__ import annotations

from tuyere.forecast.exchange import Columns
from tuyere.logbook.rows import Trend

MINUTE = 60_000
MOST = 4320  # entries handed out, the newest: three days


class Mean:
    """Of what was added; None while nothing was."""

    __slots__ = ("count", "total")

    def __init__(self) -> None:
        self.total, self.count = 0.0, 0

    def add(self, value: float | None) -> None:
        """One more; None is none."""
        if value is not None:
            self.total += value
            self.count += 1

    @property
    def value(self) -> float | None:
        """To the hundredth, as the board reads."""
        return round(self.total / self.count, 2) if self.count else None


class Minute:
    """One minute: means of pit, outside, fan and meats; band and time of its last cycle."""

    __slots__ = ("ambient", "at", "fan", "high", "low", "meats", "pit")

    def __init__(self) -> None:
        self.at, self.low, self.high, self.fan = 0, 0.0, 0.0, Mean()
        self.pit, self.ambient, self.meats = Mean(), Mean(), (Mean(), Mean(), Mean())


class Minutes:
    """The minutes of one cook. Cycles may come late and out of order; each is added once."""

    def __init__(self) -> None:
        self._minutes: dict[int, Minute] = {}

    def __len__(self) -> int:
        return len(self._minutes)

    def add(self, trend: Trend) -> None:
        """Cycles that were not added before."""
        for i, at in enumerate(trend.at):
            minute = self._minutes.get(at // MINUTE)
            if minute is None:
                minute = self._minutes[at // MINUTE] = Minute()
            if at >= minute.at:
                minute.at, minute.low, minute.high = at, trend.low[i], trend.high[i]
            minute.fan.add(trend.fan[i])
            minute.pit.add(trend.pit[i])
            minute.ambient.add(trend.ambient[i])
            for mean, column in zip(minute.meats, (trend.meat_1, trend.meat_2, trend.meat_3), strict=True):
                mean.add(column[i])

    def columns(self) -> Columns:
        """Oldest first."""
        rows = [self._minutes[number] for number in sorted(self._minutes)[-MOST:]]
        return Columns(
            [row.at for row in rows],
            [row.pit.value for row in rows],
            [round(row.fan.total / row.fan.count, 4) for row in rows],
            [row.low for row in rows],
            [row.high for row in rows],
            [row.ambient.value for row in rows],
            [[row.meats[probe].value for row in rows] for probe in range(3)],
        )

"""Two nights in one chart of text: as it was recorded, and as it would have been."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tuyere.chart.colours import palette
from tuyere.chart.draw import draw
from tuyere.chart.frame import Picture
from tuyere.chart.history import History
from tuyere.cook.snapshot import Trend

if TYPE_CHECKING:
    from tuyere.replay.played import Would
    from tuyere.tune.night import Night

HEIGHT = 18
EVERY = 4  # cycles between two that are drawn: no column is as short
NAMES = ((0, "would be"), (1, "recorded"))


def chart(night: Night, would: Would, began: int, width: int, units: str, utf8: bool) -> list[str]:
    """Lines of text: pit and fan as they would have been, the recorded pit beside it, near the band. began: UTC ms of
    the first cycle."""
    recorded = [None if value != value else value for value in night.pit_cycles()[::EVERY].tolist()]  # noqa: PLR0124
    count = len(recorded)
    first = float(night.seconds[0])
    none: list[float | None] = [None] * count
    history = History()
    history.add(
        Trend(
            cook=1, last=count,
            at=[began + round((at - first) * 1000.0) for at in would.seconds[::EVERY].tolist()],
            pit=list(would.pit_c[::EVERY].tolist()), fan=would.fan[::EVERY].tolist(),
            low=would.low[::EVERY].tolist(), high=would.high[::EVERY].tolist(),
            meat_1=recorded, meat_2=none, meat_3=list(none),
        )
    )  # fmt: skip
    picture = Picture(width, HEIGHT, palette("dark", colour=False, utf8=utf8), units, lines=NAMES, near=True)
    return ["".join(part for part, _ in row).rstrip() for row in draw(history, picture)]

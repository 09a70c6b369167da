"""How well the band was kept: the share of time the pit was in it.

Counted from the meat going on (before that is known, from 1 h after the cook began), or
from 10 min after the pit first arrived in the band if that is later; the first climb is
no fault of the law. Each cycle counts for the time since the one before it, at most
`LONGEST`, so a gap in the records counts neither way. A cycle without a reading counts as out.
"""

from __future__ import annotations

from array import array
from bisect import bisect_left
from collections.abc import Sequence

HOUR = 3_600_000
SETTLE = 600_000  # ms after the first arrival
LONGEST = 10_000  # ms; the board bounds a cycle's time the same way


class Score:
    """Share in band of one cook, fed with cycles in order of time (UTC ms, degrees C)."""

    def __init__(self, started: int, meat_on: int = 0) -> None:
        self._started = started
        self._meat_on = meat_on
        self._at = array("q")
        self._spent = array("q", [0])  # ms up to each cycle
        self._inside = array("q", [0])  # ms in band up to each cycle
        self._arrived = 0

    def meat_on(self, at: int) -> None:
        """The meat went on then; may be dated back."""
        self._meat_on = at

    def add(self, at: Sequence[int], pit: Sequence[float | None], low: Sequence[float], high: Sequence[float]) -> None:
        """Take more cycles. One that is older than the last is left out."""
        for when, value, bottom, top in zip(at, pit, low, high, strict=True):
            before = self._at[-1] if self._at else when
            if when < before:
                continue
            inside = value is not None and bottom <= value <= top
            if not self._arrived and value is not None and value >= bottom:
                self._arrived = when
            passed = min(when - before, LONGEST)
            self._at.append(when)
            self._spent.append(self._spent[-1] + passed)
            self._inside.append(self._inside[-1] + (passed if inside else 0))

    @property
    def arrived(self) -> int:
        """When the pit first reached the band, 0 if it has not."""
        return self._arrived

    @property
    def since(self) -> int:
        """When the count begins, 0 while that is not known."""
        if not self._arrived:
            return 0
        return max(self._meat_on or self._started + HOUR, self._arrived + SETTLE)

    @property
    def share(self) -> float | None:
        """Share of time in band, None while nothing counts yet."""
        if not self.since:
            return None
        first = bisect_left(self._at, self.since)
        if first >= len(self._at):
            return None
        spent = self._spent[-1] - self._spent[first + 1]
        return (self._inside[-1] - self._inside[first + 1]) / spent if spent else None

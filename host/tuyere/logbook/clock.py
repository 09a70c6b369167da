"""Board time to UTC. Pure functions on pairs (board ms, UTC ms) that were true at one instant.

The rule is "the latest pair at or before, else the first", with one correction: the offset
of a pair is lowered to that of any later pair. A hello that was slow on the way makes an offset
too large, never too small, and a computer whose clock was put back makes the earlier offsets too
large; either way the later, smaller one is nearer the truth, and time never runs
backwards within a boot.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence

from msgspec import Struct


class Clock:
    """Converts board times of one boot to UTC. `estimated`: there is no pair of this boot."""

    def __init__(self, pairs: Iterable[tuple[int, int]], *, estimated: bool = False) -> None:
        steps: list[tuple[int, int]] = []  # from board ms, offset; newest first
        for at, utc in sorted(pairs, reverse=True):
            offset = utc - at
            if steps and offset >= steps[-1][1]:
                steps[-1] = (at, steps[-1][1])  # the later offset holds from here on
            else:
                steps.append((at, offset))
        steps.reverse()
        self._from = [at for at, _ in steps]
        self._offsets = [offset for _, offset in steps]
        self.estimated = estimated

    def utc(self, at: int) -> int:
        """UTC ms of a board ms."""
        return at + self._offsets[max(0, bisect_right(self._from, at) - 1)]

    def column(self, ats: Sequence[int]) -> list[int]:
        """UTC of many board times in rising order."""
        if len(self._offsets) == 1:
            offset = self._offsets[0]
            return [at + offset for at in ats]
        out: list[int] = []
        begin = 0
        for i, offset in enumerate(self._offsets):
            last = i + 1 == len(self._offsets)
            end = len(ats) if last else bisect_left(ats, self._from[i + 1], begin)
            out.extend([at + offset for at in ats[begin:end]])
            begin = end
        return out


class Life(Struct):
    """One boot for `estimate`: how long it ran as far as known, when it was first seen, and its clock."""

    length: int  # board ms of its last record
    seen: int  # UTC of its first hello, 0 if none
    clock: Clock | None  # None: no pair


def estimate(lives: Sequence[Life]) -> list[Clock]:
    """A clock for every boot. Those without a pair are placed between their neighbours.

    A run of them between two known boots is spread evenly over the time left free; with one
    neighbour it follows or precedes that one directly; with none its last record is put at the
    last time a hello was seen.
    """
    clocks = [life.clock for life in lives]
    i = 0
    while i < len(lives):
        if clocks[i] is not None:
            i += 1
            continue
        end = i
        while end < len(lives) and lives[end].clock is None:
            end += 1
        run = lives[i:end]
        total = sum(life.length for life in run)
        before = lives[i - 1].clock if i else None
        after = lives[end].clock if end < len(lives) else None
        space = 0
        if before is not None:
            start = before.utc(lives[i - 1].length)
            if after is not None:
                space = max(0, after.utc(0) - start - total) // (len(run) + 1)
        elif after is not None:
            start = after.utc(0) - total
        else:
            start = max(life.seen for life in run) - total
        for k, life in enumerate(run):
            start += space
            clocks[i + k] = Clock([(0, start)], estimated=True)
            start += life.length
        i = end
    return [clock for clock in clocks if clock is not None]

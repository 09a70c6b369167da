"""The fire's breath of the open cook, looked at once a minute."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.cook import breath
from tuyere.cook.snapshot import Breath, Event, Snapshot
from tuyere.engine.night.minutes import Minutes


class Breathing:
    """What was last found, and from how much."""

    def __init__(self) -> None:
        self._known, self._found = (-1, -1), Breath()

    def show(self, shot: Snapshot, minutes: Minutes, events: Sequence[Event]) -> None:
        """Put it into a snapshot of a pit that is being held; of any other nothing is said."""
        held = shot.cycle is not None and not shot.stale and shot.cycle.state == "holding"
        if not held or shot.cook is None or shot.cook.ended:
            return
        known = (len(minutes), len(events))
        if known != self._known:
            one = minutes.columns()
            last = one.at[-1] if one.at else 0
            self._found = breath.look(one.at, one.pit, one.fan, one.low, one.high, one.ambient, events, last)
            self._known = known
        shot.breath = self._found

"""When the terminal's bell rings: once when something urgent comes, then each minute until a person has seen it."""

from __future__ import annotations

from math import inf

from tuyere.tui.view import View

EVERY, UNREACHED = 60.0, 10.0  # s between rings; the second while no route accepts a call
UNHEARD = "no word from the engine"


def urgent(view: View, quiet: float = inf) -> set[str]:
    """What needs a person: urgent alarms that nobody has seen, and `quiet` s of silence from an engine that watches a
    real cook, since then no alarm could come either."""
    found = {a.code or str(a.id) for a in view.alarms if a.level == "urgent" and not a.acknowledged}
    cook = view.shot.cook if view.shot else None
    if cook and not cook.ended and not cook.simulated and view.waited > quiet:
        found.add(UNHEARD)
    return found


class Bell:
    """Remembers when it last rang for what."""

    def __init__(self) -> None:
        self._rang: dict[str, float] = {}

    def due(self, standing: set[str], now: float, every: float = EVERY) -> bool:
        """Whether to ring now (monotonic s) for what stands, `every` s; one ring is for all of it."""
        rings = any(now - self._rang.get(what, now - every) >= every for what in standing)
        self._rang = {what: now if rings else self._rang[what] for what in standing}
        return rings

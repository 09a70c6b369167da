"""A programme that a person changes before it is sent. Nothing here reaches the board."""

from __future__ import annotations

from collections.abc import Sequence

from hearth.core import fields

from tuyere.cook.snapshot import Phase

FULL = f"A programme has at most {fields.ROWS} phases: remove one first."
LAST = "A programme has at least one phase: change this one, or take a kept programme."


class Draft:
    """Phases, and where the one in force stands among them.

    `follow` takes what the board has. An unchanged draft is what the board has; a changed one keeps its changes, and
    keeps sight of the phase in force wherever it was moved to.
    """

    def __init__(self) -> None:
        self.phases: list[Phase] = []
        self.changed = False
        self.elsewhere = False  # the board has been given another programme since the changes began
        self._base: list[Phase] = []  # what the changes began from
        self._rows: list[int] = []  # for each phase its row on the board, -1 for none
        self._begin = -1  # the phase that a person chose to begin with; -1 for none

    def follow(self, phases: Sequence[Phase]) -> None:
        """Take the board's programme."""
        if not self.changed:
            self._base = self.phases = list(phases)
            self.phases = list(phases)
            self._rows = list(range(len(phases)))
            self._begin, self.elsewhere = -1, False
        elif list(phases) != self._base:
            self._base, self._rows, self.elsewhere = list(phases), [-1] * len(self.phases), True

    def revert(self) -> None:
        """Drop the changes."""
        self.changed = False
        self.follow(self._base)

    def standing(self, row: int) -> tuple[int, bool]:
        """(where the phase of this row of the board stands in the draft, whether it would be entered afresh)."""
        if self._begin >= 0:
            return self._begin, True
        if row in self._rows:
            return self._rows.index(row), False
        after = [i for i, was in enumerate(self._rows) if was > row]
        return (min(after, key=lambda i: self._rows[i]) if after else 0), True

    def add(self, at: int, phase: Phase) -> str:
        """Put a phase at this place; why not, "" if it is there."""
        if len(self.phases) >= fields.ROWS:
            return FULL
        self._begin += 1 if self._begin >= at else 0
        self.phases.insert(at, phase)
        self._rows.insert(at, -1)
        self.changed = True
        return ""

    def change(self, at: int, phase: Phase) -> None:
        """Another content; it stays the phase it was."""
        if self.phases[at] != phase:
            self.phases[at], self.changed = phase, True

    def remove(self, at: int) -> str:
        """Take one out; why not, "" if it is gone."""
        if len(self.phases) <= 1:
            return LAST
        del self.phases[at], self._rows[at]
        self._begin = -1 if self._begin == at else self._begin - 1 if self._begin > at else self._begin
        self.changed = True
        return ""

    def move(self, at: int, by: int) -> int:
        """Change places with a neighbour; the new place."""
        to = at + by
        if not 0 <= to < len(self.phases):
            return at
        self.phases[at], self.phases[to] = self.phases[to], self.phases[at]
        self._rows[at], self._rows[to] = self._rows[to], self._rows[at]
        self._begin = {at: to, to: at}.get(self._begin, self._begin)
        self.changed = True
        return to

    def begin(self, at: int) -> None:
        """Begin with this phase when it is sent."""
        self._begin, self.changed = at, True

    def take(self, phases: Sequence[Phase]) -> None:
        """Another programme in its place, from its first phase on."""
        self.phases = list(phases)
        self._rows = [-1] * len(self.phases)
        self._begin, self.changed = 0, True

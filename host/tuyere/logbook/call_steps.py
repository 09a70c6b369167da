"""What became of every call: each step is written before what it announces is done."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.logbook.checks import choice
from tuyere.logbook.kinds import CALL_STEPS
from tuyere.logbook.rows import CallStep
from tuyere.logbook.store import Store

_STEP = ("id", "cook", "code", "alarm", "step", "at", "wall", "route", "attempt", "words")


class CallSteps:
    """`book.calls`."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, steps: Sequence[CallStep]) -> None:
        """Write down steps, all of them or none."""
        for one in steps:
            choice("a step of a call", tuple(CALL_STEPS))(one.step)
        with self._store.together():
            self._store.db.executemany(
                f"INSERT INTO calls ({', '.join(_STEP[1:])}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                [tuple(getattr(one, name) for name in _STEP[1:]) for one in steps],
            )

    def of(self, cook: int | None) -> list[CallStep]:
        """The steps of a cook's calls (None: of no cook), oldest first."""
        return self._read("cook IS ? ORDER BY id", cook)

    def last(self, route: str, step: str) -> CallStep | None:
        """The newest step of this kind that a route has taken, in any cook."""
        found = self._read("route = ? AND step = ? ORDER BY id DESC LIMIT 1", route, step)
        return found[0] if found else None

    def _read(self, where: str, *given: int | str | None) -> list[CallStep]:
        rows = self._store.rows(f"SELECT {', '.join(_STEP)} FROM calls WHERE {where}", given)
        return [CallStep(**dict(zip(_STEP, row, strict=True))) for row in rows]

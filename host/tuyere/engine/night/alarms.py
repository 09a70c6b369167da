"""The life of an alarm in the logbook, from the conditions that stand (`conditions.py`).

As in ISA-18.2: raised, acknowledged, cleared; shelved for a while. An urgent alarm whose cause has gone stays until a
person has acknowledged it, so that the night is known in the morning. A warning goes by itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Protocol

import msgspec
from msgspec import Struct

from tuyere.cook import care as cares
from tuyere.cook import faults as guards
from tuyere.cook.faults import URGENT
from tuyere.cook.snapshot import Alarm
from tuyere.engine.night.conditions import NO_FIRE, OF_THE_FIRE, Condition, Facts, conditions
from tuyere.logbook import LogbookError
from tuyere.text import Said


class Store(Protocol):
    """What is needed of `Logbook.alarms`."""

    def add(
        self,
        cook: int | None,
        raised: int,
        level: str,
        code: str,
        what: Said,
        why: Said = "",
        checks: Sequence[Said] = (),
    ) -> int:
        """A new alarm; returns its id."""

    def change(self, id: int, **fields: Any) -> None:
        """Set acknowledged, shelved or cleared."""


class Standing(Struct):
    """An alarm that has not been cleared."""

    id: int
    level: str
    code: str
    what: Said
    acknowledged: int = 0


class Alarms:
    """Keeps the logbook's alarms in step with the conditions.

    An alarm that cannot be stored now (a full disk is an alarm too) is shown under a negative
    number, and stored as soon as possible.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._cook: int | None = None
        self._standing: dict[str, Standing] = {}
        self._unwritten: dict[str, Alarm] = {}
        self._stood: dict[str, int] = {}  # code -> ms its cause has stood, less the ms it has not since
        self._last: int | None = None  # the cook's clock then
        self._there: dict[str, Condition] = {}  # what stands now, by code

    def take_up(self, cook: int | None, standing: Sequence[Any]) -> None:
        """Go on with the alarms the logbook has standing for this cook."""
        self._cook = cook
        self._unwritten = {}
        self._standing = {a.code: Standing(a.id, a.level, a.code, a.what, a.acknowledged) for a in standing}

    def move(self, by: int) -> None:
        """The cook's clock has stepped by `by` ms."""
        self._last = None if self._last is None else self._last + by
        for alarm in self._unwritten.values():
            alarm.raised += by
            alarm.acknowledged += by if alarm.acknowledged else 0

    def update(self, facts: Facts) -> bool:
        """Raise and clear; True if anything changed."""
        now = facts.now
        changed = False
        there = self._there = {c.code: c for c in conditions(facts)}
        self._count(now, there)
        for code, condition in there.items():
            if code not in self._standing and self._stood[code] >= condition.after:
                number = -1 - len(self._standing)
                checks = list(condition.checks)
                self._unwritten[code] = Alarm(
                    id=number,
                    raised=now,
                    level=condition.level,
                    what=condition.what,
                    why=condition.why,
                    checks=checks,
                    code=code,
                )
                self._standing[code] = Standing(number, condition.level, code, condition.what)
                changed = True
        changed |= self._write()
        state = facts.cycle.state if facts.cycle is not None else ""
        over: tuple[str, ...] = (
            cares.FIRST
        )  # it ends by what a person does: a start, or a note that the piece is elsewhere
        over += OF_THE_FIRE if not facts.cooking or facts.care.empty or state in NO_FIRE else ()
        if facts.care.probe_out or facts.care.empty:
            over += (guards.PROBE_LOST.code,)  # the piece is on its way out
        for code, alarm in list(self._standing.items()):
            seen = alarm.acknowledged or alarm.level != URGENT or code in over
            if code not in there and code not in self._unwritten and seen:
                try:
                    self._store.change(alarm.id, cleared=now)
                except LogbookError:  # it stands until that can be written
                    continue
                del self._standing[code]
                changed = True
        return changed

    def _count(self, now: int, there: dict[str, Condition]) -> None:
        """How long each condition has stood, less the time in which it did not. So an intermittent one counts, too."""
        passed = max(0, now - self._last) if self._last is not None else 0
        self._last = now
        for code in list(self._stood):
            if code not in there:
                self._stood[code] -= passed
                if self._stood[code] <= 0:
                    del self._stood[code]
        for code, condition in there.items():
            self._stood[code] = min(self._stood[code] + passed, condition.after) if code in self._stood else 0

    def fresh(self, alarms: Iterable[Alarm]) -> list[Alarm]:
        """The alarms with their present reasons and checks; the logbook keeps those of when they were raised."""
        return [
            msgspec.structs.replace(alarm, why=now.why, checks=list(now.checks))
            if (now := self._there.get(alarm.code)) is not None
            else alarm
            for alarm in alarms
        ]

    @property
    def present(self) -> list[str]:
        """Codes of the causes that stand at this moment; an alarm may stand for longer than its cause."""
        return list(self._there)

    @property
    def unwritten(self) -> list[Alarm]:
        """Alarms that stand and are not in the logbook yet."""
        return list(self._unwritten.values())

    def _write(self) -> bool:
        """Write down what is not in the logbook yet; True if something was."""
        written = False
        for code, alarm in list(self._unwritten.items()):
            try:
                number = self._store.add(
                    self._cook, alarm.raised, alarm.level, code, alarm.what, alarm.why, alarm.checks
                )
                if alarm.acknowledged:
                    self._store.change(number, acknowledged=alarm.acknowledged)
            except LogbookError:
                return written
            self._standing[code].id = number
            del self._unwritten[code]
            written = True
        return written

    def acknowledge(self, number: int, now: int) -> bool:
        """A person has seen it. False if no such alarm stands."""
        for alarm in self._standing.values():
            if alarm.id == number:
                alarm.acknowledged = now
                if alarm.code in self._unwritten:
                    self._unwritten[alarm.code].acknowledged = now
                    return True
                self._store.change(number, acknowledged=now)
                return True
        return False

    def shelve(self, number: int, until: int) -> bool:
        """Keep it quiet until then. False if no such alarm stands."""
        if number < 0 or all(alarm.id != number for alarm in self._standing.values()):
            return False
        self._store.change(number, shelved=until)
        return True

    def code(self, number: int) -> str:
        """The cause of a standing alarm, "" if it does not stand."""
        return next((alarm.code for alarm in self._standing.values() if alarm.id == number), "")

    def level(self, number: int) -> str:
        """The level of a standing alarm, "" if it does not stand."""
        return next((alarm.level for alarm in self._standing.values() if alarm.id == number), "")

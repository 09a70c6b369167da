"""What needs a person: conditions judged from plain facts, and their life in the logbook.

Life of an alarm as in ISA-18.2: raised, acknowledged, cleared; shelved for a while. An
urgent alarm whose cause has gone stays until a person has acknowledged it (so that the
morning knows of the night); a warning goes by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

from msgspec import Struct

from ..logbook import LogbookError
from . import words
from .model import Alarm, Cycle

URGENT, WARNING = "urgent", "warning"
SILENT = 10.0  # s without a record until the link counts as lost
BEAT = 35.0  # s without an answer to a heartbeat, three of them
COLD_FOR = 15 * 60_000  # ms on the cook's clock
HOT_FOR = 10 * 60_000
COLD_BY, HOT_BY = 10.0, 5.0  # C outside the band; common practice, no source


class Facts(Struct):
    """All that is needed to judge, gathered by the engine."""

    now: int  # the cook's clock
    cooking: bool = False  # a cook is open
    simulated: bool = False
    cycle: Cycle | None = None
    fault_bits: int = 0
    arrived: bool = False  # the pit has been in the band
    silent: float | None = None  # s since the last record; None before the first
    beat: float | None = None  # s since the last hello
    restarted: bool = False  # the board has come back from a power-up during this cook
    missing: int = 0  # records of this cook known to be lost
    trouble: str = ""  # what the logbook complains of
    refused: str = ""  # why the board cannot be worked with
    twin_ended: bool = False


class Condition(Struct):
    """Something that stands now. `what` names it: one condition, one text, no numbers in it."""

    level: str
    what: str
    why: str = ""
    checks: Sequence[str] = ()
    after: int = 0  # ms on the cook's clock it must have stood


def conditions(facts: Facts) -> list[Condition]:
    """Everything that stands, judged from the facts alone."""
    found = []
    if facts.trouble:
        found.append(Condition(
            URGENT, "The logbook cannot be written", facts.trouble,
            [
                "Free some space on the disk",
                "The board keeps its newest records meanwhile",
                "It goes on by itself when it can write again",
            ],
        ))  # fmt: skip
    if facts.refused:
        found.append(Condition(URGENT, "This board cannot be worked with", facts.refused))
    found += _link(facts)
    if facts.cycle is not None:
        found += _pit(facts, facts.cycle)
    if facts.missing:
        found.append(Condition(
            WARNING, "Some records are lost",
            f"{facts.missing} records were gone from the board before they reached this computer.",
            ["Nothing to do for the fire: the board held the pit meanwhile"],
        ))  # fmt: skip
    return found


def _link(facts: Facts) -> list[Condition]:
    if not facts.cooking or facts.twin_ended:
        return []
    if facts.silent is None or facts.silent >= SILENT:
        return [Condition(
            WARNING if facts.simulated else URGENT,
            "The link to the board is lost",
            "Nothing has come for 10 s. With power, the board holds the pit; without, the fan is off.",
            [
                "If the board has no power the fan is off: close the vents to hold the fire by hand",
                "See that the board has power and its cable is in at both ends",
                "Read the pit by a hand thermometer",
            ],
        )]  # fmt: skip
    if facts.beat is not None and facts.beat >= BEAT:
        return [Condition(
            WARNING, "The board sends but does not answer",
            "Its records come in, but its heartbeat is missing, so orders may not reach it.",
            ["Look at the cable", "Unplug it and plug it in again; the pit is held meanwhile"],
        )]  # fmt: skip
    return []


def _pit(facts: Facts, cycle: Cycle) -> list[Condition]:
    if cycle.trip == "hot":
        return [
            Condition(
                URGENT,
                "Tripped: the pit was far too hot",
                "It passed the limit; the fan is off and stays off.",
                words.HOT_CHECKS,
            )
        ]
    if cycle.trip == "probe":
        fault = words.faults(facts.fault_bits)
        why = (
            "There was no good reading for a minute"
            + (f" ({fault})" if fault else "")
            + "; the fan is off and stays off."
        )
        return [Condition(URGENT, "Tripped: the pit cannot be read", why, words.PROBE_CHECKS)]
    if cycle.trip == "fire":
        why = "A high fan has not lifted the pit for long; the fan is off, so that no cold air is blown over the meat."
        return [Condition(URGENT, "Tripped: no answer from the fire", why, words.FIRE_CHECKS)]
    if cycle.trip == "fell":
        why = "The lid stands open, or the probe has come off the grate and reads cool; the fan is off and stays off."
        return [Condition(URGENT, "Tripped: the pit fell and never rose", why, words.FELL_CHECKS)]
    if cycle.trip:
        return [
            Condition(
                URGENT,
                "Tripped: the board's settings are wrong",
                "The fan is off and stays off.",
                words.SETTINGS_CHECKS,
            )
        ]
    if not facts.cooking:
        return []
    found = []
    if cycle.reason == "reading_bad":
        found.append(
            Condition(WARNING, "The pit cannot be read", words.faults(facts.fault_bits), words.PROBE_CHECKS[:3])
        )
    if cycle.reason == "still_open":
        why = "The pit fell far and has not risen since; the fan is off, and it trips if nothing changes."
        found.append(Condition(URGENT, "Still open, or the probe is off the grate", why, words.FELL_CHECKS[:3]))
    if cycle.state == "fading":
        found.append(
            Condition(
                URGENT,
                "The fire is fading",
                "It needs clearly more air than it usually has, or air no longer lifts it.",
                words.FADING_CHECKS,
            )
        )
    if cycle.state == "off" and facts.restarted:
        found.append(Condition(
            URGENT, "The board has restarted and holds nothing",
            "It lost power or was reset during the cook; the fan is off.",
            ["See that its supply and plug sit firmly", "Look at the fire", "Start again"],
        ))  # fmt: skip
    held = cycle.state in ("holding", "climbing", "fading") and facts.arrived and cycle.pit is not None
    if held and cycle.pit is not None:
        if cycle.pit < cycle.low - COLD_BY and cycle.state != "fading":
            found.append(
                Condition(
                    URGENT,
                    "The pit has been too cool for long",
                    "It stands far below the band.",
                    words.FADING_CHECKS,
                    COLD_FOR,
                )
            )
        leaking = cycle.reason == "leaking"  # the board has waited before it says so
        if leaking or (cycle.pit > cycle.high + HOT_BY and cycle.fan == 0.0):
            found.append(Condition(
                URGENT, "The pit runs hot with the fan off", "The fire gets air past the fan.",
                [
                    "Close the vents a little, the lower ones first",
                    "See that the lid and doors are shut tight",
                    "Look for grease burning",
                ],
                0 if leaking else HOT_FOR,
            ))  # fmt: skip
    return found


class Store(Protocol):
    """What is needed of a logbook."""

    def raise_alarm(
        self, cook: int | None, raised: int, level: str, what: str, why: str = "", checks: list[str] | None = None
    ) -> int:
        """A new alarm; returns its id."""

    def change_alarm(self, id: int, **fields: Any) -> None:
        """Set acknowledged, shelved or cleared."""


class Standing(Struct):
    """An alarm that has not been cleared."""

    id: int
    level: str
    what: str
    acknowledged: int = 0


class Alarms:
    """Keeps the logbook's alarms in step with the conditions.

    An alarm the logbook cannot take just now (a full disk is one itself) is shown all the
    same, under a number below 0, and written down as soon as it can be.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._cook: int | None = None
        self._standing: dict[str, Standing] = {}
        self._unwritten: dict[str, Alarm] = {}
        self._since: dict[str, int] = {}  # condition -> when it began, cook's clock

    def take_up(self, cook: int | None, standing: Sequence[Any]) -> None:
        """Go on with the alarms the logbook has standing for this cook."""
        self._cook = cook
        self._unwritten = {}
        self._standing = {a.what: Standing(a.id, a.level, a.what, a.acknowledged) for a in standing}

    def update(self, facts: Facts) -> bool:
        """Raise and clear; True if anything changed."""
        now = facts.now
        changed = False
        there = {c.what: c for c in conditions(facts)}
        self._since = {what: self._since.get(what, now) for what in there}
        for what, condition in there.items():
            if what not in self._standing and now - self._since[what] >= condition.after:
                number = -1 - len(self._standing)
                self._unwritten[what] = Alarm(number, now, condition.level, what, condition.why, list(condition.checks))
                self._standing[what] = Standing(number, condition.level, what)
                changed = True
        changed |= self._write()
        for what, alarm in list(self._standing.items()):
            if what not in there and what not in self._unwritten and (alarm.acknowledged or alarm.level != URGENT):
                self._store.change_alarm(alarm.id, cleared=now)
                del self._standing[what]
                changed = True
        return changed

    @property
    def unwritten(self) -> list[Alarm]:
        """Alarms that stand and are not in the logbook yet."""
        return list(self._unwritten.values())

    def _write(self) -> bool:
        """Write down what is not in the logbook yet; True if something was."""
        written = False
        for what, alarm in list(self._unwritten.items()):
            try:
                number = self._store.raise_alarm(self._cook, alarm.raised, alarm.level, what, alarm.why, alarm.checks)
                if alarm.acknowledged:
                    self._store.change_alarm(number, acknowledged=alarm.acknowledged)
            except LogbookError:
                return written
            self._standing[what].id = number
            del self._unwritten[what]
            written = True
        return written

    def acknowledge(self, number: int, now: int) -> bool:
        """A person has seen it. False if no such alarm stands."""
        for alarm in self._standing.values():
            if alarm.id == number:
                alarm.acknowledged = now
                if alarm.what in self._unwritten:
                    self._unwritten[alarm.what].acknowledged = now
                    return True
                self._store.change_alarm(number, acknowledged=now)
                return True
        return False

    def shelve(self, number: int, until: int) -> bool:
        """Keep it quiet until then. False if no such alarm stands."""
        if number < 0 or all(alarm.id != number for alarm in self._standing.values()):
            return False
        self._store.change_alarm(number, shelved=until)
        return True

    def name(self, number: int) -> str:
        """What a standing alarm says, "" if it does not stand."""
        return next((alarm.what for alarm in self._standing.values() if alarm.id == number), "")

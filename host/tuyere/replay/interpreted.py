"""Cycles run again one by one in Python, with any core."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import Struct

from tuyere.logbook.decode import HEAD_NAMES, PARTS, Layout, Value
from tuyere.replay.cores import Core

SETTINGS_AT = HEAD_NAMES.index("settings")


class Outcome(Struct):
    """What came of some cycles run again; indexes into them, -1 for none."""

    different: int = 0  # cycles of which an output differs
    first: int = -1  # the first of these
    recorded: dict[str, Value] = {}  # its outputs
    replayed: dict[str, Value] = {}
    other_settings: int = -1  # the first cycle that names other settings than those in force


def unlike(core: Core, layout: Layout, *, names: bool) -> str:
    """Why records of this layout cannot be run by this core, or "".

    names: every field must be there on both sides; else only those on both sides must be alike.
    """
    for part in PARTS:
        table = core.table[part]
        fields = {field.name: field for field in layout.parts[part]}
        if names and [field.name for field in layout.parts[part]] != list(table):
            odd = sorted(fields.keys() ^ table.keys())
            return f"their board announced other fields than the core has ({part}: {', '.join(odd) or 'another order'})"
        for name in fields.keys() & table.keys():
            if (fields[name].count, fields[name].scale) != table[name][:2]:
                return f"they and the core do not count {name} ({part}) in the same unit"
    return ""


class Plain:
    """Runs cycles of one layout with one core. A field that only one of them has stays at its default."""

    compiled = False

    def __init__(self, core: Core, layout: Layout) -> None:
        self._core, self._layout = core, layout
        self._now, self._out = core.Now(), core.Out()
        self._memory, self._settings = core.Memory(), core.Settings()
        self._inputs: list[tuple[str, int, int]] = []  # name, index in an unpacked record, count
        self._outputs: list[tuple[str, int, int]] = []
        at = len(HEAD_NAMES)
        for part, field in layout.cycle_fields:
            if field.name in core.table[part]:
                (self._inputs if part == "now" else self._outputs).append((field.name, at, field.count))
            at += field.count or 1

    def start(self, memory: Mapping[str, Value], settings: Mapping[str, Value]) -> None:
        """Go on from a state record."""
        self._memory = filled(self._core.Memory(), memory)
        self._settings = filled(self._core.Settings(), settings)

    def memory(self) -> dict[str, Value]:
        """What is remembered now."""
        return values_of(self._memory)

    def now(self) -> dict[str, Value]:
        """The inputs of the last cycle run."""
        return values_of(self._now)

    def run(self, records: Sequence[bytes], number: int) -> Outcome:
        """Run cycle records again, in the order of their sequence, all under the settings of this number."""
        outcome = Outcome()
        cycle, now, out = self._core.cycle, self._now, self._out
        for i, data in enumerate(records):
            numbers = self._layout.cycle.unpack(data)
            if numbers[SETTINGS_AT] != number and outcome.other_settings < 0:
                outcome.other_settings = i
            for name, at, count in self._inputs:
                setattr(now, name, list(numbers[at : at + count]) if count else numbers[at])
            cycle(self._settings, now, self._memory, out)
            for name, at, count in self._outputs:
                if getattr(out, name) != (list(numbers[at : at + count]) if count else numbers[at]):
                    outcome.different += 1
                    if outcome.first < 0:
                        outcome.first = i
                        outcome.replayed = {name: values_of(out)[name] for name, _, _ in self._outputs}
                        outcome.recorded = {
                            name: list(numbers[at : at + count]) if count else numbers[at]
                            for name, at, count in self._outputs
                        }
                    break
        return outcome


def filled(record: Any, values: Mapping[str, Value]) -> Any:
    """A plain record with those of its numbers that are given."""
    for name, _ in record.NAMES:
        if name in values:
            value = values[name]
            setattr(record, name, list(value) if isinstance(value, list) else value)
    return record


def values_of(record: Any) -> dict[str, Value]:
    """A plain record's numbers by name."""
    return {name: list(getattr(record, name)) if count else getattr(record, name) for name, count in record.NAMES}

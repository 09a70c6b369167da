"""Cycles run again by the thousand: records as one numpy array, the loop compiled with today's core."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np
from hearth.link import messages

from tuyere.logbook.decode import HEAD_NAMES, Field, Layout, Value
from tuyere.replay.cores import Core, today
from tuyere.replay.interpreted import Outcome
from tuyere.sim import compiled

MODULES = (*compiled.CORE, "tuyere.replay.again")


def packed(fields: Sequence[Field]) -> np.dtype[Any]:
    """The numpy type of fields as they lie in a record's bytes: little-endian, without gaps."""
    return np.dtype([(f.name, "<" + f.code, (f.count,)) if f.count else (f.name, "<" + f.code) for f in fields])


@cache
def ready() -> Any:
    """The compiled loop, ready to run; the first time after a change of the core it takes a while."""
    kernel: Any = compiled.load(MODULES)
    core = today()
    one = [compiled.record(kind) for kind in (core.Settings, core.Memory, core.Out)]
    nows, outs = np.empty(0, compiled.dtype(core.Now)), np.empty(0, compiled.dtype(core.Out))
    kernel.again(one[0], nows, one[1], one[2], outs)
    return kernel


class Fast:
    """`plain.Plain`, compiled; for today's core only."""

    compiled = True

    def __init__(self, core: Core, layout: Layout) -> None:
        assert core.today
        self._kernel = ready()
        head = [(name, "<" + code) for name, code in zip(HEAD_NAMES, messages.HEAD[1:], strict=True)]
        self._cycle = np.dtype([*head, ("now", packed(layout.parts["now"])), ("out", packed(layout.parts["out"]))])
        self._nows, self._outs = compiled.dtype(core.Now), compiled.dtype(core.Out)
        self._default = compiled.record(core.Now)
        self._inputs = [field.name for field in layout.parts["now"] if field.name in core.table["now"]]
        self._left = [name for name in core.table["now"] if name not in self._inputs]
        self._outputs = [field.name for field in layout.parts["out"] if field.name in core.table["out"]]
        self._core = core
        self._memory, self._settings = compiled.record(core.Memory), compiled.record(core.Settings)
        self._last: dict[str, Value] = {}
        self._out = compiled.record(core.Out)

    def start(self, memory: Mapping[str, Value], settings: Mapping[str, Value]) -> None:
        """Go on from a state record."""
        self._memory, self._settings = compiled.record(self._core.Memory), compiled.record(self._core.Settings)
        for record, values in ((self._memory, memory), (self._settings, settings)):
            for name in record.dtype.names:
                if name in values:
                    record[name] = values[name]

    def memory(self) -> dict[str, Value]:
        """What is remembered now."""
        return {name: self._memory[name].tolist() for name in self._memory.dtype.names}

    def now(self) -> dict[str, Value]:
        """The inputs of the last cycle run."""
        return self._last

    def run(self, records: Sequence[bytes], number: int) -> Outcome:
        """Run cycle records again, in the order of their sequence, all under the settings of this number."""
        given = np.frombuffer(b"".join(records), self._cycle)
        nows, outs = np.empty(len(given), self._nows), np.empty(len(given), self._outs)
        for name in self._inputs:
            nows[name] = given["now"][name]
        for name in self._left:
            nows[name] = self._default[name]
        self._last = {name: nows[name][-1].tolist() for name in self._nows.names}
        self._kernel.again(self._settings, nows, self._memory, self._out, outs)
        outcome = Outcome()
        others = given["settings"] != number
        if others.any():
            outcome.other_settings = int(others.argmax())
        recorded = given["out"]
        differ = np.zeros(len(given), bool)
        for name in self._outputs:
            unequal = outs[name] != recorded[name]
            differ |= unequal.any(axis=1) if unequal.ndim > 1 else unequal
        outcome.different = int(differ.sum())
        if outcome.different:
            first = outcome.first = int(differ.argmax())
            outcome.recorded = {name: recorded[name][first].tolist() for name in self._outputs}
            outcome.replayed = {name: outs[name][first].tolist() for name in self._outputs}
        return outcome

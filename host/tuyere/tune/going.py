"""A rehearsed night that goes on in parts, so that an order can be given in the middle of it."""

from __future__ import annotations

from typing import Any

import numpy as np
from hearth.core import Memory, Now, Out, Settings, experiment, fields

from tuyere.meat import piece_slots as piece
from tuyere.sim import compiled, kernel
from tuyere.tune import worlds

Array = Any  # a numpy array of float64
ASKED_S = 120.0  # an experiment is asked for this often until the board begins it
ASKS_S = 3 * 3600.0  # for this long


class Going:
    """The law in front of a pit (s, p, m, q, e, w, written over), from the start order on."""

    def __init__(self, settings: Settings, world: list[Array]) -> None:
        self.records = [compiled.record(kind) for kind in (Settings, Now, Memory, Out)]
        self.world = world
        self.traces: list[Array] = []
        self.seconds = 0.0
        setting, now, memory, _ = self.records
        for name, _count in Settings.NAMES:
            setattr(setting, name, getattr(settings, name))
        now.order = fields.ORDER_START
        memory.low, memory.high = setting.band_low, setting.band_high

    def on(self, seconds: float) -> Array:
        """So long on; the trace of it, a row of `kernel.TRACE` numbers a period."""
        cycles = max(0, int(seconds / kernel.PERIOD_S))
        trace = np.zeros(cycles * kernel.TRACE)
        worlds.cook()(*self.records, *self.world, cycles, trace, piece.PROBE, piece.SIZE, piece.ON)
        self.traces.append(trace.reshape(-1, kernel.TRACE))
        self.seconds += cycles * kernel.PERIOD_S
        return self.traces[-1]

    def experiment(self, step: float, until_s: float) -> None:
        """Ask for an experiment until it has lasted 40 min in all, as a person would; step: share of the fan."""
        _, now, memory, _ = self.records
        left, last = experiment.LONGEST, min(until_s, self.seconds + ASKS_S)
        while left >= ASKED_S and self.seconds + ASKED_S <= last:
            if memory.trial_left == 0:
                now.order, now.first, now.second = fields.ORDER_EXPERIMENT, round(step * fields.FULL), left
            part = self.on(ASKED_S)
            left -= int(np.sum(part[:, kernel.T_REASON] == fields.EXPERIMENTING) * kernel.PERIOD_S)

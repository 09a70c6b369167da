"""Which band was in force at each cycle.

It stands in the state records; between them it is followed through the cycles as the board
does it (`hearth.core.orders`, `hearth.core.programme`): an accepted order gives a band, and a phase
brings its own. Nothing here decides anything: a replay with the log's own core is the exact account.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence

from hearth.core import fields
from msgspec import Struct

from .decode import Layout, Value

_DEFAULT = {row[0]: row[5] / row[2] for row in fields.MEMORY if row[0] in ("low", "high")}
WANTED = (
    *(("head", "sequence"), ("now", "order"), ("now", "first"), ("now", "second")),
    *(("out", "state"), ("out", "answer"), ("out", "phase")),
)
Columns = Mapping[tuple[str, str], Sequence[int]]


class _Known(Struct):
    """What one state record says of the band; degrees in the board's whole numbers."""

    sequence: int
    low: int
    high: int
    phase: int
    state: int
    rows: list[int]  # of the programme, laid flat
    band: tuple[int, int] | None  # of the settings


def _one(values: Mapping[str, Value], name: str, otherwise: int = 0) -> int:
    value = values.get(name, otherwise)
    return value if isinstance(value, int) else otherwise


class Bands:
    """Give it a boot's state records, then its cycles in rising order, in any portions."""

    def __init__(self, layout: Layout, states: Sequence[bytes]) -> None:
        self._scales = (layout.scale("memory", "low"), layout.scale("memory", "high"))
        self._order_scale = 100  # orders are in 0.01 C, see `messages.ORDERS`
        self._states = [known for record in states if layout.fits(record) for known in [self._read(layout, record)]]
        self._next = 0  # of the states
        self._known: _Known | None = None
        first = self._states[0] if self._states else None
        self._low = first.low / self._scales[0] if first else _DEFAULT["low"]
        self._high = first.high / self._scales[1] if first else _DEFAULT["high"]
        self._phase = self._state = 0

    @staticmethod
    def _read(layout: Layout, record: bytes) -> _Known:
        memory, settings = layout.state_parts(record)[2:]
        rows = memory.get("rows", [])
        used = _one(memory, "phases") * fields.ROW
        band = (_one(settings, "band_low"), _one(settings, "band_high")) if "band_low" in settings else None
        low, high = _one(memory, "low", fields.ABSENT), _one(memory, "high", fields.ABSENT)
        programme = rows[:used] if isinstance(rows, list) else []
        sequence = int.from_bytes(record[5:9], "little")  # see `messages.HEAD`
        return _Known(sequence, low, high, _one(memory, "phase"), _one(memory, "state"), programme, band)

    def columns(self, cycles: Columns) -> tuple[list[float], list[float]]:
        """Low and high, degrees C, for the next cycles (columns WANTED, as `Layout.pick` gives them).

        Before a boot's first state record that one's band is taken; without any, the board's default.
        """
        sequences = cycles["head", "sequence"]
        count = len(sequences)
        none = (0,) * count
        orders, phases = cycles.get(("now", "order"), none), cycles.get(("out", "phase"), none)
        points = [(i, 1) for i in range(count) if orders[i]]
        points += [(i, 1) for i in range(1, count) if phases[i] != phases[i - 1] and not orders[i]]
        if count and not orders[0]:
            points.append((0, 1))
        while self._next < len(self._states) and count and self._states[self._next].sequence < sequences[-1]:
            points.append((bisect_left(sequences, self._states[self._next].sequence), 0))
            self._next += 1
        taken = self._next - sum(1 for _, kind in points if not kind)
        low: list[float] = []
        high: list[float] = []
        for i, kind in sorted(points):
            low += [self._low] * (i - len(low))
            high += [self._high] * (i - len(high))
            if kind:
                self._cycle(cycles, i)
            else:
                self._take(self._states[taken])
                taken += 1
        low += [self._low] * (count - len(low))
        high += [self._high] * (count - len(high))
        if count:
            self._phase = phases[-1]
            self._state = cycles.get(("out", "state"), none)[-1]
        return low, high

    def _take(self, known: _Known) -> None:
        self._known = known
        self._phase, self._state = known.phase, known.state
        self._set(known.low / self._scales[0], known.high / self._scales[1])

    def _set(self, low: float, high: float) -> None:
        self._low, self._high = low, high

    def _cycle(self, cycles: Columns, i: int) -> None:
        """A cycle with an order, or in another phase than the one before."""
        none = (0,) * (i + 1)
        order, phase = cycles.get(("now", "order"), none)[i], cycles.get(("out", "phase"), none)[i]
        accepted = cycles.get(("out", "answer"), none)[i] == fields.ACCEPTED
        states = cycles.get(("out", "state"), none)
        was = states[i - 1] if i else self._state
        before = cycles.get(("out", "phase"), none)[i - 1] if i else self._phase
        known = self._known
        if order == fields.ORDER_BAND and accepted:
            first, second = cycles["now", "first"][i], cycles["now", "second"][i]
            self._set(first / self._order_scale, second / self._order_scale)
        if known is None:
            return
        begun = order == fields.ORDER_START and accepted and was in (fields.OFF, fields.BURNOUT)
        if begun and not known.rows and known.band:
            self._set(known.band[0] / self._scales[0], known.band[1] / self._scales[1])
        if phase != before or (order == fields.ORDER_PHASE and accepted):
            row = known.rows[phase * fields.ROW : phase * fields.ROW + 2]
            if len(row) == 2:
                self._set(row[0] / self._scales[0], row[1] / self._scales[1])

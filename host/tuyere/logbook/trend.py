"""Cycle columns for the screen. Only the fields that it shows are decoded, which keeps this fast."""

from __future__ import annotations

from collections.abc import Sequence

from hearth.core import fields

from tuyere.logbook.clock import Clock
from tuyere.logbook.decode import Layout
from tuyere.logbook.rows import Trend

MEATS = ("meat_1", "meat_2", "meat_3")
BAND = {row[0]: row[5] / row[2] for row in fields.OUT if row[0] in ("low", "high")}  # of a layout without them
COLUMNS = (*MEATS, "ambient")
NAMES = ("at", "pit", "fan", "low", "high", *COLUMNS)
WANTED = (
    *(("head", "at"), ("now", "pit"), ("now", "faults"), ("out", "bad"), ("out", "fan")),
    *(("now", name) for name in COLUMNS),
    *(("out", edge) for edge in BAND),
)


def run(cook: int, layout: Layout, clock: Clock, cycles: Sequence[bytes]) -> Trend:
    """Cycle records of one boot in the order of their sequence -> a Trend."""
    columns = layout.pick(WANTED, b"".join(cycles))
    count = len(cycles)
    trend = Trend(cook=cook, last=0, at=clock.column(columns["head", "at"]))
    for edge, default in BAND.items():
        told = columns.get(("out", edge))
        scale = layout.scale("out", edge)
        setattr(trend, edge, [default] * count if told is None else [value / scale for value in told])
    faults = columns.get(("now", "faults"), (0,) * count)
    if found := columns.get(("out", "bad")):  # what core found wrong besides
        faults = [one | other for one, other in zip(faults, found, strict=True)]
    pit = columns.get(("now", "pit"))
    if pit is None:
        trend.pit = [None] * count
    else:
        scale = layout.scale("now", "pit")
        trend.pit = [None if fault else value / scale for value, fault in zip(pit, faults, strict=True)]
    scale = layout.scale("out", "fan") * 100  # the table's fan is in %
    trend.fan = [value / scale for value in columns.get(("out", "fan"), (0,) * count)]
    for name in COLUMNS:
        values = columns.get(("now", name), ())
        scale = layout.scale("now", name)
        column: list[float | None] = [None] * count
        if any(value > fields.ABSENT for value in values):
            column = [None if value <= fields.ABSENT else value / scale for value in values]
        setattr(trend, name, column)
    return trend


def joined(cook: int, last: int, runs: Sequence[Trend]) -> Trend:
    """Runs of several boots as one Trend, oldest first."""
    parts = sorted((part for part in runs if part.at), key=lambda part: part.at[0])
    if len(parts) == 1:
        parts[0].last = last
        return parts[0]
    whole = Trend(cook=cook, last=last)
    for part in parts:
        for name in NAMES:
            getattr(whole, name).extend(getattr(part, name))
    if any(map(int.__gt__, whole.at, whole.at[1:])):  # boots whose estimated times overlap
        order = sorted(range(len(whole.at)), key=whole.at.__getitem__)
        for name in NAMES:
            column = getattr(whole, name)
            setattr(whole, name, [column[i] for i in order])
    return whole

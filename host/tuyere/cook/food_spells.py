"""When nothing heats a piece of meat: by the events of its cook, and by the pit's own readings."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Protocol

from tuyere.cook.noted import Noted

LEAVES = ("out", "in_box", "cooling", "in_fridge", "carved", "thrown_away")
ENTERS = ("meat_on", "in_oven", "hold_oven", "hold_pit")
OVENS, NO_OVEN = ("in_oven", "hold_oven"), ("meat_on", "hold_pit", *LEAVES)
Spell = tuple[int, int]  # from, to, UTC ms


class Columns(Protocol):
    """What the board read, oldest first, about one entry a minute; None where there was no reading."""

    @property
    def at(self) -> Sequence[int]:
        """UTC ms."""

    @property
    def pit(self) -> Sequence[float | None]:
        """C."""

    @property
    def meats(self) -> Sequence[Sequence[float | None]]:
        """C, by probe."""


def is_of(event: Noted, piece: int) -> bool:
    """Whether an event is of this piece; of those of all, only the meat going on and the probes being seated are."""
    return event.piece == piece if event.piece else event.kind in ("meat_on", "probe_seated")


def first_on(events: Sequence[Noted], on_at: int) -> int:
    """When it went on for the first time: it may have come out, and have been put back since."""
    left = next((event.at for event in events if event.kind in LEAVES and event.at < on_at), 0)
    return max((event.at for event in events if event.kind == "meat_on" and event.at <= left), default=on_at)


def out_of_heat(events: Sequence[Noted], on_at: int, now: int) -> list[Spell]:
    """When it was out of pit and oven, by its events in time."""
    spells: list[Spell] = []
    began = 0
    for event in events:
        if event.at < on_at:
            continue
        if event.kind in LEAVES and not began:
            began = event.at
        elif event.kind in ENTERS and began:
            spells.append((began, event.at))
            began = 0
    return [*spells, (began, now)] if began else spells


def in_oven(events: Sequence[Noted], now: int) -> list[Spell]:
    """When it was in an oven, whose heat is not read."""
    spells: list[Spell] = []
    began = 0
    for event in events:
        if event.kind in OVENS and not began:
            began = event.at
        elif event.kind in NO_OVEN and began:
            spells.append((began, event.at))
            began = 0
    return [*spells, (began, now)] if began else spells


def dead_pit(columns: Columns, on_at: int, now: int, keeps: float, ovens: Sequence[Spell]) -> list[Spell]:
    """When the pit was too cool to keep meat at the limit, `keeps` C. Without a reading the last one counts on."""
    spells: list[Spell] = []
    began = 0
    for at, pit in zip(columns.at, columns.pit, strict=True):
        if pit is None or math.isnan(pit) or at > now:
            continue
        if pit < keeps and not began:
            began = max(at, on_at)
        elif pit >= keeps and began:
            spells.append((began, at))
            began = 0
    if began:
        spells.append((began, now))
    spells = [(one, end) for one, end in spells if end > on_at or end == now]
    for one, end in ovens:
        spells = [part for spell in spells for part in _without(spell, one, end)]
    return spells


def _without(spell: Spell, one: int, end: int) -> list[Spell]:
    """The parts of a spell that lie outside another."""
    if end <= spell[0] or one >= spell[1]:
        return [spell] if spell[0] < spell[1] else []
    return [part for part in ((spell[0], one), (end, spell[1])) if part[0] < part[1]]


def joined(spells: Iterable[Spell]) -> list[Spell]:
    joined: list[Spell] = []
    for one, end in sorted(spells):
        if joined and one <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(end, joined[-1][1])
        else:
            joined.append((one, end))
    return joined

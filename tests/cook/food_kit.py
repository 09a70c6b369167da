"""Cooks with invented readings, a minute apart, for what is said of food safety."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tuyere.cook import food_safety
from tuyere.cook.food_history import HOUR, MINUTE, History, history
from tuyere.cook.snapshot import Decision, Event, Kitchen, Piece
from tuyere.forecast.exchange import Columns
from tuyere.meat import regions, safety
from tuyere.text import Reader, rendered

ON = 1_700_000_000_000
Read = Sequence[float | None]


def straight(start: float, end: float, hours: float) -> list[float | None]:
    """A reading a minute from start, and the end is the next one."""
    count = round(hours * 60)
    return [start + (end - start) * i / count for i in range(count)]


COOKED = [*straight(5.0, 94.0, 11.0), 94.0]  # 10 C after 37 min, 54.4 C after 6.1 h: within the rule
OUT = ON + 11 * HOUR


def columns(meat: Read, pit: Read | None = None) -> Columns:
    count = len(meat)
    there = list(pit if pit is not None else [128.0] * count)
    none: list[float | None] = [None] * count
    at = [ON + i * MINUTE for i in range(count)]
    return Columns(at, there, [0.3] * count, [121.0] * count, [135.0] * count, none, [list(meat), none, none])


def event(kind: str, at: int, value: float | None = None, piece: int = 1) -> Event:
    return Event(id=at, at=at, noted=at, kind=kind, piece=piece, value=value)


def known(
    meat: Read, *events: Event, now: int = 0, pit: Read | None = None, probe: int = 1, place: str = "pit",
    limit: float = 60.0, pit_error: float = safety.PIT_ERROR,
) -> History:  # fmt: skip
    """The history of a piece until `now`, else until its last reading."""
    there = columns(meat, pit)
    return history(ON, 1, probe, there, events, now or there.at[-1], limit, place, pit_error)


def decided(meat: Read, *events: Event, intact: bool = True, room: float = 20.0, **given: Any) -> Decision:
    """By the US rules: the tests name their sources."""
    return food_safety.decision(known(meat, *events, **given), "Alder", intact, room, regions.rules("home", "us"))


def looked(meat: Read, *events: Event, now: int = 0, place: str = "pit", **piece: Any) -> food_safety.Looked:
    there = columns(meat)
    given = {"mass": 5.0, "probe": 1, "on_at": ON, "place": place, **piece}
    return food_safety.look(Piece(id=1, name="Alder", **given), there, events, now or there.at[-1], Kitchen())


def words(found: Decision, units: str = "C") -> str:
    return " | ".join(rendered(found.said, Reader(units)))

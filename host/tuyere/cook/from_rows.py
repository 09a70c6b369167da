"""Rows of the logbook as the structs that a screen shows."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.cook import care
from tuyere.cook import snapshot as model
from tuyere.logbook import rows
from tuyere.logbook.kinds import TWIN_KINDS


def events(found: Sequence[rows.Event]) -> list[model.Event]:
    """Rows of the logbook as a screen's events, in the same order."""
    return [model.Event(e.id, e.at, e.noted, e.kind, e.piece, e.value, e.text, _by(e)) for e in found]


def _by(event: rows.Event) -> str:
    """Who did it: "" a person, "twin" the hands of a simulated cook, else "board"."""
    if not event.source:
        return ""
    return "twin" if event.kind in TWIN_KINDS else "board"


def alarms(found: Sequence[rows.Alarm]) -> list[model.Alarm]:
    """Standing alarms, urgent first, then the newest first."""
    shown = [
        model.Alarm(a.id, a.raised, a.level, a.what, a.why, a.checks, a.acknowledged, a.shelved, a.cleared, a.code)
        for a in found
    ]
    return sorted(shown, key=urgent_first)


def urgent_first(alarm: model.Alarm) -> tuple[bool, int, int]:
    """Order of alarms: urgent before warnings, meat that nobody keeps warm before all else, newest before older."""
    return alarm.level != "urgent", care.rank(alarm.code), -alarm.raised


def pieces(found: Sequence[rows.Piece], cycle: model.Cycle | None) -> list[model.Piece]:
    """Pieces with their temperature: by probe while they are in the heat and read, else by hand."""
    shown = []
    for p in found:
        by_probe = None
        if cycle is not None and 1 <= p.probe <= len(cycle.meats) and p.place != "carved":
            by_probe = cycle.meats[p.probe - 1]
        by_hand = by_probe is None and p.hand is not None
        shown.append(model.Piece(
            p.id, p.name, p.cut, p.mass, p.probe, p.place, p.hand if by_hand else by_probe, by_hand,
            p.shade, p.shade_at, p.wrap, p.on_at,
            p.flat, p.point, p.start, p.intact, p.target, p.wanted_shade, p.wrap_with,
        ))  # fmt: skip
    return shown


def trend(found: rows.Trend, *, whole: bool = False) -> model.Trend:
    """Columns of the logbook as a screen's trend; the columns themselves are shared, not copied."""
    return model.Trend(
        found.cook, found.last, found.at, found.pit, found.fan, found.low, found.high,
        found.meat_1, found.meat_2, found.meat_3, whole,
    )  # fmt: skip

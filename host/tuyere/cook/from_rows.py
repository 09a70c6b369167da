"""Rows of the logbook as the structs that a screen shows."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.cook import care
from tuyere.cook import snapshot as model
from tuyere.cook.places import GONE
from tuyere.logbook import rows
from tuyere.logbook.kinds import TWIN_KINDS


def events(found: Sequence[rows.Event]) -> list[model.Event]:
    """Rows of the logbook as a screen's events, in the same order."""
    return [
        model.Event(id=e.id, at=e.at, noted=e.noted, kind=e.kind, piece=e.piece, value=e.value, text=e.text, by=_by(e))
        for e in found
    ]


def _by(event: rows.Event) -> str:
    """Who did it: "" a person, "twin" the hands of a simulated cook, else "board"."""
    if not event.source:
        return ""
    return "twin" if event.kind in TWIN_KINDS else "board"


def alarms(found: Sequence[rows.Alarm]) -> list[model.Alarm]:
    """Standing alarms, urgent first, then the newest first."""
    shown = [
        model.Alarm(
            id=a.id,
            raised=a.raised,
            level=a.level,
            what=a.what,
            why=a.why,
            checks=a.checks,
            acknowledged=a.acknowledged,
            shelved=a.shelved,
            cleared=a.cleared,
            code=a.code,
        )
        for a in found
    ]
    return sorted(shown, key=urgent_first)


def urgent_first(alarm: model.Alarm) -> tuple[bool, int, int]:
    """Order of alarms: urgent before warnings, meat that nobody keeps warm first, newest before older."""
    return alarm.level != "urgent", care.rank(alarm.code), -alarm.raised


def pieces(found: Sequence[rows.PieceRow], cycle: model.Cycle | None) -> list[model.Piece]:
    """Pieces with their temperature: by probe while they are in the heat and read, else by hand."""
    shown = []
    for p in found:
        by_probe = None
        if cycle is not None and 1 <= p.probe <= len(cycle.meats) and p.place not in GONE and p.probe != cycle.beside:
            by_probe = cycle.meats[p.probe - 1]
        by_hand = by_probe is None and p.hand is not None
        shown.append(
            model.Piece(
                id=p.id,
                name=p.name,
                cut=p.cut,
                mass=p.mass,
                probe=p.probe,
                place=p.place,
                temperature=p.hand if by_hand else by_probe,
                by_hand=by_hand,
                shade=p.shade,
                shade_at=p.shade_at,
                wrap=p.wrap,
                on_at=p.on_at,
                flat=p.flat,
                point=p.point,
                start=p.start,
                intact=p.intact,
                target=p.target,
                wanted_shade=p.wanted_shade,
                wrap_with=p.wrap_with,
                held=p.held,
                oven=p.oven,
                tender_at=p.tender_at,
                not_tender_at=p.not_tender_at,
                part_of=p.part_of,
                parted_at=p.parted_at,
            )
        )
    return shown


def trend(found: rows.Trend, *, whole: bool = False) -> model.Trend:
    """Columns of the logbook as a screen's trend; the columns themselves are shared, not copied."""
    return model.Trend(
        cook=found.cook,
        last=found.last,
        at=found.at,
        pit=found.pit,
        fan=found.fan,
        low=found.low,
        high=found.high,
        meat_1=found.meat_1,
        meat_2=found.meat_2,
        meat_3=found.meat_3,
        whole=whole,
    )

"""Gathers what is known of the open cook, for a forecast."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from tuyere.cook import carving, earlier, follows, kitchen, programme, snapshot
from tuyere.cook.places import CHILLED, GONE
from tuyere.forecast.exchange import Columns, Earlier, Known, KnownPiece, Note
from tuyere.logbook import rows
from tuyere.text import plain

OF_THE_PIT = frozenset((
    "meat_on", "pan_filled", "fuel_added", "ash_knocked", "wood_added", "opened", "spritzed", "opened_told",
    "opened_felt", "probe_seated",
))  # fmt: skip


def known(
    now: int,
    cook: rows.Cook,
    pieces: Sequence[rows.PieceRow],
    events: Sequence[snapshot.Event],
    columns: Columns,
    cycle: snapshot.Cycle | None,
    given: snapshot.Kitchen,
    serve: int = 0,
    before: Sequence[earlier.Night] = (),
) -> Known:
    """`events` are all of the cook, in any order. serve: when its meat is served, UTC ms; 0: not told. before: the
    user's own nights before this one."""
    by_time = sorted(events, key=lambda event: (event.at, event.id))
    rule = kitchen.limit(given)
    return Known(
        now=now,
        low=cycle.low if cycle is not None else programme.LOW,
        high=cycle.high if cycle is not None else programme.HIGH,
        altitude=given.altitude,
        cooker=given.cooker,
        fuel=given.fuel,
        hold=given.hold,
        use=given.use,
        region=given.region,
        vented=given.vented,
        limit=rule.c or 60.0,
        room=given.room,
        pit_error=given.pit_error,
        lead=given.lead,
        meat_on=cook.meat_on,
        done_by=carving.must_be_done([row.cut for row in pieces if row.place not in (*GONE, *CHILLED)], serve)
        if serve
        else 0,
        pieces=[_piece(row, follows.own_events(row, pieces, by_time)) for row in pieces],
        notes=[_note(event) for event in by_time if not event.piece and event.kind in OF_THE_PIT],
        columns=columns,
        earlier=[msgspec.convert(night, Earlier, from_attributes=True) for night in before],
        seed=cook.id,
    )


def _piece(row: rows.PieceRow, by_time: Sequence[snapshot.Event]) -> KnownPiece:
    by_time = sorted(by_time, key=lambda event: (event.at, event.id))
    notes = [_note(e) for e in by_time if e.piece == row.id or (not e.piece and e.kind == "spritzed")]
    return KnownPiece(
        id=row.id,
        name=row.name,
        cut=row.cut or "packer",
        mass=row.mass,
        flat=row.flat,
        point=row.point,
        start=row.start,
        intact=row.intact,
        target=row.target,
        probe=row.probe,
        place=row.place,
        held=row.held or bool(row.tender_at),
        on_at=row.on_at,
        wrap_with=row.wrap_with,
        wanted_shade=row.wanted_shade,
        notes=notes,
    )


def _note(event: snapshot.Event) -> Note:
    text = plain(event.text) or ("paper" if event.kind == "wrapped" else "")  # as the screen reads it
    return Note(event.at, event.kind, event.value, text)

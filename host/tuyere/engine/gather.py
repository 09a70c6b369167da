"""From what the engine holds to what a screen shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import msgspec

from tuyere.cook import prompts, wording
from tuyere.cook import snapshot as model
from tuyere.logbook import rows
from tuyere.logbook.kinds import TWIN_KINDS

if TYPE_CHECKING:
    from tuyere.engine.engine import Engine

EVENTS_SHOWN = 50
STALE = 10.0  # s
PLACES = {"out": "out", "in_oven": "oven", "in_box": "box", "carved": "carved"}


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


def urgent_first(alarm: model.Alarm) -> tuple[bool, int]:
    """Order of alarms: urgent before warnings, the newest before older ones."""
    return alarm.level != "urgent", -alarm.raised


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


def piece_by_events(piece: int, found: Sequence[Any]) -> dict[str, Any]:
    """The fields of a piece that its events decide; the order of noting does not matter, only when they happened."""
    fields: dict[str, Any] = {}
    for event in sorted(found, key=lambda e: (e.at, e.id)):
        if event.piece not in (0, piece):
            continue
        if event.kind == "meat_on":
            fields.update(on_at=event.at, place="pit")
        elif event.piece == 0:
            continue
        elif event.kind == "shade":
            fields.update(shade=None if event.value is None else round(event.value), shade_at=event.at)
        elif event.kind == "wrapped":
            fields["wrap"] = event.text or "paper"
        elif event.kind == "hand_reading":
            fields.update(hand=event.value, hand_at=event.at)
        elif event.kind in PLACES:
            fields["place"] = PLACES[event.kind]
    return fields


def place_since(piece: int, found: Sequence[model.Event]) -> int:
    """When a piece came to the place where it is, UTC ms, by a cook's events in any order; 0 if that is the pit.

    The same place noted twice counts from the first time.
    """
    place, since = "pit", 0
    for event in sorted(found, key=lambda e: (e.at, e.id)):
        new = "pit" if event.kind == "meat_on" and event.piece in (0, piece) else ""
        new = PLACES.get(event.kind, "") if event.piece == piece and not new else new
        if new and new != place:
            place, since = new, event.at
    return since if place != "pit" else 0


def piece_undone(kind: str) -> dict[str, Any]:
    """The fields of a piece that such an event decides, as they are before any."""
    if kind in PLACES:
        return {"place": "pit"}
    undone: dict[str, dict[str, Any]] = {
        "meat_on": {"on_at": 0, "place": "pit"},
        "shade": {"shade": None, "shade_at": 0},
        "wrapped": {"wrap": ""},
        "hand_reading": {"hand": None, "hand_at": 0},
    }
    return undone.get(kind, {})


def trend(found: rows.Trend) -> model.Trend:
    """Columns of the logbook as a screen's trend; the columns themselves are shared, not copied."""
    return model.Trend(
        found.cook, found.last, found.at, found.pit, found.fan, found.low, found.high,
        found.meat_1, found.meat_2, found.meat_3,
    )  # fmt: skip


def snapshot(engine: Engine) -> model.Snapshot:
    """All that a screen shows but the trend."""
    board, cooking = engine.board, engine.cooking
    cycle, now, row = board.readout.cycle, engine.now(), cooking.cook
    stale = cycle is not None and (board.silent > STALE or board.link.state != "open")
    cook, link = None, board.link
    if row is not None:
        cook = model.Cook(
            row.id, row.name, row.started, row.ended, row.meat_on, row.simulated, row.board,
            cooking.cycles, cooking.score.share,
        )  # fmt: skip
        link = msgspec.structs.replace(link, recorded=cooking.recorded, missing=cooking.missing)
    live = None if stale else cycle
    shown = pieces(cooking.pieces, live)
    for piece in shown:
        piece.place_since = place_since(piece.id, cooking.events)
    shot = model.Snapshot(
        now=now,
        link=link,
        words=wording.stands(live, board.readout.fault_bits, cooking.empty)
        if live is not None
        else wording.without_cycle(board.link),
        cycle=cycle,
        stale=stale,
        cook=cook,
        phases=cooking.phases,
        phase_since=board.readout.phase_since,
        pieces=shown,
        alarms=sorted([*cooking.standing, *engine.alarms.unwritten], key=urgent_first),
        events=cooking.events[:EVENTS_SHOWN],
        last_note=cooking.last_note if cooking.open is not None else None,
        logbook=str(engine.logbook.path),
        stays=engine.stays,
    )
    engine.expected.show(shot)
    cooking.safety.show(shot, cooking.minutes, cooking.events)
    shot.prompts = prompts.prompts(
        cook, shot.pieces, cooking.events, now, live, cooking.phases, board.readout.phase_since,
        fuel_ends=shot.fuel_early, limit=engine.expected.limit,
    )  # fmt: skip
    return shot

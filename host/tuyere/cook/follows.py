"""Fields of a piece that follow from the events of its cook. Pure functions; the order of noting does not matter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol, TypeVar

import msgspec

from tuyere.cook import snapshot as model
from tuyere.text import plain

# Kind of event: (the place that a piece comes to, whether it is done and only kept hot there).
PLACES = {
    "out": ("out", False),
    "in_oven": ("oven", False),
    "hold_pit": ("pit", True),
    "hold_oven": ("oven", True),
    "in_box": ("box", False),
    "cooling": ("cooling", False),
    "in_fridge": ("fridge", False),
    "carved": ("carved", False),
    "thrown_away": ("thrown", False),
}
NOT_YET = "not yet"  # text of a note "tender": it was felt, and is not

E = TypeVar("E")


class Parted(Protocol):
    """What is needed of a piece to know whose events were its own before it was divided off."""

    id: int
    part_of: int
    parted_at: int


def own_events(piece: Parted, pieces: Sequence[Parted], found: Sequence[E]) -> Sequence[E]:
    """Events of a cook as this piece has them: up to the division, those of the piece it was a part of are its own."""
    if not piece.part_of:
        return found
    whole = next((one for one in pieces if one.id == piece.part_of), None)
    if whole is None:
        return found
    events: list[Any] = list(own_events(whole, pieces, found))
    before = [
        msgspec.structs.replace(event, piece=piece.id)
        for event in events
        if event.piece == whole.id and event.at <= piece.parted_at
    ]
    return [*(event for event in events if event.piece != whole.id), *before]


def piece_by_events(piece: int, found: Sequence[Any]) -> dict[str, Any]:
    """The fields of a piece that its events decide; the order of noting does not matter, only when they happened."""
    fields: dict[str, Any] = {}
    for event in sorted(found, key=lambda e: (e.at, e.id)):
        if event.piece not in (0, piece):
            continue
        if event.kind == "meat_on":
            fields.update(on_at=event.at, place="pit", held=False)
        elif event.piece == 0:
            continue
        elif event.kind == "shade":
            fields.update(shade=None if event.value is None else round(event.value), shade_at=event.at)
        elif event.kind == "wrapped":
            fields["wrap"] = plain(event.text) or "paper"
        elif event.kind == "hand_reading":
            fields.update(hand=event.value, hand_at=event.at)
        elif event.kind == "tender" and plain(event.text) == NOT_YET:
            fields.update(tender_at=0, not_tender_at=event.at)
        elif event.kind == "tender":
            fields["tender_at"] = event.at
        elif event.kind in PLACES:
            fields["place"], fields["held"] = PLACES[event.kind]
            if event.kind == "hold_oven":
                fields["oven"] = event.value
    return fields


def place_since(piece: int, found: Sequence[model.Event]) -> int:
    """When a piece came to the place where it is, UTC ms, by a cook's events in any order; 0 if it is in the pit since
    it went on.

    The same place noted twice counts from the first time.
    """
    place, since = ("pit", False), 0
    for event in sorted(found, key=lambda e: (e.at, e.id)):
        new = ("pit", False) if event.kind == "meat_on" and event.piece in (0, piece) else None
        new = PLACES.get(event.kind) if event.piece == piece and new is None else new
        if new is not None and new != place:
            place, since = new, event.at
    return since if place != ("pit", False) else 0


def piece_undone(kind: str) -> dict[str, Any]:
    """The fields of a piece that such an event decides, as they were before the first one."""
    if kind in PLACES:
        return {"place": "pit", "held": False, **({"oven": None} if kind == "hold_oven" else {})}
    undone: dict[str, dict[str, Any]] = {
        "meat_on": {"on_at": 0, "place": "pit", "held": False},
        "shade": {"shade": None, "shade_at": 0},
        "wrapped": {"wrap": ""},
        "hand_reading": {"hand": None, "hand_at": 0},
        "tender": {"tender_at": 0, "not_tender_at": 0},
    }
    return undone.get(kind, {})

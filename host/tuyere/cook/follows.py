"""Fields of a piece that follow from the events of its cook. Pure functions; the order of noting does not matter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tuyere.cook import snapshot as model
from tuyere.text import plain

PLACES = {"out": "out", "in_oven": "oven", "in_box": "box", "carved": "carved"}


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
            fields["wrap"] = plain(event.text) or "paper"
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
    """The fields of a piece that such an event decides, as they were before the first one."""
    if kind in PLACES:
        return {"place": "pit"}
    undone: dict[str, dict[str, Any]] = {
        "meat_on": {"on_at": 0, "place": "pit"},
        "shade": {"shade": None, "shade_at": 0},
        "wrapped": {"wrap": ""},
        "hand_reading": {"hand": None, "hand_at": 0},
    }
    return undone.get(kind, {})

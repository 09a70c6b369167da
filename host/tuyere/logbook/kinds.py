"""The events a person can note, and what each one may carry. Ranges of values are common practice, no source."""

from __future__ import annotations

from msgspec import Struct

from .errors import BadEntry


class Kind(Struct, frozen=True):
    """One kind of event: its words, the label of its value ("" if it has none) and the value's range."""

    words: str
    value: str = ""
    low: float = 0.0
    high: float = 0.0
    needs_piece: bool = False
    needs_value: bool = False
    texts: tuple[str, ...] = ()  # the texts it may carry; empty means any


KINDS: dict[str, Kind] = {
    "meat_on": Kind("meat on"),
    "moved": Kind("moved", needs_piece=True),
    "probe_seated": Kind("probe seated"),
    "pan_filled": Kind("water pan filled"),
    "fuel_added": Kind("fuel added", "kg", 0.0, 50.0, texts=("lit", "unlit")),
    "ash_knocked": Kind("ash knocked off"),
    "wood_added": Kind("wood added"),
    "opened": Kind("opened"),
    "spritzed": Kind("spritzed"),
    "shade": Kind("shade of the bark", "shade, 0 raw to 10 black", 0.0, 10.0, needs_piece=True, needs_value=True),
    "wrapped": Kind("wrapped", needs_piece=True, texts=("paper", "foil", "other")),
    "out": Kind("out of the pit", needs_piece=True),
    "in_oven": Kind("into the oven", needs_piece=True),
    "in_box": Kind("into the box", needs_piece=True),
    "carved": Kind("carved", needs_piece=True),
    "hand_reading": Kind("reading by hand", "C", -20.0, 150.0, needs_piece=True, needs_value=True),
    "said": Kind("note"),
}

PLACES = ("pit", "oven", "box", "out", "carved")
WRAPS = ("", "paper", "foil", "other")
LEVELS = ("urgent", "warning")


def check_event(kind: str, piece: int, value: float | None, text: str) -> None:
    """Raise BadEntry unless this event can be noted."""
    known = KINDS.get(kind)
    if known is None:
        raise BadEntry(f'there is no event "{kind}"; the events are {", ".join(KINDS)}')
    if known.needs_piece and not piece:
        raise BadEntry(f'"{known.words}" is about a piece: say which')
    if value is None:
        if known.needs_value:
            raise BadEntry(f'"{known.words}" needs a value ({known.value}): give a number')
    elif not known.value:
        raise BadEntry(f'"{known.words}" takes no value: leave {value:g} out')
    elif not known.low <= value <= known.high:  # refuses NaN too
        raise BadEntry(
            f'"{known.words}" of {value:g} is out of range: give {known.low:g} to {known.high:g} ({known.value})'
        )
    if known.texts and text and text not in known.texts:
        raise BadEntry(f'"{known.words}" cannot be "{text}": say {" or ".join(known.texts)}, or nothing')

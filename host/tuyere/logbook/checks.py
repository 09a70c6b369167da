"""Checks each field that a person may set on a piece or an alarm. BadEntry says what is allowed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tuyere.logbook.errors import BadEntry
from tuyere.logbook.kinds import OVEN_HOLDS, PLACES, PLANNED_WRAPS, WRAPS
from tuyere.text import Length, Mass, Measure, Temperature
from tuyere.text import text as typed

TIMES = ("acknowledged", "shelved", "cleared")


def text(what: str, *, empty: bool = True) -> Callable[[Any], str]:
    """A text."""

    def check(value: Any) -> str:
        if not isinstance(value, str) or not (empty or value.strip()):
            raise BadEntry(f"{what}: {value!r} is not valid; give {'a text' if empty else 'a text that is not empty'}")
        return value

    return check


def choice(what: str, choices: tuple[str, ...]) -> Callable[[Any], str]:
    """One of `choices`."""

    def check(value: Any) -> str:
        if value not in choices:
            raise BadEntry(f"{what}: {value!r} is not known; say {', '.join(c for c in choices if c)}")
        return str(value)

    return check


def number(what: str, low: float, high: float, *, none: bool = False) -> Callable[[Any], float | None]:
    """A number from low to high; None too if `none`."""

    def check(value: Any) -> float | None:
        if value is None and none:
            return None
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
            raise BadEntry(f"{what}: {value!r} is out of range or no number; give a number from {low:g} to {high:g}")
        return float(value)

    return check


def measure(
    what: str, said: Callable[[float], Measure], low: float, high: float, *, none: bool = False
) -> Callable[[Any], float | None]:
    """A measure from low to high, in the unit of its column; None too if `none`. said: what makes typed text of it."""

    def check(value: Any) -> float | None:
        if value is None and none:
            return None
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not number or not low <= value <= high:
            raise BadEntry(
                typed(
                    "{what}: {value} is out of range or no number; give {low} to {high}",
                    what=what, value=said(value) if number else repr(value), low=said(low), high=said(high),
                )
            )  # fmt: skip
        return float(value)

    return check


def whole(what: str, low: int, high: int, *, none: bool = False) -> Callable[[Any], int | None]:
    """A whole number from low to high; None too if `none`."""

    def check(value: Any) -> int | None:
        if value is None and none:
            return None
        if type(value) is not int or not low <= value <= high:
            raise BadEntry(f"{what}: {value!r} is out of range or not whole; give a whole number from {low} to {high}")
        return value

    return check


def truth(what: str) -> Callable[[Any], bool]:
    """True or False."""

    def check(value: Any) -> bool:
        if not isinstance(value, bool):
            raise BadEntry(f"{what}: {value!r} is neither yes nor no; say yes or no, true or false")
        return value

    return check


LATEST = 4_102_444_800_000  # UTC ms, the year 2100; later times are mistakes, and far later ones are no dates
PIECE_FIELDS: dict[str, Callable[[Any], Any]] = {
    "name": text("a name", empty=False),
    "cut": text("a cut"),
    "mass": measure("a mass", Mass, 0.01, 100, none=True),
    "probe": whole("a probe", 0, 3),
    "place": choice("a place", PLACES),
    "shade": whole("a shade", 0, 10, none=True),
    "shade_at": whole("a time of the shade", 0, LATEST),
    "wrap": choice("a wrap", WRAPS),
    "on_at": whole("a time of going on", 0, LATEST),
    "hand": measure("a hand reading", Temperature, -20, 150, none=True),
    "hand_at": whole("a time of the hand reading", 0, LATEST),
    "flat": measure("a thickness", Length, 0.005, 0.3, none=True),
    "point": measure("a thickness", Length, 0.005, 0.3, none=True),
    "start": measure("a temperature at the start", Temperature, -2, 40, none=True),
    "intact": truth("intact"),
    "target": measure("a target", Temperature, 50, 110),
    "wanted_shade": number("a wanted shade", 1, 10),
    "wrap_with": choice("a planned wrap", PLANNED_WRAPS),
    "held": truth("held"),
    "oven": measure("an oven's temperature", Temperature, *OVEN_HOLDS, none=True),
    "tender_at": whole("a time of being tender", 0, LATEST),
    "not_tender_at": whole("a time of not being tender", 0, LATEST),
    "part_of": whole("a piece", 0, 1 << 62),
    "parted_at": whole("a time of the division", 0, LATEST),
}
ALARM_FIELDS: dict[str, Callable[[Any], Any]] = {name: whole(f"a time ({name})", 0, LATEST) for name in TIMES}

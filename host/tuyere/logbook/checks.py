"""What a person may write of a piece or an alarm, checked field by field; BadEntry says what would do."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tuyere.logbook.errors import BadEntry
from tuyere.logbook.kinds import PLACES, PLANNED_WRAPS, WRAPS

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


def whole(what: str, low: int, high: int, *, none: bool = False) -> Callable[[Any], int | None]:
    """The same, whole."""

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


LATEST = (1 << 62) - 1  # UTC ms; anything below is taken
PIECE_FIELDS: dict[str, Callable[[Any], Any]] = {
    "name": text("a name", empty=False),
    "cut": text("a cut"),
    "mass": number("a mass in kg", 0.01, 100, none=True),
    "probe": whole("a probe", 0, 3),
    "place": choice("a place", PLACES),
    "shade": whole("a shade", 0, 10, none=True),
    "shade_at": whole("a time of the shade", 0, LATEST),
    "wrap": choice("a wrap", WRAPS),
    "on_at": whole("a time of going on", 0, LATEST),
    "hand": number("a hand reading in C", -20, 150, none=True),
    "hand_at": whole("a time of the hand reading", 0, LATEST),
    "flat": number("a thickness in m", 0.005, 0.3, none=True),
    "point": number("a thickness in m", 0.005, 0.3, none=True),
    "start": number("a temperature at the start in C", -2, 40, none=True),
    "intact": truth("intact"),
    "target": number("a target in C", 50, 110),
    "wanted_shade": number("a wanted shade", 1, 10),
    "wrap_with": choice("a planned wrap", PLANNED_WRAPS),
}
ALARM_FIELDS: dict[str, Callable[[Any], Any]] = {name: whole(f"a time ({name})", 0, LATEST) for name in TIMES}

"""Cooker, fuel, place and hot hold: what a forecast needs besides the pieces. Kept with the cook."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from tuyere import measures
from tuyere.codes import COOKERS
from tuyere.cook import arguments
from tuyere.cook.errors import Refusal
from tuyere.cook.snapshot import Kitchen
from tuyere.logbook import Logbook
from tuyere.meat import hold, regions, safety

NAME = "kitchen"  # of the cook's text
USES, REGIONS = regions.USES, tuple(regions.REGIONS)
LEADS = (45.0, 105.0)  # min from the wrap to the wanted shade; common practice, no source


def _one_of(what: str, choices: tuple[str, ...]) -> Callable[[Any], str]:
    def check(value: Any) -> str:
        if value not in choices:
            raise Refusal(f"{what}: {value!r} is not known; say {', '.join(c for c in choices if c)}")
        return str(value)

    return check


def _number(what: str, low: float, high: float) -> Callable[[Any], float]:
    return lambda value: arguments.number(what, value, low, high)


def _measure(what: str, quantity: measures.Quantity, low: float, high: float) -> Callable[[Any], float]:
    return lambda value: arguments.measure(what, value, quantity, low, high)


_OVEN = _measure("an oven's lowest setting", measures.TEMPERATURE, 40, 115)
FIELDS: dict[str, Callable[[Any], Any]] = {
    "cooker": _one_of("a cooker", ("", *COOKERS)),
    "fuel": lambda value: None if value is None else arguments.measure("charcoal", value, measures.MASS, 0.1, 60),
    "altitude": _measure("an altitude", measures.ALTITUDE, -400, 4500),
    "hold": _one_of("a place for the hot hold", tuple(hold.PLACES)),
    "vented": _number("minutes of venting", 0, 120),
    "room": _measure("a room's temperature", measures.TEMPERATURE, -30, 50),
    "use": _one_of("a use", USES),
    "region": _one_of("a region", REGIONS),
    "oven_lowest": lambda value: None if value is None else _OVEN(value),
    "oven_error": _measure("an oven's error", measures.SPAN, 0, 30),
    "pit_error": _measure("a pit's error", measures.SPAN, 0, 30),
    "lead": _number("minutes from the wrap to the wanted shade", *LEADS),
}


def read(logbook: Logbook, cook: int) -> Kitchen:
    """The kitchen of a cook, else that of the user's newest earlier real cook, without its charcoal."""
    text = logbook.cooks.text(cook, NAME)
    if text is not None:
        return _decoded(text)
    for earlier in reversed(logbook.cooks.all()):
        if earlier.id < cook and earlier.teaches and (text := logbook.cooks.text(earlier.id, NAME)):
            return msgspec.structs.replace(_decoded(text), fuel=None)
    return Kitchen()


def _decoded(text: str) -> Kitchen:
    try:
        return msgspec.json.decode(text, type=Kitchen)
    except msgspec.MsgspecError:
        return Kitchen()


def change(logbook: Logbook, cook: int, was: Kitchen, given: dict[str, Any]) -> Kitchen:
    """Check and store some fields; a Refusal says what is wrong."""
    for name in given:
        if name not in FIELDS:
            raise Refusal(f"a kitchen has no {name!r}; it has {', '.join(FIELDS)}")
    made = msgspec.structs.replace(was, **{name: FIELDS[name](value) for name, value in given.items()})
    logbook.cooks.set_text(cook, NAME, msgspec.json.encode(made).decode())
    return made


def limit(kitchen: Kitchen) -> safety.Rule:
    """The hot-hold limit with its rule. A stricter local rule goes first."""
    return regions.rules(kitchen.use, kitchen.region).hold

"""Checks of what a screen sent: a Refusal says what is wrong and what is allowed."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable
from typing import Any

from tuyere.cook.errors import Refusal
from tuyere.logbook.checks import LATEST
from tuyere.measures import Quantity
from tuyere.text import Range, text


def number(what: str, value: Any, low: float, high: float) -> float:
    """A number from low to high."""
    good = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not good or not low <= value <= high:
        raise Refusal(f"{what}: {value!r} is out of range or no number; give a number from {low:g} to {high:g}")
    return float(value)


def measure(what: str, value: Any, quantity: Quantity, low: float, high: float) -> float:
    """A measure from low to high, all in the unit used inside (kg, m, C); a refusal is in the units of its reader."""
    good = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not good or not low <= value <= high:
        given = quantity.said(float(value)) if good else repr(value)
        allowed = Range(quantity.said(low), quantity.said(high))
        raise Refusal(
            text("{what} of {given} is out of range: give {allowed}", what=what, given=given, allowed=allowed)
        )
    return float(value)


def whole(what: str, value: Any) -> int:
    """A whole number from 0 up."""
    if type(value) is not int or not 0 <= value < 1 << 62:
        raise Refusal(f"{what}: {value!r} is not a whole number from 0 up")
    return value


def instant(what: str, value: Any) -> int:
    """A time in UTC ms; 0 for none."""
    if type(value) is not int or not 0 <= value <= LATEST:
        raise Refusal(f"{what}: {value!r} is no time; give UTC in whole ms, up to the year 2100")
    return value


def unfit(function: Callable[..., Any], given: dict[str, Any]) -> str:
    """Why arguments by name do not fit a function ("got an unexpected keyword argument 'x'"), "" if they do.

    Checked before the call, so that a TypeError inside it is not reported as the caller's fault.
    """
    try:
        inspect.signature(function).bind(**given)
    except TypeError as error:
        return str(error)
    return ""

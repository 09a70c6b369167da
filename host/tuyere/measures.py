"""Numbers as a person reads them, for all that prints: shares in per cent, metric measures with those of the US."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

KG_PER_LB = 0.45359237
CM_PER_IN = 2.54
OWN_F = re.compile(r"-?\d+(?:\.\d+)?(?:-\d+(?:\.\d+)?)? C \((-?\d+(?:-\d+)? F)\)")  # "60 C (140 F)": it gives both


def percent(share: float, places: int = 0) -> str:
    """0.42 -> '42 %'; with places=1 '42.0 %'."""
    return f"{100.0 * share:.{places}f} %"


def _number(value: float) -> str:
    """Two figures or whole: '3.5', '40'."""
    return f"{value:.1f}".removesuffix(".0") if value < 9.95 else f"{value:.0f}"


def _inches(cm: float) -> str:
    """Below an inch to a quarter of it."""
    quarters = max(1, round(4.0 * cm / CM_PER_IN))
    return f"{ {1: '1/4', 2: '1/2', 3: '3/4'}[quarters] } in" if quarters < 4 else f"{_number(cm / CM_PER_IN)} in"


US: dict[str, Callable[[float], str]] = {
    "kg": lambda kg: f"{kg / KG_PER_LB:.0f} lb" if kg > 4.5 else f"{_number(kg / KG_PER_LB)} lb",
    "g": lambda g: f"{_number(g / KG_PER_LB * 0.016)} oz",
    "mm": lambda mm: _inches(mm / 10.0),
    "cm": _inches,
    "m": lambda m: f"{m * 100.0 / CM_PER_IN / 12.0:.0f} ft",
    "l": lambda litres: f"{math.ceil(litres / 0.946353 * 2.0 - 0.25) / 2.0:g} qt",  # to half a quart, never much short
}


def mass(kg: float, units: str) -> str:
    """'3.2 kg', and for those who read F '7.1 lb': where there is room for one of them."""
    return f"{kg:.1f} kg" if units.upper() == "C" else US["kg"](kg)


_METRIC = re.compile(rf"(?<![\w.])(\d+(?:\.\d+)?) ({'|'.join(US)})\b(?! \(\d| of each a kg)")
_RATE = re.compile(r"(\d+(?:\.\d+)?) g of each a kg\b(?! \(\d)")


def both(text: str, units: str) -> str:
    """'4.0 kg, 5 cm' -> '4.0 kg (8.8 lb), 5 cm (2 in)' for those who read F; the sentence as it is for C."""
    if units.upper() == "C":
        return text
    text = _RATE.sub(lambda m: f"{m[0]} ({_number(float(m[1]) * 0.016)} oz a lb)", text)
    return _METRIC.sub(lambda m: f"{m[0]} ({US[m[2]](float(m[1]))})", text)


# differences of temperature: "by 5 C", "2.4 C an hour", "5 C hotter", "5 C below its target"
DIFFERENCE = re.compile(
    r"(?:(?<=\bby )|(?<![\w.-])(?=[\d.]+ C (?:an hour|hotter|cooler|higher|lower|below its)\b))(\d+(?:\.\d+)?) C\b"
)


def in_units(text: str, units: str) -> str:
    """A sentence of the engine or the forecast with its temperatures in "C" (as they are) or "F"."""
    if units != "F":
        return text

    def degrees(found: re.Match[str]) -> str:
        parts = [part for part in found.groups() if part is not None]
        between = " to " if " to " in found[0] else "-"
        return between.join(f"{float(part) * 1.8 + 32:.0f}" for part in parts) + " F"

    text = OWN_F.sub(lambda own: own[1], text)
    text = DIFFERENCE.sub(lambda found: f"{float(found[1]) * 1.8:.{1 if float(found[1]) < 5 else 0}f} F", text)
    return re.sub(r"(?<![\w.:])(-?\d+(?:\.\d+)?)(?:(?:-| to )(\d+(?:\.\d+)?))? C\b", degrees, text)


def count(number: int, what: str) -> str:
    """'1 piece', '2 pieces'."""
    return f"{number:,} {what}{'' if number == 1 else 's'}"

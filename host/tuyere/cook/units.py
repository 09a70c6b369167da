"""Degrees as the person reads them. Everything inside is C; only words and axes are in F."""

from __future__ import annotations

FAHRENHEIT, CELSIUS = "F", "C"


def shown(celsius: float, units: str) -> float:
    """Degrees C -> degrees in `units`."""
    return celsius * 1.8 + 32 if units == FAHRENHEIT else celsius


def celsius(value: float, units: str) -> float:
    """Degrees in `units` -> degrees C."""
    return (value - 32) / 1.8 if units == FAHRENHEIT else value


def degrees(value: float | None, units: str) -> str:
    """'262 F', or '- F' without a reading."""
    return f"- {units}" if value is None else f"{shown(value, units):.0f} {units}"


def band(low: float, high: float, units: str) -> str:
    """'250-275 F'."""
    return f"{shown(low, units):.0f}-{shown(high, units):.0f} {units}"


def number(text: str) -> float | None:
    """What a person typed as a number ('250', '121.5', '121,5'), None if it is none."""
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return value if abs(value) < 1e6 else None  # also turns away nan and inf

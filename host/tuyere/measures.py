"""Numbers without a unit as a person reads them, and measures as a person types them.

What is printed with a unit is typed text (`tuyere.text`); this is the way back: `read("8 lb", MASS, "C")` is 3.63.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import NamedTuple

from tuyere.text import CM_PER_IN, FAHRENHEIT, KG_PER_LB, Length, Mass, Measure, Span, Temperature

_TYPED = re.compile(r"\s*([-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*([^\W\d_]*|[\"'])\s*\.?\s*")
_FRACTION = re.compile(r"\s*(?:(\d+)(?:\s+|\s*-\s*))?(\d+)\s*/\s*(\d+)(?=\D|$)")  # "1/4", "1 1/2", "1-1/2"
_GROUPED = re.compile(r"([-+]?\d{1,3}),(\d{3})(?!\d)")  # "3,000 ft"; but "5,5" is 5.5
_SIGNS = str.maketrans({"\u00b0": "", "\u00bc": " 1/4", "\u00bd": " 1/2", "\u00be": " 3/4"})
FINEST = 64  # a fraction of an inch has no larger denominator
MOST = 1e6  # a larger number is a slip, as are nan and inf


class Quantity(NamedTuple):
    """What is measured: its units by name with the way to the unit used inside, and the unit of a bare number for a
    reader of C and of F. `form` is an example for each of both, as a refusal gives it; `said` makes typed text of a
    value; `places` are as many as a value that was typed is kept with."""

    units: dict[str, Callable[[float], float]]
    metric: str
    us: str
    form: tuple[str, str]
    said: Callable[[float], Measure]
    places: int

    def bare(self, units: str) -> str:
        """The unit of a number without one, for who reads "F" or "C"."""
        return self.us if units.upper() == FAHRENHEIT else self.metric

    def example(self, units: str) -> str:
        """'18 kg' or '40 lb'."""
        return self.form[units.upper() == FAHRENHEIT]

    def inside(self, number: float, units: str) -> float:
        """A bare number of this reader -> the value inside."""
        return self.units[self.bare(units).lower()](number)

    def number(self, value: float, units: str) -> float:
        """A value inside -> the bare number for this reader."""
        zero = self.inside(0.0, units)
        return (value - zero) / (self.inside(1.0, units) - zero)


def _times(factor: float) -> Callable[[float], float]:
    return lambda value: value * factor


def _named(*units: tuple[str, float]) -> dict[str, Callable[[float], float]]:
    """'kg kilo kilos' and its factor, for each name of a unit."""
    return {name: _times(factor) for names, factor in units for name in names.split()}


_INCH, _FOOT = CM_PER_IN / 100.0, 12.0 * CM_PER_IN / 100.0
_MASSES = _named(
    ("kg kilo kilos", 1.0),
    ("g gram grams", 0.001),
    ("lb lbs pound pounds", KG_PER_LB),
    ("oz ounce ounces", KG_PER_LB / 16.0),
)
_LENGTHS = _named(
    ("cm", 0.01),
    ("mm", 0.001),
    ("m metre metres meter meters", 1.0),
    ('in inch inches "', _INCH),
    ("ft foot feet '", _FOOT),
)
MASS = Quantity(_MASSES, "kg", "lb", ("18 kg", "40 lb"), Mass, 3)
PORTION = Quantity(_MASSES, "g", "oz", ("180 g", "6 oz"), Mass, 4)
THICKNESS = Quantity(_LENGTHS, "cm", "in", ("5 cm", "2 in"), Length, 4)
ALTITUDE = Quantity(_LENGTHS, "m", "ft", ("900 m", "3000 ft"), Length, 1)
SPAN = Quantity({"c": float, "k": float, "f": _times(1.0 / 1.8)}, "C", "F", ("5 C", "9 F"), Span, 2)
TEMPERATURE = Quantity({"c": float, "f": lambda f: (f - 32.0) / 1.8}, "C", "F", ("121 C", "250 F"), Temperature, 2)


class Typed(NamedTuple):
    """A number as it was typed, and its unit ("" for none)."""

    number: float
    unit: str

    def value(self, quantity: Quantity, units: str) -> float:
        """In the unit used inside; a number without a unit is in that of who reads "F" or "C"."""
        return quantity.units[self.unit](self.number) if self.unit else quantity.inside(self.number, units)


def typed(words: str, quantity: Quantity) -> Typed | None:
    """'8 lb', '8lbs', '3,000 ft', '5,5', '1 1/2 in' -> number and unit; None if it is none of this quantity."""
    found = _TYPED.fullmatch(_decimal(_GROUPED.sub(r"\1\2", words.translate(_SIGNS))))
    if found is None:
        return None
    number, unit = float(found[1].replace(",", ".")), found[2].lower()
    if (unit and unit not in quantity.units) or not abs(number) < MOST:
        return None
    return Typed(number, unit)


def _decimal(words: str) -> str:
    """'1 1/2 in' -> '1.5 in'. What is no common fraction stays as it is."""
    found = _FRACTION.match(words)
    if found is None:
        return words
    whole, over, under = (int(part or 0) for part in found.groups())
    if not 0 < under <= FINEST or (found[1] and over >= under):
        return words
    return f"{whole + over / under:f}" + words[found.end() :]


def number(words: str) -> float | None:
    """A bare number as it was typed ('250', '121.5', '121,5'); None if it is none."""
    found = _TYPED.fullmatch(words)
    value = float(found[1].replace(",", ".")) if found is not None and not found[2] else MOST
    return value if abs(value) < MOST else None


def read(words: str, quantity: Quantity, units: str) -> float | None:
    """What a person typed, in the unit used inside (kg, m, litres, C); None if it is none of this quantity."""
    found = typed(words, quantity)
    return None if found is None else found.value(quantity, units)


def shown(value: float, quantity: Quantity, units: str) -> str:
    """A value as a form shows it, without its unit: three figures, or whole. `read` takes it back."""
    number = quantity.number(value, units)
    places = 0 if not number else max(0, 2 - math.floor(math.log10(abs(number))))
    return f"{round(number, places):g}" if abs(number) < MOST else f"{number:.0f}"


def percent(share: float, places: int = 0) -> str:
    """0.42 -> '42 %'; with places=1 '42.0 %'."""
    return f"{100.0 * share:.{places}f} %"


def count(number: int, what: str) -> str:
    """'1 piece', '2 pieces'."""
    return f"{number:,} {what}{'' if number == 1 else 's'}"

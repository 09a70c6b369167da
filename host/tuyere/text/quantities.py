"""Measures, and the number and unit that each has for a reader. `templates.py` puts them into sentences.

Values keep SI-like units inside: degrees C, kg, litres, metres, seconds, UTC in ms, shares of 1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, tzinfo

from msgspec import Struct

FAHRENHEIT, CELSIUS = "F", "C"
KG_PER_LB = 0.45359237
CM_PER_IN = 2.54
L_PER_QT = 0.946353
MINUTE = 60_000
HOUR = 60 * MINUTE


@dataclass(frozen=True)
class Reader:
    """For whom text is rendered: units "F" or "C", the time zone (None: this computer's), and the time now, UTC ms.

    `now` decides whether a clock time needs its day; 0 gives none. `keys`: pairs of an action and the key that this
    reader has for it, where it is not the usual one.
    """

    units: str = FAHRENHEIT
    zone: tzinfo | None = None
    now: int = 0
    keys: tuple[tuple[str, str], ...] = ()

    @property
    def metric(self) -> bool:
        return self.units.upper() != FAHRENHEIT


class Typed(Struct, frozen=True):
    """A value that becomes words only for its reader. In an f-string it is metric: a slip shows no source on a
    screen."""

    def shown(self, reader: Reader) -> str:
        """The words for this reader."""
        raise NotImplementedError

    def __format__(self, spec: str) -> str:
        return self.shown(Reader(CELSIUS))


class Single(Typed, frozen=True):
    """One number and its unit."""

    def parts(self, reader: Reader) -> tuple[str, str]:
        """Number and unit for this reader."""
        raise NotImplementedError

    def shown(self, reader: Reader) -> str:
        number, unit = self.parts(reader)
        return f"{number} {unit}".rstrip()


class Temperature(Single, frozen=True, tag="temperature"):
    """Degrees C; None: no reading. `places` are those of C; F, whose degree is smaller, has one fewer.

    `fives`: a pit or an oven that is set by hand; in F such are given by fives ('160 F' for 70 C).
    """

    c: float | None
    places: int = 0
    fives: bool = False

    def parts(self, reader: Reader) -> tuple[str, str]:
        if self.c is None:
            return "-", reader.units
        if reader.metric:
            return _whole(self.c, self.places), reader.units
        f = self.c * 1.8 + 32.0
        return _whole(5.0 * round(f / 5.0) if self.fives else f, max(0, self.places - 1)), reader.units


class Span(Single, frozen=True, tag="span"):
    """A difference of temperature, degrees C. Below 5 it is shown with one decimal place unless `places` says more.

    `sign`: a plus where it is more than 0.
    """

    c: float
    places: int | None = None
    sign: bool = False

    def degrees(self, reader: Reader) -> float:
        """In the reader's units."""
        return self.c if reader.metric else self.c * 1.8

    def decimals(self, reader: Reader) -> int:
        """Decimal places to show."""
        value = self.degrees(reader)
        if self.places is not None:
            return self.places
        return 1 if 0 < abs(value) < 5 and value != round(value) else 0

    def parts(self, reader: Reader) -> tuple[str, str]:
        number = _whole(self.degrees(reader), self.decimals(reader))
        return f"{'+' * (self.sign and self.c > 0)}{number}", reader.units


class Rate(Single, frozen=True, tag="rate"):
    """A rise or fall of temperature, degrees C an hour."""

    c_per_h: float

    def parts(self, reader: Reader) -> tuple[str, str]:
        value = self.c_per_h if reader.metric else self.c_per_h * 1.8
        return _whole(value, 1 if abs(value) < 5 else 0), f"{reader.units} an hour"


class Mass(Single, frozen=True, tag="mass"):
    """kg."""

    kg: float

    def parts(self, reader: Reader) -> tuple[str, str]:
        if reader.metric:
            return (_figures(self.kg * 1000.0), "g") if abs(self.kg) < 0.995 else (_whole(self.kg, 1), "kg")
        pounds = self.kg / KG_PER_LB
        if abs(pounds) < 15.5 / 16.0:
            return _figures(pounds * 16.0), "oz"
        return (_whole(pounds, 0) if abs(pounds) >= 9.95 else _figures(pounds)), "lb"


class Volume(Single, frozen=True, tag="volume"):
    """Litres."""

    litres: float

    def parts(self, reader: Reader) -> tuple[str, str]:
        if reader.metric:
            return _figures(self.litres), "l"
        # to half a quart, never much short: it is what to have ready
        return f"{math.ceil(self.litres / L_PER_QT * 2.0 - 0.25) / 2.0:g}", "qt"


class Length(Single, frozen=True, tag="length"):
    """Metres: from a thickness to an altitude."""

    m: float

    def parts(self, reader: Reader) -> tuple[str, str]:
        if reader.metric:  # each unit from where its rounded number begins: never "100 cm" beside "1 m"
            if abs(self.m) >= 0.995:
                return _figures(self.m), "m"
            return (_figures(self.m * 100.0), "cm") if abs(self.m) >= 0.0095 else (_whole(self.m * 1000.0, 0), "mm")
        inches = self.m * 100.0 / CM_PER_IN
        if abs(inches) >= 35.5:
            return _figures(inches / 12.0), "ft"
        if abs(inches) >= 1.0 or inches <= 0.0:
            return _figures(inches), "in"
        quarters = max(1, round(4.0 * inches))
        return ("1" if quarters == 4 else {1: "1/4", 2: "1/2", 3: "3/4"}[quarters]), "in"


class Share(Single, frozen=True, tag="share"):
    """Of 1; shown in percent."""

    of_one: float
    places: int = 0

    def parts(self, reader: Reader) -> tuple[str, str]:
        return f"{100.0 * self.of_one:.{self.places}f}", "%"


class Number(Single, frozen=True, tag="number"):
    """A number without a unit, or with one that is the same for every reader (V, s)."""

    value: float
    places: int = 0
    unit: str = ""

    def parts(self, reader: Reader) -> tuple[str, str]:
        return _whole(self.value, self.places), self.unit


class Duration(Single, frozen=True, tag="duration"):
    """Seconds: '45 s', '12 min', '5 h 32 min'. Whole minutes from the first one on, so that no second number lacks its
    unit."""

    seconds: float

    def parts(self, reader: Reader) -> tuple[str, str]:
        return span(round(self.seconds * 1000.0)), ""


class Clock(Single, frozen=True, tag="clock"):
    """A moment, UTC in ms: '03:12', or 'Sat 03:12' where another day could be meant. `day` always gives the day."""

    utc: int
    day: bool = False

    def parts(self, reader: Reader) -> tuple[str, str]:
        then = datetime.fromtimestamp(self.utc / 1000.0, reader.zone)
        if self.day:
            return f"{then:%a %H:%M}", ""
        if not reader.now:
            return f"{then:%H:%M}", ""
        today = datetime.fromtimestamp(reader.now / 1000.0, reader.zone)
        same = abs(self.utc - reader.now) < 12 * HOUR or then.date() == today.date()
        return (f"{then:%H:%M}" if same else f"{then:%a %H:%M}"), ""


Measure = Temperature | Span | Rate | Mass | Volume | Length | Share | Number | Duration | Clock


class Range(Typed, frozen=True, tag="range"):
    """From one value to another of the same type; the unit stands once: '250-275 F'."""

    low: Measure
    high: Measure

    def shown(self, reader: Reader) -> str:
        first, last = self.low, self.high
        if isinstance(first, Span) and isinstance(last, Span):  # both with as many places as the larger one
            places = (last if abs(last.c) >= abs(first.c) else first).decimals(reader)
            first, last = Span(first.c, places), Span(last.c, places)
        (low, one), (high, other) = first.parts(reader), last.parts(reader)
        if isinstance(first, Clock):
            days = (" " in low) or (" " in high)
            if days and isinstance(last, Clock):
                low, high = (Clock(end.utc, day=True).parts(reader)[0] for end in (first, last))
            return f"{low}-{high}"
        between = " to " if low.startswith("-") or high.startswith("-") else "-"
        if one != other:
            return f"{low} {one}{between}{high} {other}"
        return f"{low} {one}".rstrip() if low == high else f"{low}{between}{high} {one}".rstrip()


class Count(Typed, frozen=True, tag="count"):
    """A number of things: '1 piece', '2 pieces'. `many` is the plural where adding an s does not make it."""

    number: int
    one: str
    many: str = ""

    def shown(self, reader: Reader) -> str:
        noun = self.one if self.number == 1 else self.many or self.one + "s"
        return f"{self.number:,} {noun}"


def band(low_c: float, high_c: float, *, fives: bool = False) -> Range:
    """A band of temperature, degrees C."""
    return Range(Temperature(low_c, fives=fives), Temperature(high_c, fives=fives))


def span(ms: int) -> str:
    """'45 s', '12 min', '5 h 32 min'."""
    minutes = max(0, ms) // MINUTE
    if minutes < 1:
        return f"{max(0, ms) // 1000} s"
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if rest else f"{hours} h"


def _whole(value: float, places: int) -> str:
    """Never '-0'."""
    shown = f"{value:,.{places}f}"
    return shown.removeprefix("-") if not shown.strip("-0.,") else shown


def _figures(value: float) -> str:
    """Two figures, or a whole number: '3.5', '4', '40'."""
    return f"{value:.1f}".removesuffix(".0") if abs(value) < 9.95 else f"{value:,.0f}"

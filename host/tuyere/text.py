"""Text with types: a sentence is a template and the values in it; it becomes words only for its reader.

    text("Holding {pit}, in the band", pit=Temperature(128.2))

A sentence is made where something is known, stored and sent as data (msgspec, JSON), and rendered once, where a person
reads it: `render(said, Reader("F"))` gives "Holding 263 F, in the band". Values keep SI-like units inside: degrees C,
kg, litres, metres, seconds, UTC in ms, shares of 1. Words without any measure are a plain `str`; `Said` is either.

Why not a library: Babel and Fluent format numbers and choose plurals for a language, but neither converts a measure to
the reader's units, and every other part of them (catalogues, plural rules, locale data) serves languages that Tuyere
does not speak yet. What is needed is this one page. A translation would start here: the templates are its keys.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

import msgspec
from msgspec import Struct

FAHRENHEIT, CELSIUS = "F", "C"
KG_PER_LB = 0.45359237
CM_PER_IN = 2.54
L_PER_QT = 0.946353
MINUTE = 60_000
HOUR = 60 * MINUTE
_NAME = re.compile(r"\{(\w+)\}")


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


class _Typed(Struct, frozen=True):
    """A value that `render` turns into words. In an f-string it is metric: a slip shows no source on a screen."""

    def __format__(self, spec: str) -> str:
        value: Any = self
        return render(value, Reader(CELSIUS))


class Temperature(_Typed, frozen=True, tag="temperature"):
    """Degrees C; None: no reading. `places` are those of C; F, whose degree is smaller, has one fewer.

    `fives`: a pit or an oven that is set by hand; in F such are given by fives ('160 F' for 70 C).
    """

    c: float | None
    places: int = 0
    fives: bool = False


class Span(_Typed, frozen=True, tag="span"):
    """A difference of temperature, degrees C. Below 5 it is shown with one decimal place unless `places` says more.

    `sign`: a plus where it is more than 0.
    """

    c: float
    places: int | None = None
    sign: bool = False


class Rate(_Typed, frozen=True, tag="rate"):
    """A rise or fall of temperature, degrees C an hour."""

    c_per_h: float


class Mass(_Typed, frozen=True, tag="mass"):
    """kg."""

    kg: float


class Volume(_Typed, frozen=True, tag="volume"):
    """Litres."""

    litres: float


class Length(_Typed, frozen=True, tag="length"):
    """Metres: from a thickness to an altitude."""

    m: float


class Share(_Typed, frozen=True, tag="share"):
    """Of 1; shown in percent."""

    of_one: float
    places: int = 0


class Number(_Typed, frozen=True, tag="number"):
    """A number without a unit, or with one that is the same for every reader (V, s)."""

    value: float
    places: int = 0
    unit: str = ""


class Count(_Typed, frozen=True, tag="count"):
    """So many of something: '1 piece', '2 pieces'. `many` is the plural where adding an s does not make it."""

    number: int
    one: str
    many: str = ""


class Duration(_Typed, frozen=True, tag="duration"):
    """Seconds: '45 s', '12 min', '5 h 32 min'."""

    seconds: float


class Clock(_Typed, frozen=True, tag="clock"):
    """A moment, UTC in ms: '03:12', or 'Sat 03:12' where another day could be meant. `day` always gives the day."""

    utc: int
    day: bool = False


class Range(_Typed, frozen=True, tag="range"):
    """From one value to another of the same type; the unit stands once: '250-275 F'."""

    low: Measure
    high: Measure


class Key(_Typed, frozen=True, tag="key"):
    """The key of an action of the watch screen, `usual` unless the reader has another."""

    action: str
    usual: str


class Listed(_Typed, frozen=True, tag="listed"):
    """Several in a row: `by` between them, `last` before the last one ('' for the same as `by`)."""

    items: tuple[Value, ...]
    by: str = ", "
    last: str = ""


class Text(_Typed, frozen=True, tag="text"):
    """A sentence: `template` with {names}, and a value for each."""

    template: str
    values: dict[str, Value] = {}


class Unconverted(_Typed, frozen=True, tag="unconverted"):
    """Words of an older version that could not be taken apart: shown as they were written, in its units."""

    words: str


Measure = Temperature | Span | Rate | Mass | Volume | Length | Share | Number | Duration | Clock
Value = (
    Temperature | Span | Rate | Mass | Volume | Length | Share | Number | Count | Duration | Clock
    | Key | Range | Listed | Text | Unconverted | str | int
)  # fmt: skip
Said = Text | Unconverted | str  # what stands where a sentence is wanted
_SAID: Any = Said


def text(template: str, /, **values: Value) -> Text:
    """A sentence. ValueError if the template's names and the values' names are not the same."""
    names = set(_NAME.findall(template))
    if names != values.keys():
        raise ValueError(f"{template!r} wants {sorted(names)}, was given {sorted(values)}")
    return Text(template, values)


def as_said(value: Any) -> Said:
    """Typed text from its plain form (JSON). msgspec.ValidationError if it is none."""
    said: Said = msgspec.convert(value, _SAID)
    return said


def render(said: Value, reader: Reader) -> str:
    """The words for this reader."""
    if isinstance(said, str):
        return said
    if isinstance(said, Text):
        return _NAME.sub(lambda name: render(said.values[name[1]], reader), said.template)
    if isinstance(said, int):
        return f"{said:,}"
    if isinstance(said, Key):
        return dict(reader.keys).get(said.action, said.usual)
    if isinstance(said, Range):
        return _range(said, reader)
    if isinstance(said, Listed):
        return _listed([render(item, reader) for item in said.items], said.by, said.last)
    if isinstance(said, Unconverted):
        return said.words
    if isinstance(said, Count):
        noun = said.one if said.number == 1 else said.many or said.one + "s"
        return f"{said.number:,} {noun}"
    number, unit = _parts(said, reader)
    return f"{number} {unit}".rstrip()


class BadValue(ValueError):
    """A value that cannot be used: what, where and what to do, in one sentence. `str` of it is metric."""

    def __init__(self, said: Said) -> None:
        super().__init__(render(said, Reader(CELSIUS)))
        self.said = said


def said_of(error: BaseException) -> Said:
    """An error as a sentence for any reader: typed where it is, its plain words else."""
    return getattr(error, "said", None) or str(error)


def plain(said: Said) -> str:
    """The words of a plain sentence; "" for a typed one."""
    return said if isinstance(said, str) else ""


def gist(said: Value) -> str:
    """The words without their measures: what stays the same while the numbers in a sentence move."""
    if isinstance(said, str):
        return said
    if isinstance(said, Text):
        return _NAME.sub(lambda name: gist(said.values[name[1]]), said.template)
    if isinstance(said, Listed):
        return said.by.join(gist(item) for item in said.items)
    return said.words if isinstance(said, Unconverted) else ""


def rendered(sentences: Iterable[Said], reader: Reader) -> list[str]:
    """Each of several sentences."""
    return [render(one, reader) for one in sentences]


def sentences(said: Sequence[Said], by: str = " ") -> Said:
    """Several sentences as one."""
    kept = tuple(one for one in said if one != "")
    return kept[0] if len(kept) == 1 else text("{all}", all=Listed(kept, by)) if kept else ""


def worded(value: Any, reader: Reader) -> Any:
    """Structs and lists as plain data (JSON), each sentence in them in the words for this reader."""
    if isinstance(value, Text | Unconverted):
        return render(value, reader)
    if isinstance(value, Struct):
        return {name: worded(getattr(value, name), reader) for name in value.__struct_fields__}
    if isinstance(value, list | tuple):
        return [worded(one, reader) for one in value]
    return {name: worded(one, reader) for name, one in value.items()} if isinstance(value, dict) else value


def band(low_c: float, high_c: float, *, fives: bool = False) -> Range:
    """A band of temperature, degrees C."""
    return Range(Temperature(low_c, fives=fives), Temperature(high_c, fives=fives))


def _listed(items: Sequence[str], by: str, last: str) -> str:
    if len(items) < 2 or not last:
        return by.join(items)
    return by.join(items[:-1]) + last + items[-1]


def _range(said: Range, reader: Reader) -> str:
    first, last = said.low, said.high
    if isinstance(first, Span) and isinstance(last, Span):  # both with as many places as the larger one
        places = _span_places(last if abs(last.c) >= abs(first.c) else first, reader)
        first, last = Span(first.c, places), Span(last.c, places)
    (low, one), (high, other) = _parts(first, reader), _parts(last, reader)
    if isinstance(said.low, Clock):
        days = (" " in low) or (" " in high)
        if days and isinstance(said.high, Clock):
            low, high = (_clock(Clock(end.utc, day=True), reader) for end in (said.low, said.high))
        return f"{low}-{high}"
    between = " to " if low.startswith("-") or high.startswith("-") else "-"
    if one != other:
        return f"{low} {one}{between}{high} {other}"
    return f"{low} {one}".rstrip() if low == high else f"{low}{between}{high} {one}".rstrip()


def _parts(said: Measure, reader: Reader) -> tuple[str, str]:
    """Number and unit."""
    return _KINDS[type(said)](said, reader)


def _temperature(said: Temperature, reader: Reader) -> tuple[str, str]:
    if said.c is None:
        return "-", reader.units
    if reader.metric:
        return _whole(said.c, said.places), reader.units
    f = said.c * 1.8 + 32.0
    return _whole(5.0 * round(f / 5.0) if said.fives else f, max(0, said.places - 1)), reader.units


def _span(said: Span, reader: Reader) -> tuple[str, str]:
    shown = _whole(said.c if reader.metric else said.c * 1.8, _span_places(said, reader))
    return f"{'+' * (said.sign and said.c > 0)}{shown}", reader.units


def _span_places(said: Span, reader: Reader) -> int:
    value = said.c if reader.metric else said.c * 1.8
    if said.places is not None:
        return said.places
    return 1 if 0 < abs(value) < 5 and value != round(value) else 0


def _rate(said: Rate, reader: Reader) -> tuple[str, str]:
    value = said.c_per_h if reader.metric else said.c_per_h * 1.8
    return _whole(value, 1 if abs(value) < 5 else 0), f"{reader.units} an hour"


def _mass(said: Mass, reader: Reader) -> tuple[str, str]:
    if reader.metric:
        return (_figures(said.kg * 1000.0), "g") if abs(said.kg) < 0.995 else (_whole(said.kg, 1), "kg")
    pounds = said.kg / KG_PER_LB
    if abs(pounds) < 15.5 / 16.0:
        return _figures(pounds * 16.0), "oz"
    return (_whole(pounds, 0) if abs(pounds) >= 9.95 else _figures(pounds)), "lb"


def _volume(said: Volume, reader: Reader) -> tuple[str, str]:
    if reader.metric:
        return _figures(said.litres), "l"
    # to half a quart, never much short: it is what to have at hand
    return f"{math.ceil(said.litres / L_PER_QT * 2.0 - 0.25) / 2.0:g}", "qt"


def _length(said: Length, reader: Reader) -> tuple[str, str]:
    if reader.metric:  # each unit from where its rounded number begins: never "100 cm" beside "1 m"
        if abs(said.m) >= 0.995:
            return _figures(said.m), "m"
        return (_figures(said.m * 100.0), "cm") if abs(said.m) >= 0.0095 else (_whole(said.m * 1000.0, 0), "mm")
    inches = said.m * 100.0 / CM_PER_IN
    if abs(inches) >= 35.5:
        return _figures(inches / 12.0), "ft"
    if abs(inches) >= 1.0 or inches <= 0.0:
        return _figures(inches), "in"
    quarters = max(1, round(4.0 * inches))
    return ("1" if quarters == 4 else {1: "1/4", 2: "1/2", 3: "3/4"}[quarters]), "in"


def _share(said: Share, reader: Reader) -> tuple[str, str]:
    return f"{100.0 * said.of_one:.{said.places}f}", "%"


def _number(said: Number, reader: Reader) -> tuple[str, str]:
    return _whole(said.value, said.places), said.unit


def _duration(said: Duration, reader: Reader) -> tuple[str, str]:
    """Whole minutes from the first one on, so that no unit is left to a second number."""
    return span(round(said.seconds * 1000.0)), ""


def _clock(said: Clock, reader: Reader) -> str:
    then = datetime.fromtimestamp(said.utc / 1000.0, reader.zone)
    if said.day:
        return f"{then:%a %H:%M}"
    if not reader.now:
        return f"{then:%H:%M}"
    today = datetime.fromtimestamp(reader.now / 1000.0, reader.zone)
    same = abs(said.utc - reader.now) < 12 * HOUR or then.date() == today.date()
    return f"{then:%H:%M}" if same else f"{then:%a %H:%M}"


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


_KINDS: dict[type, Callable[[Any, Reader], tuple[str, str]]] = {
    Temperature: _temperature,
    Span: _span,
    Rate: _rate,
    Mass: _mass,
    Volume: _volume,
    Length: _length,
    Share: _share,
    Number: _number,
    Duration: _duration,
    Clock: lambda said, reader: (_clock(said, reader), ""),
}

"""What is asked of a plan, checked for what a person may get wrong. `BadPlan` says what, where, and what to do."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tuyere import measures
from tuyere.cook import programme
from tuyere.cook.kept_programmes import Unusable, read, to_plan
from tuyere.cook.planned import Phase
from tuyere.meat import piece as meat
from tuyere.meat.cuts import CUTS, THICK
from tuyere.meat.safety import KEEPS_BY, PIT_ERROR
from tuyere.plan.practice import NAMES, PORTION_G
from tuyere.plan.times import DAY, HOUR, BadPlan, Sleep
from tuyere.text import CELSIUS, Length, Mass, Measure, Number, Range, Share, Span, Temperature, band, said_of, text

PIECES = 6  # at most, in one cook
PITS = 4  # at most, in one plan
ROOM_C = 20.0  # C where a box stands, where `--room` and `--outside` do not say it
LEAST_C, MOST_C, TOP_C, WIDE_C = 90.0, 160.0, 170.0, 2.0  # of a band: its bottom from and to, its top, how wide
AHEAD = 60 * DAY  # a plan looks no further
_BAND = re.compile(r"(\d{2,3}(?:\.\d+)?)\s*-\s*(\d{2,3}(?:\.\d+)?)\s*([FC])?", re.IGNORECASE | re.ASCII)


@dataclass(frozen=True)
class Own:
    """A piece that is there already: its name, trimmed mass (kg), and what of the rest is known (m, C)."""

    name: str
    mass: float
    cut: str = "packer"
    flat: float | None = None
    point: float | None = None
    start: float = 5.0
    intact: bool = True


@dataclass(frozen=True)
class Asked:
    """A supper, and what it is cooked with. Times UTC ms, masses kg, thickness m, temperatures C, altitude m.

    guests or raw (bought, untrimmed) or own pieces: at least one of them; raw counts before guests. pieces: None for as
    many as it takes. fuel: what there is, None for not told. outside: None for any weather; room: where the box stands,
    None for outside. cookers: several, each by its kind; fits: pieces that one takes, None by its kind. oven_lowest:
    its lowest setting, None for any; oven_error: K by which it may be colder than it is set to;
    pit_error: K by which meat in the pit may lie cooler than its probe reads.
    """

    now: int
    serve: int
    name: str = "Supper"
    guests: int | None = None
    raw: float | None = None
    cut: str = "packer"
    pieces: int | None = None
    flat: float | None = None
    own: tuple[Own, ...] = ()
    portion_g: float = PORTION_G
    intact: bool = True
    start: float = 5.0
    wrap: str = "paper"
    sleep: Sleep = field(default_factory=Sleep)
    cooker: str = "upright"
    fuel: float | None = None
    outside: float | None = None
    altitude: float = 0.0
    low: float = 121.1
    high: float = 135.0
    cookers: tuple[str, ...] = ()
    fits: int | None = None
    oven: bool = False
    oven_lowest: float | None = None
    oven_error: float = KEEPS_BY
    pit_error: float = PIT_ERROR
    towels: bool = True
    room: float | None = None
    use: str = "home"  # home or trade
    region: str = "other"  # of `tuyere.meat.regions`
    odds: float = 0.90
    seed: int = 1
    phases: tuple[Phase, ...] = ()  # a kept programme; none for one band to the finish

    def __post_init__(self) -> None:
        if self.serve <= self.now:
            raise BadPlan("The serving time has passed; give a later one.")
        if self.serve - self.now > AHEAD:
            raise BadPlan(f"The serving time is {(self.serve - self.now) / DAY:.0f} days ahead; plan within 60 days.")
        if not self.own and self.guests is None and self.raw is None:
            raise BadPlan("Nothing says how much meat: give --guests, --raw, or the pieces in a file.")
        if self.guests is not None:
            _within("number of guests", self.guests, 1, 500, Number, "--guests")
        if self.raw is not None:
            _within("raw mass", self.raw, 0.3, 80.0, Mass, "--raw")
        if self.cut not in CUTS:
            raise BadPlan(f'There is no cut "{self.cut}" here; choose one of {", ".join(CUTS)}.')
        if len(self.kinds) > PITS:
            raise BadPlan(f"{len(self.kinds)} cookers are given; a plan has at most {PITS}: plan the others apart.")
        more = "" if self.cookers else ", or several --cookers"
        if self.pieces is not None and not 1 <= self.pieces <= self.most:
            raise BadPlan(f"{self.pieces} pieces are asked for; one cook has 1 to {self.most}: give --pieces so{more}.")
        if len(self.own) > self.most:
            raise BadPlan(f"The file has {len(self.own)} pieces; one cook has 1 to {self.most}: leave some out{more}.")
        if self.fits is not None:
            _within("number of pieces on a grate", self.fits, 1, PIECES, Number, "--fits")
        _within("portion", self.portion_g / 1000.0, 0.05, 0.6, Mass, "--portion")
        _within("altitude", self.altitude, -400.0, 4500.0, Length, "--altitude")
        _within("band's bottom", self.low, LEAST_C, MOST_C, _tenths, "--band")
        _within("band's top", self.high, self.low + WIDE_C, TOP_C, _tenths, "--band")
        _within("share of odds", self.odds, 0.5, 0.98, Share, "--odds")
        if self.fuel is not None:
            _within("charcoal", self.fuel, 0.1, 60.0, Mass, "--fuel")
        if self.outside is not None:
            _within("outside temperature", self.outside, -30.0, 45.0, Temperature, "--outside")
        if self.room is not None:
            _within("temperature where the box stands", self.room, -30.0, 45.0, Temperature, "--room")
        if self.oven_lowest is not None:
            _within("oven's lowest setting", self.oven_lowest, 40.0, 115.0, Temperature, "--oven-lowest")
        _within("oven's error", self.oven_error, 0.0, 30.0, Span, "--oven-error")
        _within("pit's error", self.pit_error, 0.0, 30.0, Span, "--pit-error")
        if self.flat is not None:
            check_thick(self.cut, self.flat)

    @property
    def kinds(self) -> tuple[str, ...]:
        """Of each cooker."""
        return self.cookers or (self.cooker,)

    @property
    def most(self) -> int:
        """Pieces at most."""
        return PIECES * len(self.kinds)

    @property
    def where(self) -> float:
        """C where a box stands."""
        return next((c for c in (self.room, self.outside) if c is not None), ROOM_C)

    @property
    def hours_ahead(self) -> float:
        """Hours from now to serving."""
        return (self.serve - self.now) / HOUR


def _tenths(c: float) -> Temperature:
    return Temperature(c, 1)


def _within(what: str, value: float, low: float, high: float, of: Callable[[float], Measure], option: str) -> None:
    if not low <= value <= high:
        allowed = Range(of(low), of(high))
        raise BadPlan(
            text(
                "The {what} of {value} is out of range; give {allowed} by {option}.",
                what=what, value=of(value), allowed=allowed, option=option,
            )
        )  # fmt: skip


def read_band(typed: str) -> tuple[float, float]:
    """'250-275 F', '121-135 C' -> C. Bare numbers above 180 are F. BadPlan on anything else."""
    match = _BAND.fullmatch(typed.strip())
    if match is None:
        raise BadPlan(
            f'The band "{typed.strip()}" cannot be read; give both ends, as 215-235 F, 250-275 F or 121-135 C.'
        )
    low, high = float(match[1]), float(match[2])
    unit = (match[3] or ("F" if low > 180.0 else "C")).upper()
    if high <= low:
        raise BadPlan(f'The band "{typed.strip()}" goes from {match[1]} down to {match[2]}; give the lower one first.')
    if unit == "F":
        low, high = ((f - 32.0) / 1.8 for f in (low, high))
    near = 1e-6  # of a limit that was given in F
    if not LEAST_C - near <= low <= MOST_C + near or not low + WIDE_C - near <= high <= TOP_C + near:
        raise BadPlan(
            text(
                'The band "{typed}" is out of range; its bottom may be {bottom}, its top at most {top} and at least '
                "{wide} above.",
                typed=typed.strip(), bottom=band(LEAST_C, MOST_C), top=Temperature(TOP_C), wide=Span(WIDE_C),
            )
        )  # fmt: skip
    return round(low, 1), round(high, 1)


def read_programme(home: Path, name: str) -> tuple[tuple[Phase, ...], tuple[float, float]]:
    """(phases of the programme kept under that name, its coolest band in C but those that only hold). BadPlan names
    those that are kept."""
    try:
        kept = read(home)
    except Unusable as error:
        raise BadPlan(f"{str(error)[:1].upper()}{str(error)[1:]}.") from None
    if name not in kept:
        raise BadPlan(f'No programme is kept as "{name}"; there are {", ".join(kept)}. F4 on the screen keeps others.')
    phases = kept[name]
    cooks = [one for one in phases if one.purpose != programme.HOLD] or phases
    return tuple(to_plan(one) for one in phases), min((one.low, one.high) for one in cooks)


def check_thick(cut: str, thick: float) -> None:
    """BadPlan for an impossible thickness of the first part of a cut (m)."""
    part = CUTS[cut].parts[0]
    low, high = (limit * part.thick_m for limit in THICK)
    if not low <= thick <= high:
        raise BadPlan(
            text(
                "No {part} is {thick} thick: that of a {cut} is {allowed}; measure it where it is thickest, across and "
                "not along.",
                part=part.name, thick=Length(thick), cut=cut, allowed=Range(Length(low), Length(high)),
            )
        )  # fmt: skip


def check_piece(own: Own) -> None:
    """BadPlan unless the meat's model takes this piece."""
    try:
        meat.PieceOfMeat(own.name, own.cut, own.mass, own.flat, own.point, own.start, own.intact)
    except ValueError as error:
        raise BadPlan(said_of(error)) from None


MEASURED = {  # of a piece; a number without a unit is metric, whoever reads the plan: the file may go to anybody
    "mass": measures.MASS, "thick": measures.THICKNESS, "point": measures.THICKNESS, "start": measures.TEMPERATURE,
}  # fmt: skip
PIECE_KEYS = {"name", "cut", "mass", "thick", "point", "start", "intact"}
KEYS = {
    "name", "serve", "guests", "raw", "cut", "pieces", "thick", "portion", "intact", "wrap", "band", "sleep", "cooker",
    "fuel", "outside", "altitude", "oven", "use", "region", "odds", "piece", "programme", "cookers", "fits", "room",
    "oven_lowest", "oven_error", "pit_error", "towels",
}  # fmt: skip


def read_file(file: Path) -> dict[str, Any]:
    """A plan's TOML file: the options by their names, and a table [[piece]] for each piece that is there already."""
    try:
        found = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BadPlan(f"{file.name} is not TOML: {error}.") from None
    except OSError as error:
        raise BadPlan(f"{file} cannot be read: {error.strerror}; give another file.") from None
    for key in found:
        if key not in KEYS:
            raise BadPlan(f'{file.name}: there is no "{key}"; it may have {", ".join(sorted(KEYS))}.')
    return found


def own_pieces(tables: Any, cut: str, whole: bool = True) -> tuple[Own, ...]:
    """The tables [[piece]] of a file: mass in kg (needed), thick and point in cm, start in C, each as a number or with
    a unit, as "14 lb". What one does not say of its cut, and of being whole muscle, is as above the tables."""
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise BadPlan("The pieces of the file are tables: write [[piece]] above each.")
    made = []
    for i, table in enumerate(tables):
        name = str(table.get("name", NAMES[i % len(NAMES)]))
        for key in table:
            if key not in PIECE_KEYS:
                raise BadPlan(f'{name}: there is no "{key}" of a piece; it may have {", ".join(sorted(PIECE_KEYS))}.')
        if "mass" not in table:
            raise BadPlan(f'{name} has no mass; give its trimmed mass, as mass = "14 lb", or in kg without a unit.')
        numbers = {key: _measured(name, key, table[key], MEASURED[key]) for key in MEASURED if key in table}
        start = numbers.get("start", 5.0)
        intact = table.get("intact", whole)
        if not isinstance(intact, bool):
            wrong = f"{name}: its intact of {intact!r} is not usable"
            raise BadPlan(f"{wrong}; write intact = true or false, without quotes.")
        own = Own(name, numbers["mass"], str(table.get("cut", cut)), numbers.get("thick"), numbers.get("point"), start,
                  intact)  # fmt: skip
        check_piece(own)
        made.append(own)
    return tuple(made)


def _measured(name: str, key: str, value: Any, quantity: measures.Quantity) -> float:
    """A number of a file's piece, in the unit used inside."""
    number = isinstance(value, int | float | str) and not isinstance(value, bool)
    found = measures.read(str(value), quantity, CELSIUS) if number else None
    if found is None:
        raise BadPlan(f'{name}: its {key} of {value!r} is no number, nor one with a unit, as "{quantity.form[1]}".')
    return found

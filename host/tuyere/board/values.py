"""The board's settings as a person reads and types them, from the field table."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, NamedTuple

from hearth.core import Settings, fields, orders

from tuyere.board.trouble import Trouble
from tuyere.text import Span, text

# Of the settings in C these are readings of a thermometer; all others are differences between two.
ABSOLUTE = ("band_low", "band_high", "pit_limit", "coldest")
DEGREES = ("C", "C min", "C/s", "C/min", "%/C")


class Row(NamedTuple):
    """A setting: `low`, `high`, `default` in the board's units, `scale` of them in one of `unit`."""

    name: str
    unit: str
    scale: int
    low: int
    high: int
    default: int
    help: str

    def shown(self, raw: int, unit: str) -> float:
        """The board's number in the person's unit, F or C."""
        value = raw / self.scale
        if unit != "F" or self.unit not in DEGREES:
            return value
        if self.unit == "%/C":
            return value / 1.8
        return value * 1.8 + 32 if self.name in ABSOLUTE else value * 1.8

    def raw(self, value: float, unit: str) -> int:
        """The person's number in the board's units."""
        if unit == "F" and self.unit in DEGREES:
            if self.unit == "%/C":
                value *= 1.8
            else:
                value = (value - 32) / 1.8 if self.name in ABSOLUTE else value / 1.8
        return round(value * self.scale)

    def in_unit(self, unit: str) -> str:
        """What the number is of."""
        return self.unit.replace("C", "F") if unit == "F" and self.unit in DEGREES else self.unit

    def words(self, raw: int, unit: str) -> str:
        """'250.0'."""
        exact = self.scale == 1 and (unit != "F" or self.unit not in DEGREES)
        return f"{self.shown(raw, unit):.0f}" if exact else f"{self.shown(raw, unit):.4g}"


ROWS = {row[0]: Row(*row) for row in fields.SETTINGS}
_LEARNED = next(row for row in fields.MEMORY if row[0] == "learned")
LEARNED = Row(*_LEARNED[:6], "of the gain, what the board learned that this fire wants; --forget forgets it")


def find(name: str) -> Row:
    """A setting by its name, or by the end of it where only one ends so ("high" is "band_high")."""
    found = [row for row in ROWS.values() if row.name == name] or [
        row for row in ROWS.values() if row.name.endswith("_" + name)
    ]
    if len(found) == 1:
        return found[0]
    if found:
        raise Trouble(f"{name} could be {' or '.join(row.name for row in found)}: give the whole name")
    raise Trouble(f"there is no setting {name!r}: `tuyere board settings` shows all of them")


def edits(given: Iterable[str], unit: str) -> dict[str, int]:
    """'name=number' of a person -> board's units by name; each within its range."""
    found = {}
    for edit in given:
        name, equals, number = edit.partition("=")
        if not equals:
            raise Trouble(f"{edit!r} is no setting: write name=number, such as band_high=132")
        row = find(name.strip())
        if number.strip() == "default":
            found[row.name] = row.default
            continue
        try:
            value = float(number.replace(",", "."))
        except ValueError:
            value = math.nan
        if not math.isfinite(value) or not row.low <= row.raw(value, unit) <= row.high:
            wrong = "is out of range" if math.isfinite(value) else "is no number"
            raise Trouble(
                f"{row.name}={number.strip()} {wrong}: give a number from {row.words(row.low, unit)} to "
                f"{row.words(row.high, unit)}{' ' + row.in_unit(unit) if row.unit else ''}, or the word default"
            )
        found[row.name] = row.raw(value, unit)
    return found


def see_fit(standing: dict[str, int], new: dict[str, int]) -> None:
    """Trouble unless settings fit each other, as the board itself will judge."""
    made = Settings()
    for name, value in {**standing, **new}.items():
        if name in ROWS:
            setattr(made, name, value)
    if not orders.fit(made):
        raise Trouble(
            text(
                "these do not fit together: band_high must stand at least {wide} over band_low and {under} below "
                "pit_limit; mains is 50 or 60; fan_wires is 2 or 4; servo_shut and servo_open differ and are 500 to "
                "2500 us both, or both 0",
                wide=Span(orders.NARROWEST / 100.0), under=Span(orders.HEADROOM / 100.0),
            )
        )  # fmt: skip


def table(values: dict[str, int], unit: str) -> list[dict[str, Any]]:
    """All settings as a person reads them, and what was learned; `value` is None where the board's firmware does not
    have it."""
    rows = []
    for row in (*ROWS.values(), LEARNED):
        raw = values.get(row.name)
        numbers = {"value": raw, "low": row.low, "high": row.high, "default": row.default}
        shown = {name: None if raw is None else round(row.shown(raw, unit), 4) for name, raw in numbers.items()}
        rows.append({"name": row.name, "unit": row.in_unit(unit), **shown, "help": row.help})
    return rows


def lines(values: dict[str, int], unit: str) -> list[str]:
    """The same as lines of text; a star marks what is not the default."""
    found = []
    for row in (*ROWS.values(), LEARNED):
        raw = values.get(row.name)
        value = "-" if raw is None else row.words(raw, unit)
        mark = "*" if raw not in (None, row.default) else " "
        spread = f"{row.words(row.low, unit)} to {row.words(row.high, unit)}, default {row.words(row.default, unit)}"
        found.append(f"{row.name:14}{mark}{value:>8} {row.in_unit(unit):6} {row.help} ({spread})")
    return found

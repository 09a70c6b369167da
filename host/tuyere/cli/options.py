"""Options that several commands share, so that they read and fail alike."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, TypeVar

import click

from tuyere.measures import CM_PER_IN, KG_PER_LB

F = TypeVar("F", bound=Callable[..., Any])

COOKERS = ("upright", "ceramic", "drum", "cabinet", "offset")


class Within(click.ParamType):
    """A number within bounds, with a sentence when it is not."""

    name = "number"

    def __init__(self, low: float, high: float, what: str, whole: bool = False) -> None:
        self.low, self.high, self.what, self.whole = low, high, what, whole

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float | int:
        """Text to a number."""
        try:
            number = int(value) if self.whole else float(value)
        except ValueError:
            self.fail(f"{value!r} is not a {'whole ' if self.whole else ''}number; give {self.what}", param, ctx)
        if not self.low <= number <= self.high:
            self.fail(f"{value} is out of range; give {self.what}, from {self.low:g} to {self.high:g}", param, ctx)
        return number


class Measured(click.ParamType):
    """A number in metric units, or with one of the US behind it: '18', '18 kg', '40 lb'. Gives it in metric."""

    name = "number"

    def __init__(self, what: str, units: dict[str, Callable[[float], float]]) -> None:
        self.what, self.units = what, units  # unit, in small letters -> from it to metric; a bare number is the first

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Text to a number; what it may be is checked where it is used, which says more."""
        if isinstance(value, float):
            return value
        match = re.fullmatch(r"\s*([-+]?\d+(?:\.\d+)?)\s*([a-z]*)\s*", str(value).lower())
        unit = (match[2] or next(iter(self.units))) if match else ""
        if match is None or unit not in self.units:
            self.fail(f"{value!r} cannot be read; give {self.what}", param, ctx)
        return self.units[unit](float(match[1]))


class Share(click.ParamType):
    """A share as 0.9, 90 or '90 %'. Gives 0.9."""

    name = "share"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Text to a share; what it may be is checked where it is used, which says more."""
        if isinstance(value, float):
            return value
        match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(%?)\s*", str(value))
        if match is None:
            self.fail(f"{value!r} cannot be read; give a share, as 90 % or 0.9", param, ctx)
        number = float(match[1])
        return number / 100.0 if match[2] or number > 1.0 else number


KILOS = Measured("a mass in kg, or such as '40 lb'", {"kg": float, "lb": lambda lb: lb * KG_PER_LB})
CENTIMETRES = Measured("a length in cm, or such as '2 in'", {"cm": float, "in": lambda inches: inches * CM_PER_IN})
CELSIUS = Measured("degrees C, or such as '40 F'", {"c": float, "f": lambda f: (f - 32.0) / 1.8})


def simulated(command: F) -> F:
    """--cooker, --seed, --hours: which simulated cook."""
    for option in (
        click.option(
            "--hours",
            type=Within(0.5, 48, "the length of the cook in hours"),
            default=14.0,
            show_default=True,
            help="Length of the simulated cook.",
        ),
        click.option(
            "--seed",
            type=Within(0, 2**31 - 1, "a whole number; the same one gives the same cook", whole=True),
            default=1,
            show_default=True,
            help="The same number gives the same cook again.",
        ),
        click.option(
            "--cooker",
            type=click.Choice(COOKERS),
            default="upright",
            show_default=True,
            help="Kind of simulated cooker.",
        ),
    ):
        command = option(command)
    return command


def speed(default: float) -> Callable[[F], F]:
    """--speed: of the twin's time."""
    return click.option(
        "--speed",
        type=Within(0, 100000, "simulated seconds a second; 0 is as fast as it goes"),
        default=default,
        show_default=True,
        help="Simulated seconds a second; 0 is as fast as it goes.",
    )


def unit(words: str) -> Callable[[F], F]:
    """--unit: degrees for people; data stays in C."""
    return click.option("--unit", type=click.Choice(("F", "C"), case_sensitive=False), default=None, help=words)

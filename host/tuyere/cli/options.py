"""Options that several commands share: the same words and the same errors."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, TypeVar

import click

from tuyere import measures
from tuyere.codes import COOKERS

F = TypeVar("F", bound=Callable[..., Any])


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
    """A number with or without its unit: '18', '18 kg', '40 lb'. Gives a `measures.Typed`, because a number without a
    unit is in that of the reader, whom another option may name."""

    name = "number"

    def __init__(self, what: str, quantity: measures.Quantity) -> None:
        self.what, self.quantity = what, quantity

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> measures.Typed:
        """Text to a number; what it may be is checked where it is used, which says more."""
        if isinstance(value, measures.Typed):
            return value
        found = measures.typed(str(value), self.quantity)
        if found is None:
            such = " or ".join(self.quantity.form)
            self.fail(f"{value!r} cannot be read; give {self.what}, such as {such}", param, ctx)
        return found


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


MASS = Measured("a mass", measures.MASS)
PORTION = Measured("a mass", measures.PORTION)
THICKNESS = Measured("a thickness", measures.THICKNESS)
TEMPERATURE = Measured("a temperature", measures.TEMPERATURE)
SPAN = Measured("a difference of temperature", measures.SPAN)
ALTITUDE = Measured("an altitude", measures.ALTITUDE)


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


class TroubleAt(click.ParamType):
    """A trouble to practise, 'grease@3h'; checked where it is known, so that the twin's room is imported late."""

    name = "NAME[@3h]"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The same, or a sentence that says which there are."""
        from tuyere.sim.mishaps import TROUBLES, BadTrouble, parse

        words = str(value)
        if words == "list" and ctx is not None:
            for name, one in TROUBLES.items():
                click.echo(f"{name:14}  {one.words}")
            ctx.exit()
        try:
            parse(words)
        except BadTrouble as error:
            self.fail(str(error), param, ctx)
        return words


def trouble(command: F) -> F:
    """--trouble: what goes wrong with a twin, to practise."""
    return click.option(
        "--trouble",
        type=TroubleAt(),
        default=None,
        help="Of the twin: practise a trouble, 2 h after lighting or as said; calls are real and say PRACTICE. "
        '"list" names them.',
    )(command)


def speed(default: float) -> Callable[[F], F]:
    """--speed: of the twin's time."""
    return click.option(
        "--speed",
        type=Within(0, 100000, "simulated seconds a second; 0 is as fast as it goes"),
        default=default,
        show_default=True,
        help="Simulated seconds a second; 0 is full speed.",
    )


def unit(words: str) -> Callable[[F], F]:
    """--unit: degrees for people; data stays in C."""
    return click.option("--unit", type=click.Choice(("F", "C"), case_sensitive=False), default=None, help=words)

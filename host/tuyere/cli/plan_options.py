"""The options of `tuyere plan`: what is asked, on the command line or in a file."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any, TypeVar

import click
from click.core import ParameterSource

from tuyere.cli.options import ALTITUDE, MASS, PORTION, SPAN, TEMPERATURE, THICKNESS, Measured, Share, Within
from tuyere.codes import COOKERS
from tuyere.engine.device.board_clock import wall_clock
from tuyere.meat.cuts import CUTS
from tuyere.meat.regions import REGIONS

if TYPE_CHECKING:
    from pathlib import Path

    from tuyere.cook.planned import Phase
    from tuyere.plan.request import Asked

F = TypeVar("F", bound=Callable[..., Any])


class Cookers(click.ParamType):
    """Several cookers: how many, or their kinds. Gives the text; what it means hangs on --cooker."""

    name = "cookers"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The same, or a sentence that says how to write it."""
        words = [word.strip() for word in str(value).split(",")]
        if not (words[0].isdecimal() and len(words) == 1) and not all(word in COOKERS for word in words):
            kinds = ", ".join(COOKERS)
            self.fail(f"{value!r} cannot be read; give a number, or kinds of {kinds} with commas", param, ctx)
        return ",".join(words)


def cookers(given: str | None, kind: str) -> tuple[str, ...]:
    """The kind of each; none where one cooker is asked for by its kind."""
    if given is None:
        return ()
    return (kind,) * max(int(given), 1) if given.isdecimal() else tuple(given.split(","))


def number(what: str, whole: bool = False) -> Within:
    """A number; what it may be is checked where the plan is made, which says more."""
    return Within(-1e6, 1e6, what, whole)


def asks(command: F) -> F:
    """What is asked of a plan."""
    for option in reversed((
        click.option("--serve", help='When it is on the table: "Sat 18:00", "tomorrow 13:00", "2026-11-28 18:00".'),
        click.option("--guests", type=number("a number of people", True), help="How many eat."),
        click.option("--raw", type=MASS, help="Instead: meat as bought, untrimmed, as '40 lb' or '18 kg'."),
        click.option("--cut", type=click.Choice(tuple(CUTS)), default="packer", show_default=True,
                     help="The cut of meat."),
        click.option("--pieces", type=number("a number of pieces", True), help="Default: as many as it takes."),
        click.option("--thick", type=THICKNESS, help="Thickness of the flat (or the only part), as '2 in' or '5 cm'."),
        click.option("--portion", type=PORTION, default="180 g", show_default=True,
                     help="Carved meat for each guest, as '6 oz' or '180 g'."),
        click.option("--name", default="Supper", show_default=True, help="What the cook is called."),
        click.option("--sleep", default="23:00-06:00", show_default=True, help="When you sleep, or none."),
        click.option("--band", default="250-275 F", show_default=True, help="Band of the pit, in F or C."),
        click.option("--programme", help="Instead: a kept programme by its name, with a band for each phase; the "
                     "screen keeps them (F4)."),
        click.option("--cooker", type=click.Choice(COOKERS), default="upright", show_default=True,
                     help="Your kind of cooker."),
        click.option("--cookers", type=Cookers(),
                     help="Several: how many of that kind, or their kinds as 'drum,upright'."),
        click.option("--fits", type=number("a number of pieces", True),
                     help="Pieces that fit on one cooker's grate; default: by its kind."),
        click.option("--fuel", type=MASS, help="Charcoal that you have, as '20 lb' or '9 kg'."),
        click.option("--outside", type=TEMPERATURE, help="Expected outside, as '40 F' or '5 C'; default: any weather."),
        click.option("--altitude", type=ALTITUDE, default="0 m", show_default=True,
                     help="Above the sea, as '3000 ft' or '900 m'."),
        click.option("--oven/--no-oven", default=False, help="There is an oven to hold in, instead of a cool box."),
        click.option("--oven-lowest", type=TEMPERATURE,
                     help="The oven's lowest setting, as '170 F' or '70 C'; default: any."),
        click.option("--oven-error", type=SPAN, default="5 C", show_default=True,
                     help="By how much the oven may be colder than it is set to, as '9 F' or '5 C'."),
        click.option("--pit-error", type=SPAN, default="10 C", show_default=True,
                     help="By how much meat in the pit may lie cooler than its probe reads, as '18 F' or '10 C'."),
        click.option("--towels/--no-towels", default=True, help="Towels around the pieces in the cool box."),
        click.option("--room", type=TEMPERATURE,
                     help="Where the cool box stands, as '65 F'; default: as --outside, else 20 C (68 F)."),
        click.option("--wrap", type=click.Choice(("paper", "foil", "none")), default="paper", show_default=True,
                     help="What the pieces are wrapped in."),
        click.option("--intact/--not-intact", default=True, help="Whole muscle, or rolled, injected or needled."),
        click.option("--use", type=click.Choice(("home", "trade")), default="home", show_default=True,
                     help="For guests at home, or as a trade: which hot-hold limit applies."),
        click.option("--region", type=click.Choice(tuple(REGIONS)), default="other", show_default=True,
                     help="Whose food rules are shown; uk: without Scotland; eu: a state that is not named here."),
        click.option("--odds", type=Share(), default=0.9, show_default=True,
                     help="Odds to be ready that the start must have: 0.9, 90 or '90 %'."),
    )):  # fmt: skip
        command = option(command)
    return command


def read(context: click.Context, file: Path | None, given: dict[str, Any], reads: str) -> Asked:
    """Options and file -> what is asked; an option that was given wins over the file. A number without a unit is in
    the reader's units; in the file, which anybody may use, it is in g, kg, cm, m and C."""
    from tuyere import paths
    from tuyere.plan.request import Asked, own_pieces, read_band, read_file, read_programme
    from tuyere.plan.times import BadPlan, Sleep, moment
    from tuyere.text import CELSIUS

    in_file = set()
    if file is not None:
        for name, value in read_file(file).items():
            if context.get_parameter_source(name) is not ParameterSource.COMMANDLINE:
                given[name] = _checked(context, name, value)
                in_file.add(name)
    for option in context.command.params:
        if isinstance(option.type, Measured) and (typed := given[option.name or ""]) is not None:
            given[option.name or ""] = typed.value(option.type.quantity, CELSIUS if option.name in in_file else reads)
    if not given["serve"]:
        raise BadPlan('Nothing says when it is served: give --serve "Sat 18:00", or another time.')
    now = wall_clock()
    low, high = read_band(given["band"])
    phases: tuple[Phase, ...] = ()
    if given["programme"]:
        if context.get_parameter_source("band") is ParameterSource.COMMANDLINE:
            raise BadPlan("A programme has its own bands: leave --band or --programme out.")
        phases, (low, high) = read_programme(paths.home(), given["programme"])
    return Asked(
        now=now, serve=moment(given["serve"], now), name=_name(given["name"]), guests=given["guests"],
        raw=given["raw"], cut=given["cut"], pieces=given["pieces"], flat=given["thick"],
        own=own_pieces(given.get("piece", []), given["cut"], given["intact"]), portion_g=given["portion"] * 1000.0,
        intact=given["intact"],
        wrap="" if given["wrap"] == "none" else given["wrap"], sleep=Sleep.read(given["sleep"]), cooker=given["cooker"],
        fuel=given["fuel"], outside=given["outside"], altitude=given["altitude"], low=low, high=high,
        phases=phases, oven=given["oven"], use=given["use"], region=given["region"], odds=given["odds"],
        cookers=cookers(given["cookers"], given["cooker"]), fits=given["fits"], oven_lowest=given["oven_lowest"],
        oven_error=given["oven_error"], pit_error=given["pit_error"], towels=given["towels"], room=given["room"],
    )  # fmt: skip


def _name(text: str) -> str:
    """On one line, shortened if it is very long."""
    return " ".join(text.split())[:80] or "Supper"


def _checked(context: click.Context, name: str, value: Any) -> Any:
    """A value of the file, read as the option of that name reads it."""
    from tuyere.plan.times import BadPlan

    if name == "piece":
        return value
    if name == "serve" and isinstance(value, datetime):  # TOML has times of its own
        return value.isoformat(" ", "minutes")
    if not isinstance(value, (str, int, float, bool)):
        raise BadPlan(f"The file's {name} of {value!r} is not usable; write it as the option --{name} would have it.")
    option = next(one for one in context.command.params if one.name == name)
    if isinstance(value, bool) != (name in ("oven", "intact", "towels")):
        raise BadPlan(f"The file's {name} of {str(value).lower()} is not usable; write it as --{name} would have it.")
    try:
        return option.type.convert(value if isinstance(value, bool) else str(value), option, context)
    except click.BadParameter as wrong:
        raise BadPlan(f"The file's {name}: {wrong.message}.") from None

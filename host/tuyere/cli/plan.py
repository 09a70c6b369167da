"""`tuyere plan`: a supper worked back from serving; `tuyere plan move` when serving moves during a cook."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click
from click.core import ParameterSource

from tuyere.cli.book import logbook, units
from tuyere.cli.doing import doing
from tuyere.cli.options import (
    ALTITUDE,
    MASS,
    PORTION,
    TEMPERATURE,
    THICKNESS,
    Measured,
    Share,
    Within,
    unit,
)
from tuyere.codes import COOKERS
from tuyere.engine.device.board_clock import wall_clock
from tuyere.meat.cuts import CUTS

if TYPE_CHECKING:
    from tuyere.cook.planned import Phase
    from tuyere.forecast.exchange import Known
    from tuyere.logbook import Logbook
    from tuyere.plan.learnt import Learnt
    from tuyere.plan.move import Moved
    from tuyere.plan.request import Asked
    from tuyere.plan.result import Plan
    from tuyere.plan.times import BadPlan

F = TypeVar("F", bound=Callable[..., Any])


def _number(what: str, whole: bool = False) -> Within:
    """A number; what it may be is checked where the plan is made, which says more."""
    return Within(-1e6, 1e6, what, whole)


def _asks(command: F) -> F:
    """What is asked of a plan."""
    for option in reversed((
        click.option("--serve", help='When it is on the table: "Sat 18:00", "tomorrow 13:00", "2026-11-28 18:00".'),
        click.option("--guests", type=_number("a number of people", True), help="How many eat."),
        click.option("--raw", type=MASS, help="Instead: meat as bought, untrimmed, as '40 lb' or '18 kg'."),
        click.option("--cut", type=click.Choice(tuple(CUTS)), default="packer", show_default=True,
                     help="The cut of meat."),
        click.option("--pieces", type=_number("a number of pieces", True), help="Default: as many as it takes."),
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
        click.option("--fuel", type=MASS, help="Charcoal at hand, as '20 lb' or '9 kg'."),
        click.option("--outside", type=TEMPERATURE, help="Expected outside, as '40 F' or '5 C'; default: any weather."),
        click.option("--altitude", type=ALTITUDE, default="0 m", show_default=True,
                     help="Above the sea, as '3000 ft' or '900 m'."),
        click.option("--oven/--no-oven", default=False, help="There is an oven that keeps 70 C (160 F)."),
        click.option("--wrap", type=click.Choice(("paper", "foil", "none")), default="paper", show_default=True,
                     help="What the pieces are wrapped in."),
        click.option("--intact/--not-intact", default=True, help="Whole muscle, or rolled, injected or needled."),
        click.option("--use", type=click.Choice(("home", "trade")), default="home", show_default=True,
                     help="For guests at home, or as a trade: which hot-hold limit applies."),
        click.option("--region", type=click.Choice(("us", "uk", "other")), default="other", show_default=True,
                     help="Whose food rules are shown."),
        click.option("--odds", type=Share(), default=0.9, show_default=True,
                     help="Odds to be ready that the start must have: 0.9, 90 or '90 %'."),
    )):  # fmt: skip
        command = option(command)
    return command


@click.group(invoke_without_command=True)
@_asks
@click.option("--file", type=click.Path(path_type=Path), help="Read the options and your pieces from a TOML file.")
@click.option("--json", "as_json", is_flag=True, help="The plan as JSON; degrees C, UTC in ms.")
@click.option("--ics", type=click.Path(dir_okay=False, path_type=Path), help="Also write a calendar with alarms.")
@click.option("--save", is_flag=True, help="Keep the plan: the cook that begins on that day takes it.")
@unit("Units to print, and of numbers without one. Default: those of the screen.")
@click.pass_context
def plan(
    context: click.Context,
    file: Path | None,
    as_json: bool,
    ics: Path | None,
    save: bool,
    unit: str | None,
    **given: Any,
) -> None:
    """Plan a cook back from serving: what to buy, when to start and with what odds, what the hands do.

    For 40 guests on Saturday: tuyere plan --guests 40 --serve "Sat 18:00". A file given by --file has the same names
    (serve = "Sat 18:00", guests = 40 ...) and a table [[piece]] with name, mass, thick for each piece you have.
    """
    if context.invoked_subcommand is not None:
        return
    from tuyere.plan import make
    from tuyere.plan.times import BadPlan

    try:
        asked = _read(context, file, given, units(unit))
        with doing("planning: cooking every start in advance"):
            made = make.make(asked, _learnt())
        shown = _shown(made, as_json, unit)
    except BadPlan as wrong:
        raise _refused(wrong, unit) from None
    if ics is not None:
        _calendar(made, ics, unit)
    if save:
        _save(made, unit)
    click.echo(shown)
    if not save and not as_json:
        click.echo("Not kept. With --save, the cook that you begin on that day takes pieces and programme.", err=True)


def _refused(wrong: BadPlan, unit: str | None) -> click.ClickException:
    """In the reader's units."""
    from tuyere.text import Reader, render

    return click.ClickException(render(wrong.said, Reader(units(unit))))


def _read(context: click.Context, file: Path | None, given: dict[str, Any], reads: str) -> Asked:
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
    if isinstance(value, bool) != (name in ("oven", "intact")):
        raise BadPlan(f"The file's {name} of {str(value).lower()} is not usable; write it as --{name} would have it.")
    try:
        return option.type.convert(value if isinstance(value, bool) else str(value), option, context)
    except click.BadParameter as wrong:
        raise BadPlan(f"The file's {name}: {wrong.message}.") from None


def _learnt() -> Learnt:
    """What the logbook's real cooks say; the usual numbers where there is none."""
    from tuyere import paths
    from tuyere.cook import kitchen
    from tuyere.plan.learnt import Learnt, learn, usual

    if not paths.logbook_path(paths.home()).exists():
        return Learnt()
    try:
        with logbook() as book:
            return learn(book, usual, lambda cook: kitchen.read(book, cook).altitude)
    except click.ClickException as wrong:
        click.echo(f"The logbook did not answer ({wrong.message}); this plan has the usual numbers.", err=True)
        return Learnt()


def _shown(made: Plan, as_json: bool, unit: str | None) -> str:
    from tuyere.plan.page import page

    if as_json:
        return _data(made, made.made)
    lines = page(made, units(unit))
    return "\n".join(click.style(line, bold=True) if not i or line.isupper() else line for i, line in enumerate(lines))


def _data(found: Plan | Moved, now: int) -> str:
    """As JSON for other programs: numbers and sentences metric, times UTC."""
    import msgspec

    from tuyere.text import CELSIUS, Reader, worded

    return msgspec.json.format(msgspec.json.encode(worded(found, Reader(CELSIUS, UTC, now))), indent=1).decode()


def _calendar(made: Plan, file: Path, unit: str | None) -> None:
    from tuyere.plan.calendar import calendar

    try:
        file.write_bytes(calendar(made, units(unit)))
    except OSError as wrong:
        raise click.ClickException(f"Cannot write {file}: {wrong.strerror}; choose another file.") from None
    click.echo(f"Calendar written to {file}.", err=True)


def _save(made: Plan, unit: str | None) -> None:
    import msgspec

    from tuyere import paths
    from tuyere.client.launch import unusable
    from tuyere.cook import kept_programmes, planned, programme
    from tuyere.text import Reader, render, text

    home = paths.home()
    try:
        planned.write(paths.ensure(home), msgspec.json.encode(made))
    except OSError as wrong:
        raise click.ClickException(unusable(home, wrong)) from None
    phases = programme.said([kept_programmes.from_plan(one) for one in made.phases])
    click.echo("Kept: a cook that you begin from 6 h before lighting takes its pieces and programme:", err=True)
    click.echo(render(text("{phases}.", phases=phases), Reader(units(unit))), err=True)


@plan.command()
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@unit("Degrees to print. Default: as the screen shows them.")
def show(as_json: bool, unit: str | None) -> None:
    """Print the plan that is kept."""
    import msgspec

    from tuyere import paths
    from tuyere.cook import planned
    from tuyere.plan.result import Plan
    from tuyere.text import CELSIUS

    file = planned.path(paths.home())
    try:
        kept = msgspec.json.decode(file.read_bytes(), type=Plan)
    except FileNotFoundError:
        raise click.ClickException("No plan is kept: `tuyere plan --save` keeps one.") from None
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError) as wrong:
        raise click.ClickException(f"{file} cannot be read ({wrong}): plan anew with --save.") from None
    if not kept.typed and units(unit) != CELSIUS and not as_json:
        click.echo("An earlier version made this plan: its sentences are metric. Plan anew for your units.", err=True)
    click.echo(_shown(kept, as_json, unit))


@plan.command()
@click.argument("serve")
@click.option("--oven/--no-oven", default=False, help="There is an oven to finish or hold in.")
@click.option("--json", "as_json", is_flag=True, help="The choices as JSON; degrees C, UTC in ms.")
@unit("Degrees to print. Default: as the screen shows them.")
def move(serve: str, oven: bool, as_json: bool, unit: str | None) -> None:
    """Serving moves to SERVE during a cook: the choices, each with its odds.

    Such as: tuyere plan move "Sat 20:00".
    """
    from tuyere.plan import move as moving
    from tuyere.plan.times import BadPlan

    try:
        with logbook() as book:
            cook, known = _running(book, wall_clock())
        with doing("working out the choices"):
            found = moving.choices(cook, known, serve, oven)
    except BadPlan as wrong:
        raise _refused(wrong, unit) from None
    if as_json:
        click.echo(_data(found, found.now))
        return
    click.echo("\n".join(moving.page(found, units(unit))))


def _running(book: Logbook, wall: int) -> tuple[str, Known]:
    """Name of the open cook and all that is known of it; a simulated one has the clock of its newest cycle."""
    from tuyere.cook import from_rows, kitchen, snapshot
    from tuyere.engine.night.minutes import Minutes
    from tuyere.engine.outlook.question import known
    from tuyere.plan.times import BadPlan

    cook = book.cooks.open()
    if cook is None:
        raise BadPlan("No cook is open in the logbook: plan anew with `tuyere plan --serve ...`.")
    pieces = book.pieces.of(cook.id)
    if not pieces:
        raise BadPlan(f"{cook.name} has no pieces yet: add them on the screen (`tuyere watch`), with mass and cut.")
    trend, minutes = book.reading.trend(cook.id), Minutes()
    minutes.add(trend)
    cycle = snapshot.Cycle(low=trend.low[-1], high=trend.high[-1]) if trend.at else None
    now = trend.at[-1] if cook.simulated and trend.at else wall
    events = from_rows.events(book.events.of(cook.id))
    return cook.name, known(now, cook, pieces, events, minutes.columns(), cycle, kitchen.read(book, cook.id))

"""`tuyere plan`: a supper worked back from serving; `tuyere plan move` when serving moves during a cook."""

from __future__ import annotations

from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tuyere.cli.book import logbook, units
from tuyere.cli.columns import columns, narrate
from tuyere.cli.doing import doing
from tuyere.cli.options import unit
from tuyere.cli.plan_options import asks, number, read
from tuyere.engine.device.board_clock import wall_clock

if TYPE_CHECKING:
    from tuyere.cook.snapshot import Kitchen
    from tuyere.forecast.exchange import Known
    from tuyere.logbook import Logbook
    from tuyere.plan.learnt import Learnt
    from tuyere.plan.move import Moved
    from tuyere.plan.result import Plan
    from tuyere.plan.times import BadPlan


@click.group(invoke_without_command=True)
@asks
@click.option("--file", type=click.Path(path_type=Path), help="Read the options and your pieces from a TOML file.")
@click.option("--json", "as_json", is_flag=True, help="The plan as JSON; degrees C, UTC in ms.")
@click.option("--full", is_flag=True, help="Every round, detail, caution and source.")
@click.option(
    "--pit",
    type=number("the number of a cooker", True),
    default=0,
    help="Of several cookers: print and keep the timetable of this one.",
)
@click.option("--ics", type=click.Path(dir_okay=False, path_type=Path), help="Also write a calendar with alarms.")
@click.option("--save", is_flag=True, help="Keep the plan: the cook that begins on that day takes it.")
@unit("Units to print, and of numbers without one. Default: those of the screen.")
@click.pass_context
def plan(
    context: click.Context,
    file: Path | None,
    as_json: bool,
    full: bool,
    pit: int,
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
        asked = read(context, file, given, units(unit))
        with doing("planning: cooking every start in advance"):
            made = make.make(asked, _learnt())
        if not 0 <= pit <= len(made.pits):
            raise BadPlan(f"There is no pit {pit} in this plan: it has {len(made.pits)}.")
        shown = _shown(made, as_json, unit, full, pit)
    except BadPlan as wrong:
        raise _refused(wrong, unit) from None
    if ics is not None:
        _calendar(made, ics, unit)
    if save:
        _save(made, unit, pit)
    click.echo(shown)
    if not save and not as_json:
        narrate("Not kept. With --save, the cook that you begin on that day takes pieces and programme.")


def _refused(wrong: BadPlan, unit: str | None) -> click.ClickException:
    """In the reader's units."""
    from tuyere.text import Reader, render

    return click.ClickException(render(wrong.said, Reader(units(unit))))


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
        narrate(f"The logbook did not answer ({wrong.message}); this plan has the usual numbers.")
        return Learnt()


def _shown(made: Plan, as_json: bool, unit: str | None, full: bool, pit: int = 0) -> str:
    from tuyere.plan.page import LEAST, MOST, page

    if as_json:
        return _data(made, made.made)
    lines = page(made, units(unit), full=full, pit=pit, width=columns(LEAST, MOST))
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
    narrate(f"Calendar written to {file}.")


def _save(made: Plan, unit: str | None, pit: int) -> None:
    """Keep the plan; of several cookers, for the cook on one of them."""
    import msgspec

    from tuyere import paths
    from tuyere.client.launch import unusable
    from tuyere.cook import kept_programmes, planned, programme
    from tuyere.text import Reader, render, text

    home = paths.home()
    if len(made.pits) > 1:
        one = made.pits[max(pit, 1) - 1]
        mine = [piece for piece in made.pieces if piece.pit == max(pit, 1)]
        kitchen = msgspec.structs.replace(made.kitchen, cooker=one.cooker)
        fillings = [filling for filling in made.fillings if filling.pit == max(pit, 1)]
        made = msgspec.structs.replace(
            made, pieces=mine, light=one.light, on=one.on, kitchen=kitchen, fillings=fillings
        )
        narrate(f"Kept is pit {max(pit, 1)}: keep each cooker's with --pit, in a data folder of its own.")
    try:
        planned.write(paths.ensure(home), msgspec.json.encode(made))
    except OSError as wrong:
        raise click.ClickException(unusable(home, wrong)) from None
    phases = programme.said([kept_programmes.from_plan(one) for one in made.phases])
    narrate("Kept: a cook that you begin from 6 h before lighting takes its pieces and programme:")
    narrate(render(text("{phases}.", phases=phases), Reader(units(unit))))
    narrate("With no board plugged in, `tuyere watch` cooks this plan on the twin, from the lighting on.")


@plan.command()
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.option("--full", is_flag=True, help="Every round, detail, caution and source.")
@unit("Degrees to print. Default: as the screen shows them.")
def show(as_json: bool, full: bool, unit: str | None) -> None:
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
        raise click.ClickException(f"{file} cannot be read ({wrong}): plan again with --save.") from None
    if not kept.typed and units(unit) != CELSIUS and not as_json:
        narrate("An earlier version made this plan: its sentences are metric. Plan again for your units.")
    click.echo(_shown(kept, as_json, unit, full))


@plan.command()
@click.argument("serve")
@click.option(
    "--oven/--no-oven", default=None, help="There is an oven to finish or hold in; default: as the cook says (`y`)."
)
@click.option("--json", "as_json", is_flag=True, help="The choices as JSON; degrees C, UTC in ms.")
@unit("Degrees to print. Default: as the screen shows them.")
def move(serve: str, oven: bool | None, as_json: bool, unit: str | None) -> None:
    """Serving moves to SERVE during a cook: the choices, each with its odds.

    Such as: tuyere plan move "Sat 20:00".
    """
    from tuyere.plan import move as moving
    from tuyere.plan.box import OVEN
    from tuyere.plan.page import MOST
    from tuyere.plan.times import BadPlan

    try:
        with logbook() as book:
            cook, known = _running(book, wall_clock())
            kitchen = _kitchen(book)
        there = kitchen.hold == OVEN if oven is None else oven
        with doing("working out the choices"):
            found = moving.choices(cook, known, serve, there, kitchen=kitchen)
    except BadPlan as wrong:
        raise _refused(wrong, unit) from None
    if as_json:
        click.echo(_data(found, found.now))
        return
    click.echo("\n".join(moving.page(found, units(unit), width=columns(moving.NARROW, MOST))))


def _kitchen(book: Logbook) -> Kitchen:
    """With what and where the open cook is cooked and held."""
    from tuyere.cook import kitchen

    cook = book.cooks.open()
    return kitchen.read(book, cook.id if cook is not None else 0)


def _running(book: Logbook, wall: int) -> tuple[str, Known]:
    """Name of the open cook and all that is known of it; a simulated one has the clock of its newest cycle."""
    from tuyere.cook import from_rows, kitchen, snapshot
    from tuyere.engine.night.minutes import Minutes
    from tuyere.engine.outlook.question import known
    from tuyere.plan.times import BadPlan

    cook = book.cooks.open()
    if cook is None:
        raise BadPlan("No cook is open in the logbook: plan again with `tuyere plan --serve ...`.")
    pieces = book.pieces.of(cook.id)
    if not pieces:
        raise BadPlan(f"{cook.name} has no pieces yet: add them on the screen (`tuyere watch`), with mass and cut.")
    trend, minutes = book.reading.trend(cook.id), Minutes()
    minutes.add(trend)
    cycle = snapshot.Cycle(low=trend.low[-1], high=trend.high[-1]) if trend.at else None
    now = trend.at[-1] if cook.simulated and trend.at else wall
    events = from_rows.events(book.events.of(cook.id))
    return cook.name, known(now, cook, pieces, events, minutes.columns(), cycle, kitchen.read(book, cook.id))

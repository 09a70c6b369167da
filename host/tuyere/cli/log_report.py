"""`tuyere log report`: a night as one file, to read, to print and to show to others."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from tuyere.cli.book import CookName, cook_number, logbook, units
from tuyere.cli.options import unit
from tuyere.engine.device.board_clock import wall_clock


@click.command()
@click.argument("cook", type=CookName())
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--force", is_flag=True, help="Overwrite the file if it exists.")
@click.option("--zone", default="", help="The time zone of its times, such as Europe/Berlin. Default: this computer's.")
@unit("Degrees in it. Default: as the screen shows them.")
def report(cook: str, file: Path, force: bool, zone: str, unit: str | None) -> None:
    """Write COOK, a number from `log list` or "last", as one HTML FILE; "-" is standard output.

    It needs no script and loads nothing, prints on two A4 pages, and names no address and no machine.
    """
    from zoneinfo import ZoneInfo

    from tuyere.report import gathered
    from tuyere.report.sheets import page

    try:
        place = ZoneInfo(zone) if zone else None
    except (ValueError, OSError, LookupError):
        raise click.ClickException(f"there is no time zone {zone!r}: give one such as Europe/Berlin") from None
    out = str(file) == "-"
    if not out and file.exists() and not force:
        raise click.ClickException(f"{file} is there already; give another name, or --force to write over it")
    with logbook() as book:
        number = cook_number(book, cook)
        words = page(gathered.load(book, number, wall_clock()), units(unit), place)
    if out:
        sys.stdout.write(words)
        return
    part = file.with_name(file.name + ".part")  # a broken-off report never looks like a whole one
    try:
        part.write_text(words, encoding="utf-8")
        os.replace(part, file)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise click.ClickException(f"cannot write {file} ({error.strerror}); give another place") from error
    click.echo(f"wrote the report of cook {number} to {file}", err=True)

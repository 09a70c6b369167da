"""`tuyere log backup` and `tuyere log salvage`: copies of the logbook, and what can be read of a damaged one."""

from __future__ import annotations

from pathlib import Path

import click

from tuyere import paths
from tuyere.cli.log_check import lines
from tuyere.cli.working import working


def _free(file: Path, force: bool) -> None:
    if file.exists() and not force:
        raise click.ClickException(f"{file} is there already; give another name, or --force to write over it")


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--force", is_flag=True, help="Overwrite the file if it exists.")
def backup(file: Path, force: bool) -> None:
    """Copy the logbook to FILE, also while a cook runs.

    The copy is whole or not there. The engine makes copies of its own in the folder "backups" beside the logbook: once
    a day while no cook is open, and before a new version changes the file.
    """
    from tuyere.logbook import LogbookError
    from tuyere.logbook import backup as backups

    _free(file, force)
    try:
        with working("copying the logbook"):
            backups.copy(paths.logbook_path(paths.home()), file.absolute())
    except LogbookError as error:
        raise click.ClickException(str(error)) from error
    click.echo(f"copied the logbook to {file} ({file.stat().st_size / 1e6:,.1f} MB)", err=True)


@click.command()
@click.argument("damaged", type=click.Path(path_type=Path, dir_okay=False, exists=True), required=False)
@click.option("--output", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The new logbook.")
@click.option("--force", is_flag=True, help="Overwrite the new file if it exists.")
def salvage(damaged: Path | None, output: Path, force: bool) -> None:
    """Write what can be read of DAMAGED into a new logbook, and say what is lost.

    DAMAGED is only read; by default it is your logbook. To use the new file, end the engine, move the damaged logbook
    away, and give the new one its name.
    """
    from tuyere.logbook import LogbookError
    from tuyere.logbook import salvage as salvages

    _free(output, force)
    try:
        with working("reading what can be read"):
            found = salvages.salvage((damaged or paths.logbook_path(paths.home())).absolute(), output.absolute())
    except LogbookError as error:
        raise click.ClickException(str(error)) from error
    click.echo(f"wrote {found.records:,} records and {found.cooks:,} cooks to {output}", err=True)
    for line in lines(found.sound):
        click.echo(line)

"""`tuyere keep`: the engine without a screen."""

from __future__ import annotations

import asyncio
import contextlib
import sys
from collections.abc import Callable
from pathlib import Path

import click
from click.core import ParameterSource

from tuyere import paths
from tuyere.cli.options import simulated, speed, trouble
from tuyere.client.launch import BUSY, TwinOptions, unusable
from tuyere.logbook.errors import LogbookBusy, LogbookError

SIGNALLED = "It was ended by a signal: from the system, its service manager or a person."


@click.command()
@click.option("--port", default="", help="Port of the board: a device, socket://host:port or rfc2217://host:port.")
@click.option("--twin", is_flag=True, help="Use the twin, a simulated board; starts it if it does not run.")
@simulated
@speed(60.0)
@trouble
@click.option("--end", is_flag=True, help="End the engine that keeps this logbook; the board goes on by itself.")
@click.option("--install", is_flag=True, help="Make it a service that starts with the machine, and again if it fails.")
@click.option("--uninstall", is_flag=True, help="Remove that service.")
@click.option("--yes", is_flag=True, help="With --install or --uninstall: do not ask.")
@click.option("--for-screens", is_flag=True, hidden=True)
def keep(
    port: str,
    twin: bool,
    cooker: str,
    seed: int,
    hours: float,
    speed: float,
    trouble: str | None,
    end: bool,
    install: bool,
    uninstall: bool,
    yes: bool,
    for_screens: bool,
) -> None:
    """Run the engine without a screen.

    It owns the board's port and the logbook, stores every record, raises alarms and serves screens. Without
    --port it looks for a board by its USB id. Set TUYERE_HOME to use another logbook. Ends on Ctrl-C, or by
    `tuyere keep --end` from elsewhere: then it stays ended, and open screens say so.

    --install makes a service of your user: a unit of systemd, or an agent of launchd on macOS. It keeps this
    folder and the --port given with it. After a crash it is started again and goes on with the open cook; on
    Linux also after a power cut, if your user may linger. It shows first what it will write, and asks.
    """
    if sum((end, install, uninstall)) > 1:
        raise click.UsageError("--end, --install and --uninstall exclude each other: give one of them")
    if port and twin:
        raise click.UsageError("--port and --twin exclude each other: give one of them")
    home = paths.home()
    if end:
        from tuyere.cli.keep_end import end_engine

        click.echo(asyncio.run(end_engine(home)))
        return
    if install or uninstall:
        from tuyere.cli import keep_service

        if twin:
            raise click.UsageError("a service keeps a real board: leave out --twin")
        keep_service.install(home, port, yes) if install else keep_service.uninstall(home, yes)
        return
    from tuyere.engine.device.board_clock import wall_clock
    from tuyere.engine.engine import Engine, RealCookOpen
    from tuyere.engine.keeping import keep as one_after_another
    from tuyere.service.awake import Awake
    from tuyere.service.notify import Notifier
    from tuyere.service.upkeep import Upkeep

    upkeep = Upkeep(Notifier.from_environment(), Awake())
    try:
        paths.ensure(home)
    except OSError as error:
        raise click.ClickException(unusable(home, error)) from None
    given = click.get_current_context().get_parameter_source("cooker") is ParameterSource.COMMANDLINE
    options = TwinOptions(speed, cooker if given else "", seed, hours, trouble or "") if twin else None

    # for a screen, standard error is that file already
    log = _standard_error if for_screens else _both(paths.engine_log(home))

    def new_engine() -> Engine:
        return Engine(home, port=port, twin=options, for_screens=for_screens, log=log, upkeep=upkeep)

    try:
        asyncio.run(one_after_another(paths.logbook_path(home), wall_clock, new_engine, log, SIGNALLED))
    except LogbookBusy as error:
        click.echo(f"Error: {error}", err=True)
        sys.exit(BUSY)
    except (LogbookError, RealCookOpen, OSError) as error:
        raise click.ClickException(str(error)) from None


def _standard_error(line: str) -> None:
    click.echo(line, err=True)


def _both(file: Path) -> Callable[[str], None]:
    """Lines to standard error and to the engine's log."""

    def say(line: str) -> None:
        click.echo(line, err=True)
        with (
            contextlib.suppress(OSError),
            open(file, "a", encoding="utf-8", opener=paths.private) as out,
        ):  # the night goes on without it
            out.write(line + "\n")

    return say

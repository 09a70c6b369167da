"""`tuyere keep`: the engine without a screen."""

from __future__ import annotations

import asyncio
import signal
import sys

import click

from tuyere import paths
from tuyere.cli.options import simulated, speed
from tuyere.engine.launch import BUSY, TwinOptions


@click.command()
@click.option("--port", default="", help="Port of the board: a device, socket://host:port or rfc2217://host:port.")
@click.option("--twin", is_flag=True, help="Keep the twin, a simulated board; it is started if it does not run.")
@simulated
@speed(60.0)
@click.option("--for-screens", is_flag=True, hidden=True)
def keep(port: str, twin: bool, cooker: str, seed: int, hours: float, speed: float, for_screens: bool) -> None:
    """Run the engine without a screen.

    It owns the board's port and the logbook, stores every record, raises alarms and serves screens. Without
    --port it looks for a board by its USB id. Set TUYERE_HOME to use another logbook. Ends on Ctrl-C.
    """
    from tuyere.engine.keep import Engine, RealCookOpen
    from tuyere.logbook import LogbookBusy, LogbookError

    if port and twin:
        raise click.UsageError("--port names a board and --twin a simulated one: give one of them")
    options = TwinOptions(speed, cooker, seed, hours) if twin else None

    async def run() -> None:
        engine = Engine(paths.home(), port=port, twin=options, for_screens=for_screens)
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGINT):
            try:
                loop.add_signal_handler(number, engine.stop)
            except NotImplementedError:  # Windows
                signal.signal(number, lambda *_: loop.call_soon_threadsafe(engine.stop))
        await engine.run()

    try:
        asyncio.run(run())
    except LogbookBusy as error:
        click.echo(f"Error: {error}", err=True)
        sys.exit(BUSY)
    except (LogbookError, RealCookOpen, OSError) as error:
        raise click.ClickException(str(error)) from None

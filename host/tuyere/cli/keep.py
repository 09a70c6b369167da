"""`tuyere keep`: the engine without a screen."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import sys
from collections.abc import Callable
from pathlib import Path

import click

from tuyere import paths
from tuyere.cli.options import simulated, speed
from tuyere.client.launch import BUSY, TwinOptions, unusable

ENDS_WITHIN = 15.0  # s
LOOK_AGAIN = 0.05  # s


@click.command()
@click.option("--port", default="", help="Port of the board: a device, socket://host:port or rfc2217://host:port.")
@click.option("--twin", is_flag=True, help="Keep the twin, a simulated board; it is started if it does not run.")
@simulated
@speed(60.0)
@click.option("--end", is_flag=True, help="End the engine that keeps this logbook; the board goes on by itself.")
@click.option("--for-screens", is_flag=True, hidden=True)
def keep(
    port: str, twin: bool, cooker: str, seed: int, hours: float, speed: float, end: bool, for_screens: bool
) -> None:
    """Run the engine without a screen.

    It owns the board's port and the logbook, stores every record, raises alarms and serves screens. Without
    --port it looks for a board by its USB id. Set TUYERE_HOME to use another logbook. Ends on Ctrl-C, or by
    `tuyere keep --end` from elsewhere.
    """
    from tuyere.engine.engine import Engine, RealCookOpen
    from tuyere.logbook import LogbookBusy, LogbookError

    if port and twin:
        raise click.UsageError("--port names a board and --twin a simulated one: give one of them")
    home = paths.home()
    if end:
        click.echo(asyncio.run(_end(home)))
        return
    try:
        paths.ensure(home)
    except OSError as error:
        raise click.ClickException(unusable(home, error)) from None
    options = TwinOptions(speed, cooker, seed, hours) if twin else None

    async def run() -> None:
        # for a screen, standard error is that file already
        log = None if for_screens else _both(paths.engine_log(home))
        engine = Engine(home, port=port, twin=options, for_screens=for_screens, log=log)
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


def _both(file: Path) -> Callable[[str], None]:
    """Lines to standard error and to the engine's log."""

    def say(line: str) -> None:
        click.echo(line, err=True)
        with contextlib.suppress(OSError), open(file, "a", encoding="utf-8") as out:  # the night goes on without it
            out.write(line + "\n")

    return say


async def _end(home: Path) -> str:
    """Ask the engine of this home to end and wait until it has; the sentence to show."""
    from tuyere.client.client import Client, EngineError

    try:
        client = await Client.open(home)
    except EngineError as error:
        words = str(error) if error.code else f"no engine is running for {home}: there is nothing to end"
        raise click.ClickException(words) from None
    try:
        async with asyncio.timeout(ENDS_WITHIN):
            try:
                await client.call("stop")
            except EngineError as error:
                if error.code:
                    raise click.ClickException(str(error)) from None
            await _given_free(home)
    except TimeoutError:
        raise click.ClickException(
            f"the engine was asked to end and has not for {ENDS_WITHIN:.0f} s: look at {paths.engine_log(home)}"
        ) from None
    finally:
        await client.close()
    return "The engine has ended; a board goes on by itself."


async def _given_free(home: Path) -> None:
    """Wait until the logbook has no owner, so that the next command can have it at once."""
    from tuyere.logbook import LogbookBusy
    from tuyere.logbook.lock import Lock

    while True:
        with contextlib.suppress(LogbookBusy):
            Lock(paths.logbook_path(home)).release()
            return
        await asyncio.sleep(LOOK_AGAIN)

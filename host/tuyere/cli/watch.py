"""`tuyere watch`: the screen of a cook. Opens the twin when there is no board."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from typing import Any

import click

from tuyere.cli.options import COOKERS, Within, unit


@click.command()
@click.option(
    "--speed",
    type=Within(0, 100000, "simulated seconds a second; 0 is as fast as it goes"),
    default=60.0,
    show_default=True,
    help="Of the twin: simulated seconds a second; 0 is as fast as it goes.",
)
@click.option(
    "--port",
    default="",
    help="Port of the board, such as /dev/ttyACM0, COM3 or socket://host:port; default: look for one.",
)
@click.option("--cooker", type=click.Choice(COOKERS), default=None, help="Of the twin: kind of cooker.")
@click.option(
    "--seed",
    type=Within(0, 2**31 - 1, "a whole number; the same one gives the same cook", whole=True),
    default=None,
    help="Of the twin: the same number gives the same cook again.",
)
@click.option("--plain", is_flag=True, help="Lines of text for pipes and screen readers, no screen.")
@unit("Degrees to show; remembered. Default: as last time.")
@click.pass_context
def watch(
    ctx: click.Context, speed: float, port: str, cooker: str | None, seed: int | None, plain: bool, unit: str | None
) -> None:
    """Watch a cook: how the pit stands and why, the pieces, the trend, and what the hands must do next.

    With no board connected it opens the twin: the board's firmware in front of a simulated pit.
    """
    from tuyere import paths

    home = paths.home()
    given = {
        name: ctx.params[name]
        for name in ("port", "speed", "cooker", "seed")
        if ctx.get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE
    }
    if given:
        from tuyere.cli.running import about, refuse_other

        refuse_other(about(home), given)

    async def connect() -> Any:
        from tuyere.client.client import Client
        from tuyere.client.launch import TwinOptions

        options = TwinOptions(speed=speed, cooker=cooker or "", seed=seed) if wants_twin(port) else None
        return await Client.open(home, launch=True, twin=options, port=port)

    if plain:
        _plain(connect, home, unit)
        return
    if not sys.stdout.isatty():
        raise click.ClickException("the screen needs a terminal; for a pipe or a file give --plain")
    from tuyere.tui.app import WatchApp

    words = WatchApp(connect, home, units=unit, utf8=_utf8()).run()
    if words:
        click.echo(words)


def wants_twin(port: str, look: Callable[[], Sequence[object]] | None = None) -> bool:
    """Whether there is only the twin to watch: no port was named, and no board is plugged in (`look` lists them)."""
    from tuyere.link import find

    return not port and not (look or find.boards)()


def _utf8() -> bool:
    """Whether the terminal can be sent more than ASCII."""
    return "utf" in (sys.stdout.encoding or "").lower()


def _plain(connect: Any, home: Any, units: str | None) -> None:
    """Print until told to end; a reader that has gone away ends it quietly."""
    import asyncio
    import contextlib
    import signal

    from tuyere.tui import plain_screen as plain
    from tuyere.tui import preferences

    known, _ = preferences.load(home)
    bell = known.bell == "on" and sys.stdout.isatty()

    async def lines() -> None:
        task = asyncio.current_task()
        assert task
        # asyncio's own handler of an interrupt does not wake a loop that is about to wait: with nothing else to
        # happen the interrupt would be taken at the next message, or never.
        with contextlib.suppress(NotImplementedError):  # Windows, where the loop wakes by itself
            asyncio.get_running_loop().add_signal_handler(signal.SIGINT, task.cancel)
        await plain.watch(connect, sys.stdout, units or known.units, bell=bell)

    try:
        asyncio.run(lines())
    except (KeyboardInterrupt, asyncio.CancelledError):
        pass
    except BrokenPipeError:
        # What is left in the buffer has no reader; without this Python complains of it at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())

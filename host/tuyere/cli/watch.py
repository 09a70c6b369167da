"""`tuyere watch`: the screen of a cook. Opens the twin when there is no board."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from tuyere.cli.options import Within, trouble, unit
from tuyere.codes import COOKERS


@click.command()
@click.option(
    "--speed",
    type=Within(0, 100000, "simulated seconds a second; 0 is as fast as it goes"),
    default=60.0,
    show_default=True,
    help="Of the twin: simulated seconds a second; 0 is full speed.",
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
@trouble
@click.option("--plain", is_flag=True, help="Lines of text for pipes and screen readers, no screen.")
@unit("Degrees to show; remembered. Default: as last time.")
@click.pass_context
def watch(
    ctx: click.Context,
    speed: float,
    port: str,
    cooker: str | None,
    seed: int | None,
    trouble: str | None,
    plain: bool,
    unit: str | None,
) -> None:
    """Watch a cook: how the pit stands and why, the pieces, the trend, and what the hands must do next.

    With no board connected it opens the twin: the board's firmware in front of a simulated pit.
    """
    from tuyere import paths

    home = paths.home()
    given = {
        name: ctx.params[name]
        for name in ("port", "speed", "cooker", "seed", "trouble")
        if ctx.get_parameter_source(name) is click.core.ParameterSource.COMMANDLINE
    }
    if given:
        from tuyere.cli.running import about, fits, leaves, refuse_other

        found = about(home)
        if found is not None and leaves(found) and not fits(found, given):
            import asyncio

            from tuyere.cli.keep_end import end_engine

            asyncio.run(end_engine(home))  # nobody watches that twin any more, and another one is asked for
        else:
            refuse_other(found, given)

    _refuse_service(home, given)
    if trouble and not wants_twin(port):
        raise click.ClickException("a trouble is practised on the twin: unplug the board first, and leave --port out")

    async def attach() -> Any:
        from tuyere.client.client import Client

        return await Client.open(home)

    async def connect() -> Any:
        from tuyere.client.client import Client
        from tuyere.client.launch import TwinOptions

        twin = TwinOptions(speed=speed, cooker=cooker or "", seed=seed, trouble=trouble or "")
        options = twin if wants_twin(port) else None
        return await Client.open(home, launch=True, twin=options, port=port)

    if plain:
        _plain(connect, attach, home, unit)
        return
    if not sys.stdout.isatty():
        raise click.ClickException("the screen needs a terminal; for a pipe or a file give --plain")
    from tuyere.tui.app import WatchApp

    app = WatchApp(connect, home, attach=attach, units=unit, utf8=utf8())
    words = app.run()
    if app.broken:
        raise click.ClickException(f"{app.broken}. A board and its engine go on; `tuyere watch` opens the screen again")
    if words:
        click.echo(words)
    if app.return_code:
        sys.exit(app.return_code)


def _refuse_service(home: Path, given: Mapping[str, Any]) -> None:
    """Raise if the options ask for something else than the service of this home keeps: that is what would start."""
    from tuyere.service.managers import installed

    found = installed(home) if given else None
    if found is None:
        return
    manager, service = found
    for name, value in given.items():
        if name != "port" or value != service.port:
            kept = f"the board on {service.port}" if service.port else "the first board that is plugged in"
            raise click.ClickException(
                f"the service {manager.name} keeps {kept} for {home}, so --{name} does not apply here: leave it out, "
                "set TUYERE_HOME to another folder, or give the service another port with `tuyere keep --install`"
            )


def wants_twin(port: str, look: Callable[[], Sequence[object]] | None = None) -> bool:
    """Whether there is only the twin to watch: no port was named, and no board is plugged in (`look` lists them)."""
    from tuyere.link import find

    return not port and not (look or find.boards)()


def utf8() -> bool:
    """Whether the terminal shows more than ASCII."""
    return "utf" in (sys.stdout.encoding or "").lower()


def _plain(connect: Any, attach: Any, home: Path, units: str | None) -> None:
    """Print until interrupted. A reader that has gone away ends it quietly."""
    import asyncio
    import contextlib
    import signal

    from tuyere.client.client import EngineError
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
        await plain.watch(connect, sys.stdout, units or known.units, attach=attach, bell=bell)

    try:
        asyncio.run(lines())
    except EngineError as error:
        raise click.ClickException(str(error)) from None
    except (KeyboardInterrupt, asyncio.CancelledError):
        pass
    except BrokenPipeError:
        # The rest of the buffer has no reader. Without this Python complains about it at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())

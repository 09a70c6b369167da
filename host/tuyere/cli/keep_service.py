"""`tuyere keep --install` and `--uninstall`: show what will be done, and do it if a person agrees."""

from __future__ import annotations

import asyncio
import sys
import tempfile
from pathlib import Path

import click

from tuyere import paths
from tuyere.cli import running
from tuyere.cli.keep_end import end_engine
from tuyere.client.launch import unusable
from tuyere.service.awake import trial
from tuyere.service.definition import Service, Unfit
from tuyere.service.managers import Manager, ManagerError, manager


def install(home: Path, port: str, yes: bool) -> None:
    """Have the engine of this home started with the machine, and watched by the system's service manager."""
    chosen = _manager(home)
    try:
        service = Service.of(home, port)
        with tempfile.TemporaryFile(dir=paths.ensure(home)) as out:
            out.write(b"x")
    except Unfit as error:
        raise click.ClickException(str(error)) from None
    except OSError as error:
        raise click.ClickException(unusable(home, error)) from None
    before, unread = chosen.installed()
    runs = running.about(home)
    click.echo(f"This will be written to {chosen.path}:\n")
    click.echo(chosen.text(service))
    if before is not None or unread:
        click.echo("It takes the place of the one that is there.")
    if runs is not None:
        click.echo(
            f"The engine that runs now (process {runs.pid}) keeps {running.keeps(runs)}. It is ended, and the "
            "service's engine takes over"
            + ("; the simulated cook ends with its twin." if runs.twin else ": an open cook goes on.")
        )
    click.echo(f"Then the service is started, now and with the machine. {chosen.after}")
    _agreed("Write and start it?", yes)
    try:
        if runs is not None:
            asyncio.run(end_engine(home))
        chosen.install(service)
    except ManagerError as error:
        raise click.ClickException(f"{error}; the engine's own log is {paths.engine_log(home)}") from None
    click.echo(f"The service {chosen.name} is installed and runs. `tuyere watch` opens its screen; so does every later")
    click.echo("`tuyere watch` for this folder. To look at the twin, set TUYERE_HOME to another folder.")
    _, words = trial()
    click.echo(f"Kept awake: {words}.")


def uninstall(home: Path, yes: bool) -> None:
    """End the service of this home and delete its file."""
    chosen = _manager(home)
    service, unread = chosen.installed()
    if service is None and not unread:
        raise click.ClickException(f"no service is installed for {home}: there is no {chosen.path}")
    runs = running.about(home)
    click.echo(f"The service {chosen.name} is ended, and {chosen.path} is deleted. The logbook stays.")
    if runs is not None and runs.cook:
        click.echo(
            f"The cook {runs.cook!r} is open: the board goes on by itself, but nobody watches it until "
            "`tuyere watch` or `tuyere keep` runs again."
        )
    _agreed("Take it away?", yes)
    try:
        chosen.uninstall()
    except ManagerError as error:
        raise click.ClickException(str(error)) from None
    click.echo(f"The service {chosen.name} is gone.")


def _manager(home: Path) -> Manager:
    """The manager, reachable; ClickException says what to do without one."""
    by_hand = "have your system start `tuyere keep` at boot by its own means, such as an @reboot line of cron"
    try:
        chosen = manager(home)
    except RuntimeError as error:
        raise click.ClickException(f"this user has no home folder for a service's file ({error}): {by_hand}") from None
    if chosen is None:
        raise click.ClickException(f"this system has neither systemd nor launchd: {by_hand}")
    if why := chosen.unreachable():
        raise click.ClickException(
            f"{chosen.kind} cannot be asked as this user ({why}): log in as the user who keeps the cook, "
            f"not by su or sudo; or {by_hand}"
        )
    return chosen


def _agreed(question: str, yes: bool) -> None:
    if yes:
        return
    if not sys.stdin.isatty():
        raise click.ClickException("nothing was done: nobody is here to ask; give --yes to agree beforehand")
    if not click.confirm(question):
        raise click.ClickException("nothing was done")

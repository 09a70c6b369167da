"""`tuyere board`: the board on the bench."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from tuyere import paths
from tuyere.cli import book
from tuyere.cli.options import ALTITUDE, Within, unit

if TYPE_CHECKING:
    from tuyere.board.report import Report
    from tuyere.measures import Typed


@contextlib.contextmanager
def _worded(unit: str | None = None) -> Iterator[None]:
    """Trouble as one sentence and exit code 1; Ctrl-C as a quiet end."""
    from tuyere.board.trouble import Trouble
    from tuyere.client.launch import unusable
    from tuyere.text import Reader, render

    try:
        yield
    except Trouble as trouble:
        raise click.ClickException(render(trouble.said, Reader(book.units(unit)))) from None
    except BrokenPipeError:  # the reader of our output has gone; nothing is wrong with the data folder
        raise
    except OSError as error:
        raise click.ClickException(unusable(paths.home(), error)) from None
    except KeyboardInterrupt:
        sys.exit(130)


def _say(words: str) -> None:
    click.echo(words, err=True)


_port = click.option(
    "--port", default="", help="The board's port: a device, or (not for load) socket://host:port. Default: by USB id."
)
_json = click.option("--json", "as_json", is_flag=True, help="Print JSON.")
_force = click.option("--force", is_flag=True, help="Even while it holds a pit, or if its records do not come.")


@click.group()
def board() -> None:
    """Find, load, check and set the board."""


@board.command()
@_port
@_json
def find(port: str, as_json: bool) -> None:
    """List the serial ports and who is there.

    Asks only ports with a board's USB id, and the one that --port names. No running program is interrupted.
    """
    from tuyere.board import console as line
    from tuyere.link import find as ports

    with _worded():
        boards = {found.port for found in ports.boards()} | ({port} if port else set())
        rows = []
        listed = {name: words for name, words, *_ in ports.ports()}
        for name in sorted({*listed, *boards}):
            asked = name in boards
            who = line.who(name) if asked else None
            rows.append({
                "port": name, "words": listed.get(name, ""), "likely": asked,
                "runs": who.kind if who else "", "says": who.words if who else "not a board by its USB id: not asked",
                "firmware": str(who.hello.get("firmware", "")) if who else "",
            })  # fmt: skip
    if as_json:
        book.print_json(rows)
        return
    for row in rows:
        click.echo(f"{row['port']:20} {'likely ' if row['likely'] else '       '} {row['says']}")
    if not any(row["likely"] for row in rows):
        _say("no board found: plug it in (with a cable that carries data), or name its port with --port")


@board.command()
@_port
@_force
@_json
def load(port: str, force: bool, as_json: bool) -> None:
    """Load the board with this program's firmware, and start it.

    Fetches the records the board still holds, restarts it to its prompt, uploads what differs and compares every
    file by SHA-256. Settings stay. If it breaks off, run it again: a board never runs half a firmware.
    """
    from tuyere.board.load import load as run

    with _worded():
        done = run(paths.home(), port, _say, force)
    if as_json:
        book.print_json(done)
    else:
        click.echo(f"Loaded: board {done['board']} on {done['port']}. Next: `tuyere board check`.")


@board.command()
@click.argument("change", nargs=-1, metavar="[NAME=NUMBER]...")
@_port
@unit("Degrees that you type and read; default: those of the screen. JSON is in C unless given.")
@click.option("--forget", is_flag=True, help="Forget what the board learned of its fire.")
@_json
def settings(change: tuple[str, ...], port: str, unit: str | None, forget: bool, as_json: bool) -> None:
    """Show the board's settings, or change them.

    For instance `tuyere board settings band_high=132 --unit C`; NAME=default sets the default. A star marks
    a value that is not the default. The last line is what the board learned of its fire. Without a board it shows
    ranges and defaults. A running engine passes the change on.
    """
    from tuyere.board import values
    from tuyere.board.change import change as run

    degrees = unit or ("C" if as_json and not change else book.units(None))
    with _worded(degrees):
        new = values.edits(change, degrees)
        found = asyncio.run(run(paths.home(), port, new, forget=forget))
    if as_json:
        book.print_json(values.table(found, degrees))
        return
    for name, line in zip((*values.ROWS, values.LEARNED.name), values.lines(found, degrees), strict=True):
        if not (new or forget) or name in new or (forget and name == values.LEARNED.name):
            click.echo(line)
    if new or forget:
        _say("the board has acknowledged")
    elif not found:
        _say("no board is plugged in: these are the settings with their defaults; name a port with --port")


@board.command()
@_port
@_force
def release(port: str, force: bool) -> None:
    """Restart the board to its prompt, for an upload by hand.

    Fetches the records it still holds first. At the prompt it has no watchdog.
    """
    from tuyere.board.load import release as run

    with _worded():
        click.echo(run(paths.home(), port, _say, force))


@board.command()
@_port
@_json
@click.option("--messages", type=Within(1, 1e9, "how many messages", whole=True), help="How many, then end.")
def listen(port: str, as_json: bool, messages: int | None) -> None:
    """Print what the board says, decoded, until Ctrl-C. The board keeps all its records."""
    import msgspec

    from tuyere.board.console import Line
    from tuyere.board.listen import Listener, words
    from tuyere.board.load import where

    listener = None
    try:
        with _worded(), Line(where(port)) as line:
            listener = Listener(line)
            for heard in listener.listen():
                click.echo(json.dumps(msgspec.to_builtins(heard)) if as_json else words(heard))
                if messages and listener.heard >= messages:
                    break
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # whoever read has gone
    finally:
        if listener:
            _say(f"{listener.heard} messages, {listener.damaged} damaged lines")


@board.command()
@_port
@click.option("--altitude", type=ALTITUDE, help="Above the sea, as '3000 ft' or '900 m'; asked for if not given.")
@unit("Degrees of what you read; default: as the screen shows them. JSON is in C.")
@_json
def check(port: str, altitude: Typed | None, unit: str | None, as_json: bool) -> None:
    """Walk through probes, alarm, button and fan.

    Stores each probe's offset. For a cold pit, with ice, a pot of boiling water and the 12 V supply ready. Any step
    can be skipped or done again; Ctrl-C ends it, with the fan off. A dated report goes to the data folder. Exit code 1
    if anything is wrong.
    """
    from tuyere.board import report
    from tuyere.text import Length, Range, Reader, render, text

    reader = Reader(book.units(unit))
    metres = None if altitude is None else altitude.value(ALTITUDE.quantity, reader.units)
    if metres is not None and not -500 <= metres <= 5000:
        allowed = text("give {allowed}", allowed=Range(Length(-500.0), Length(5000.0)))
        raise click.BadParameter(render(allowed, reader), param_hint="--altitude")
    with _worded(unit):
        found = asyncio.run(_check(port, metres, reader.units))
        read, data = report.save(found, paths.home(), reader)
    if as_json:
        book.print_json(report.data(found))
    else:
        click.echo(report.text(found, reader))
    _say(f"written to {read} and {data.name}")
    sys.exit(0 if found.good else 1)


async def _check(port: str, altitude: float | None, unit: str) -> Report:
    from datetime import datetime

    from tuyere.board import report
    from tuyere.board.bench import Bench
    from tuyere.board.check import Check
    from tuyere.board.person import Terminal

    async with Bench(paths.home(), port) as bench:
        found = report.begin(bench.hello, datetime.now())
        hands = Terminal()
        hands.say(f"{found.board} on {bench.port}. s skips a step, q ends; the fan is off at the end in any case.")
        with contextlib.suppress(asyncio.CancelledError):  # Ctrl-C: the findings so far are kept
            await Check(bench, hands, found, altitude, unit).run()
        return found

"""`tuyere keep --end`: end the engine of a home, or say why it does not end."""

from __future__ import annotations

import asyncio
import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tuyere import paths
from tuyere.client.launch import by_force, unanswering
from tuyere.logbook.errors import LogbookBusy, LogbookError
from tuyere.logbook.lock import Lock, lock_path
from tuyere.service.managers import ManagerError, installed

if TYPE_CHECKING:
    from tuyere.client.client import Client

ENDS_WITHIN = 15.0  # s
LOOK_AGAIN = 0.05  # s


async def end_engine(home: Path) -> str:
    """Ask the engine of this home to end and wait until it has; the sentence to show. ClickException says why not."""
    from tuyere.client.client import Client, EngineError

    try:
        client = await Client.open(home)
    except EngineError as error:
        if error.code:
            raise click.ClickException(str(error)) from None
        return _without_answer(home)
    pid = 0
    try:
        async with asyncio.timeout(ENDS_WITHIN):
            try:
                pid = int((await client.call("about"))["pid"])
                await client.call("stop")
            except EngineError as error:
                if error.code:
                    raise click.ClickException(str(error)) from None
            await _given_free(home, client)
    except TimeoutError:
        raise click.ClickException(
            f"the engine was asked to end and has not for {ENDS_WITHIN:.0f} s: "
            f"{by_force(pid, lock_path(paths.logbook_path(home)))}, and look at {paths.engine_log(home)}"
        ) from None
    finally:
        await client.close()
    return "The engine has ended; a board goes on by itself." + _next_start(home)


def _next_start(home: Path) -> str:
    service = installed(home)
    if service is None:
        return ""
    return f" The service starts it again with the machine; at once with `{' '.join(service[0].start_command())}`."


def _without_answer(home: Path) -> str:
    """No engine answers: what was done about it. ClickException if none runs, or one holds the logbook silently."""
    service = installed(home)
    try:
        if service and (done := service[0].hold_back()):
            return f"{done}.{_next_start(home)}"
        if os.path.exists(home):
            Lock(paths.logbook_path(home)).release()
    except LogbookBusy:
        raise click.ClickException(unanswering(home)) from None
    except (LogbookError, ManagerError) as error:
        raise click.ClickException(str(error)) from None
    raise click.ClickException(f"no engine is running for {home}: there is nothing to end")


async def _given_free(home: Path, client: Client | None = None) -> None:
    """Wait until the logbook has no owner, so that the next command can have it at once."""
    from tuyere.client.client import EngineError

    while True:
        try:
            Lock(paths.logbook_path(home)).release()
            return
        except LogbookBusy:
            pass
        except LogbookError:  # the permissions were changed meanwhile; the engine's own line shows that it ended
            try:
                await client.call("about") if client is not None else None
            except EngineError as error:
                if not error.code:
                    return
        await asyncio.sleep(LOOK_AGAIN)

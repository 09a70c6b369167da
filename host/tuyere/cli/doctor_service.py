"""What `tuyere doctor` finds out about the service and about keeping the machine awake."""

from __future__ import annotations

import getpass
import os
import sys
from pathlib import Path

from tuyere.cook.snapshot import About
from tuyere.service.awake import HELD, trial
from tuyere.service.managers import Manager, State, manager


def service(home: Path, engine: About | None, chosen: Manager | None = None) -> tuple[str, list[str]]:
    """(state of this home's service, what needs attention). `chosen` is the manager if not the system's."""
    try:
        found = chosen or manager(home)
    except RuntimeError as error:
        return f"none: this user has no home folder for its file ({error})", []
    if found is None:
        return "none: this system has neither systemd nor launchd", []
    state = found.state()
    if state.unread:
        return f"cannot be read: {found.path}", [f"{state.unread}: run `tuyere keep --install` again"]
    if state.service is None:
        return "not installed: `tuyere keep --install` has the system start the engine, and again if it fails", []
    kept = state.service.port or "the first board that is plugged in"
    words = f"{found.name} ({found.path}) keeps {kept}, started by {state.service.python}"
    if state.unasked:
        return words, [f"{found.kind} cannot be asked about the service ({state.unasked}): log in as its user"]
    stands = [
        "enabled" if state.enabled else "not enabled",
        "runs" if state.running else f"does not run ({state.words})",
        "also with nobody logged in" if state.alone else "only while you are logged in",
    ]
    return f"{words}; {', '.join(stands)}", _wants(found, state, engine)


def _wants(found: Manager, state: State, engine: About | None) -> list[str]:
    kept, again = state.service, "run `tuyere keep --install` again"
    assert kept is not None
    trouble = []
    if not os.access(kept.python, os.X_OK):
        trouble.append(f"the service {found.name} starts {kept.python}, which is gone: {again}")
    elif kept.python != sys.executable:
        trouble.append(
            f"the service {found.name} starts another installation, {kept.python}: {again} from the one you want"
        )
    if kept.home != found.home:
        trouble.append(f"the service {found.name} was written for another folder, {kept.home}: {again}")
    if not state.enabled:
        trouble.append(f"the service {found.name} is not started with the machine: {again}")
    if not state.running and engine is not None:
        trouble.append(
            f"the engine that runs (process {engine.pid}) is not that of the service {found.name}: "
            "end it with `tuyere keep --end`, and the service takes over"
        )
    elif not state.running:
        trouble.append(
            f"the service {found.name} does not run ({state.words}): "
            f"start it with `{' '.join(found.start_command())}`, and look at the engine's log if it ends again"
        )
    if not state.alone:
        trouble.append(
            "after a power cut the service waits until you log in: "
            f"give the command `loginctl enable-linger {getpass.getuser()}` once"
        )
    return trouble


def awake(engine: About | None, tried: tuple[bool, str] | None = None) -> tuple[str, list[str]]:
    """(whether the machine is, or can be, kept awake; what needs attention)."""
    if engine is not None and engine.awake:
        if engine.awake.startswith(HELD):
            return f"{engine.awake}, by the engine", []
        return engine.awake, [f"{engine.awake}: set this machine never to sleep by itself, and do not close its lid"]
    return (tried or trial())[1], []

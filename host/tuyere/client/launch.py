"""Starts the engine, detached, so that it goes on after the screen that needed it.

Only its lock on the logbook shows whether an engine is alive. Starting a second one does no
harm: it finds the lock taken and ends with a sentence.
"""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import time
from pathlib import Path

from msgspec import Struct

from tuyere import paths
from tuyere.logbook.lock import holder, lock_path
from tuyere.service import managers

WITHIN = 30.0  # s until an engine that was started must answer
BUSY = 3  # exit code of an engine that found another one


class TwinOptions(Struct):
    """How the twin runs. cooker "": the twin chooses; speed 0: as fast as it goes."""

    speed: float = 60.0
    cooker: str = ""
    seed: int | None = None
    hours: float | None = None
    trouble: str = ""

    def arguments(self) -> list[str]:
        """As options of `tuyere keep` and `tuyere twin`."""
        given = [
            ("--speed", f"{self.speed:g}"),
            ("--cooker", self.cooker),
            ("--seed", self.seed),
            ("--hours", self.hours),
            ("--trouble", self.trouble),
        ]
        return [part for name, value in given if value not in ("", None) for part in (name, str(value))]


def unusable(home: Path, error: OSError) -> str:
    """What to do about a folder that cannot be made or written, in one sentence."""
    return (
        f"the folder {home} cannot be used ({error.strerror or error}): "
        "change its permissions, or set TUYERE_HOME to another folder"
    )


def unanswering(home: Path) -> str:
    """What to do about a process that holds the logbook and does not answer, in one sentence."""
    book = paths.logbook_path(home)
    pid = holder(book)
    watched = "; a service's watchdog ends it within minutes" if managers.installed(home) else ""
    return (
        f"{f'process {pid}' if pid else 'a process'} holds the logbook {book} and does not answer: "
        f"wait a minute and try again{watched}; else {by_force(pid, lock_path(book))}. "
        "A board goes on by itself, and what is on the disk stays"
    )


def by_force(pid: int, lock: Path) -> str:
    """What a person can do about a process that does not end."""
    if pid:
        return f"end it with `kill {pid}`, and if that does not help with `kill -9 {pid}`"
    return f"end the process that `fuser {lock}` names"


def command() -> list[str]:
    """The command that starts this program."""
    return [sys.executable, "-m", "tuyere"]


def detached(arguments: list[str], log: Path, home: Path) -> subprocess.Popen[bytes]:
    """Start a process of its own session, with its output in `log`."""
    paths.ensure(home)
    with open(log, "ab", opener=paths.private) as out:
        return subprocess.Popen(
            arguments,
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=out,
            cwd=home,
            env={**os.environ, "TUYERE_HOME": str(home)},
            start_new_session=os.name != "nt",
            creationflags=getattr(subprocess, "DETACHED_PROCESS", 0)
            | getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
        )


class Wait:
    """Waiting for an engine that has just been started.

    `process` is the engine, or with `service` what asks the service manager to start it.
    """

    def __init__(self, process: subprocess.Popen[bytes], home: Path, begin: int, service: str = "") -> None:
        self._process = process
        self._service = service
        self._home = home
        self._log = paths.engine_log(home)
        self._begin = begin
        self._until = time.monotonic() + WITHIN
        self._busy_until: float | None = None

    async def step(self) -> str:
        """Wait a moment; "" while it may still come up, else what went wrong in one sentence."""
        await asyncio.sleep(0.05)
        now = time.monotonic()
        code = self._process.poll()
        if code == BUSY:  # another engine is just coming up
            self._busy_until = self._busy_until or now + 5.0
            if now < self._busy_until:
                return ""
        if code == BUSY:
            return unanswering(self._home)
        if code is not None and self._service:
            if code:
                return f"the service {self._service} could not be started: {self._last_words()}"
        elif code is not None:
            return f"the engine ended at once: {self._last_words()}"
        if now > self._until:
            return f"the engine has not answered for {WITHIN:.0f} s: look at {self._log}"
        return ""

    def _last_words(self) -> str:
        with open(self._log, "rb") as log:
            log.seek(self._begin)
            lines = log.read().decode("utf-8", "replace").strip().splitlines()
        return lines[-1] if lines else f"see {self._log}"


def start(home: Path, *, twin: TwinOptions | None = None, port: str = "") -> Wait:
    """Start `tuyere keep` for a screen: the service of this home if one is installed, else detached.

    A detached one ends with the last screen if it keeps a twin.
    """
    paths.ensure(home)
    log = paths.engine_log(home)
    begin = log.stat().st_size if log.exists() else 0
    service = managers.installed(home)
    if service is not None:
        manager, _ = service
        return Wait(detached(manager.start_command(), log, home), home, begin, manager.name)
    arguments = [*command(), "keep", "--for-screens"]
    if twin is not None:
        arguments += ["--twin", *twin.arguments()]
    if port:
        arguments += ["--port", port]
    return Wait(detached(arguments, log, home), home, begin)

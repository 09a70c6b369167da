"""Sends one message by one route: a process of its own, so that nothing a service does can hold up or end the engine.

    python -m tuyere.engine.calls.post        reads one `Letter` as JSON from standard input

The address comes through the pipe and stays in this process: it is no argument, no environment, and the library's own
lines are never passed on, since they may quote it. What became of the message goes to a file, whole or not at all: an
engine that was killed meanwhile finds it there when it is back, and does not send the same again.
"""

from __future__ import annotations

import contextlib
import logging
import os
import re
import shlex
import subprocess
import sys
import threading
from typing import Any

import msgspec
from msgspec import Struct

from tuyere.engine.calls.routes import COMMAND

LIMIT = 20.0  # s a service may take; then it counts as not answered
NO_ANSWER = "no answer"


class Letter(Struct, kw_only=True):
    """One message on its way. outcome: the file that says what became of it, "" for none; urgent: it must wake."""

    address: str
    kind: str
    title: str
    body: str
    urgent: bool = True
    outcome: str = ""
    limit: float = LIMIT


class Outcome(Struct):
    """Whether the service has accepted it, else why not: in our own words, without a part of the address."""

    ok: bool
    why: str = ""


class _Heard(logging.Handler):
    """Keeps what the library says, for `_reason` alone."""

    def __init__(self) -> None:
        super().__init__(logging.DEBUG)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        with contextlib.suppress(Exception):
            self.lines.append(record.getMessage())


def deliver(letter: Letter) -> Outcome:
    """Send it and wait for the service's answer."""
    try:
        return _run(letter) if letter.kind == COMMAND else _notify(letter)
    except Exception as error:  # whatever a library does, a call must hear of it; its words may quote the address
        return Outcome(False, f"could not be sent ({type(error).__name__})")


def known(address: str) -> bool:
    """Whether the library can use this address."""
    with _quiet():
        return _apprise().Apprise.instantiate(address, suppress_exceptions=True) is not None


def _apprise() -> Any:
    import apprise

    return apprise


@contextlib.contextmanager
def _quiet() -> Any:
    """Take the library's log lines, and let nobody else have them."""
    heard, names = _Heard(), ("apprise", "urllib3", "requests")
    before = [(log, log.level, log.propagate, list(log.handlers)) for log in map(logging.getLogger, names)]
    for log, *_ in before:
        log.handlers, log.propagate = [heard], False
        log.setLevel(logging.DEBUG)
    try:
        yield heard
    finally:
        for log, level, propagate, handlers in before:
            log.handlers, log.propagate = handlers, propagate
            log.setLevel(level)


def _notify(letter: Letter) -> Outcome:
    with _quiet() as heard:
        apprise = _apprise()
        asset = apprise.AppriseAsset(app_id="Tuyere", app_desc="Tuyere", app_url="", async_mode=False)
        service = apprise.Apprise.instantiate(letter.address, asset=asset, suppress_exceptions=True)
        if service is None:
            return Outcome(False, "its address is not understood: add the route again")
        service.socket_connect_timeout = service.socket_read_timeout = max(1.0, letter.limit - 1.0)
        kind = apprise.NotifyType.FAILURE if letter.urgent else apprise.NotifyType.INFO
        if service.notify(body=letter.body, title=letter.title, notify_type=kind):
            return Outcome(True)
    return Outcome(False, _reason("\n".join(heard.lines)))


def _reason(lines: str) -> str:
    """Why it was not sent, in a fixed sentence: nothing of the library's own words but a number."""
    if found := re.search(r"error=(\d{3})\b", lines):
        return f"the service refused it (HTTP {found[1]})"
    low = lines.lower()
    for words, said in (
        (("timed out", "timeout"), NO_ANSWER),
        (("refused",), "the connection was refused"),
        (("name or service", "getaddrinfo", "nodename", "resolution", "resolve"), "its name was not found"),
        (("certificate", "ssl"), "its certificate is not good"),
        (("authentication", "credentials"), "it does not accept the password"),
        (("connection", "socket"), "it could not be reached"),
    ):
        if any(word in low for word in words):
            return said
    return "the service refused it"


def _run(letter: Letter) -> Outcome:
    """The user's own command: title and text in its environment, the text on its standard input too."""
    given = {"TUYERE_TITLE": letter.title, "TUYERE_TEXT": letter.body, "TUYERE_URGENT": str(int(letter.urgent))}
    try:
        done = subprocess.run(
            shlex.split(letter.address, posix=os.name != "nt"),
            input=f"{letter.title}\n{letter.body}\n".encode(),
            env={**os.environ, **given},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=max(1.0, letter.limit - 1.0),
            check=False,
        )
    except subprocess.TimeoutExpired:
        return Outcome(False, "the command did not end")
    except (OSError, ValueError):
        return Outcome(False, "the command cannot be run")
    return Outcome(done.returncode == 0, f"the command ended with code {done.returncode}" if done.returncode else "")


def store(letter: Letter, outcome: Outcome) -> None:
    """Write what became of it, whole or not at all."""
    if not letter.outcome:
        return
    beside = f"{letter.outcome}.{os.getpid()}"
    with contextlib.suppress(OSError):
        with open(beside, "wb") as out:
            out.write(msgspec.json.encode(outcome))
            out.flush()
            os.fsync(out.fileno())
        os.replace(beside, letter.outcome)


def main() -> None:
    """Send what standard input has; the exit code is 0 if the service accepted it."""
    letter = msgspec.json.decode(sys.stdin.buffer.read(), type=Letter)

    def late() -> None:
        store(letter, Outcome(False, NO_ANSWER))
        os._exit(1)

    watch = threading.Timer(letter.limit, late)
    watch.daemon = True
    watch.start()
    outcome = deliver(letter)
    watch.cancel()
    store(letter, outcome)
    os._exit(0 if outcome.ok else 1)  # a thread that a library left behind must not keep it


if __name__ == "__main__":
    main()

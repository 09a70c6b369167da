"""Who is called, and how: the routes of one home, in a file that only its owner can read.

An address holds secrets (a topic, a token, a password). It stands in this file and nowhere else: it goes to the process
that sends, through a pipe, and no log, export, error or list names more of it than its kind.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta, Struct, field

from tuyere import paths
from tuyere.text import FAHRENHEIT

URGENT, ALL, HEARTBEAT = "urgent", "all", "heartbeat"  # what a route is for
WANTS = (URGENT, ALL, HEARTBEAT)
COMMAND = "command"  # the kind of a route that runs a command of the user's own
# Kinds of address that only reach a mailbox: a phone in its night mode stays silent for those.
MAIL = (
    "mailto", "mailtos", "azure", "o365", "mailgun", "sendgrid", "sendpulse", "ses", "smtp2go", "sparkpost", "resend",
    "brevo", "mailersend", "postmark", "groundmail",
)  # fmt: skip
DAY = 24 * 60
_NAME = re.compile(r"[a-z0-9][a-z0-9_-]{0,23}")
_KIND = re.compile(r"([a-z][a-z0-9+._-]{0,30})://")

_Minute = Annotated[int, Meta(ge=0, lt=DAY)]


class BadRoute(ValueError):
    """A route, or the file of all, that cannot be used: what, where and what to do, without any secret."""


class Route(Struct, kw_only=True):
    """One way to a person.

    address: of the notification service, or the command. begin, end: minutes after midnight of this computer's clock
    between which it may be used; the same twice is always. next: who is called when nobody answers within `after` min.
    """

    name: str
    address: str
    kind: str  # COMMAND, or the beginning of the address
    wants: str = URGENT
    begin: _Minute = 0
    end: _Minute = 0
    next: str = ""
    after: Annotated[float, Meta(ge=0, le=240)] = 9.0
    units: str = FAHRENHEIT

    @property
    def mail(self) -> bool:
        """Whether it only reaches a mailbox."""
        return self.kind in MAIL

    def open(self, minute: int) -> bool:
        """Whether it may be used at this minute of the day."""
        return self.begin == self.end or (minute - self.begin) % DAY < (self.end - self.begin) % DAY


class Routes(Struct, kw_only=True):
    """All routes, and the times of the calls in minutes."""

    routes: list[Route] = field(default_factory=list)
    repeat: Annotated[float, Meta(ge=1, le=60)] = 3.0  # an urgent call that nobody has answered
    again: Annotated[float, Meta(ge=5, le=240)] = 30.0  # one that was acknowledged, and its cause is unchanged
    silence: Annotated[float, Meta(ge=1, le=60)] = 15.0  # after "I'm awake"
    beat: Annotated[float, Meta(ge=1, le=60)] = 5.0  # between heartbeats

    def named(self, name: str) -> Route | None:
        """The route of that name."""
        return next((one for one in self.routes if one.name == name), None)

    def calling(self, level: str) -> list[Route]:
        """Routes for alarms of this level, in their order."""
        wanted = (URGENT, ALL) if level == URGENT else (ALL,)
        return [one for one in self.routes if one.wants in wanted]

    def first(self, level: str) -> list[Route]:
        """Of those, the ones that are called first: nobody passes a call on to them."""
        behind = {one.next for one in self.routes}
        found = self.calling(level)
        return [one for one in found if one.name not in behind] or found

    @property
    def heartbeats(self) -> list[Route]:
        """Addresses that hear regularly that all is well."""
        return [one for one in self.routes if one.wants == HEARTBEAT]


def kind_of(address: str) -> str:
    """The kind of an address, such as "ntfy"; BadRoute if it has none."""
    found = _KIND.match(address.strip().lower())
    if found is None:
        raise BadRoute("the address has no kind: it begins with one, such as ntfy:// or mailto://")
    return found[1]


def add(book: Routes, route: Route) -> None:
    """Put a route in, in place of one of the same name; BadRoute says what does not fit."""
    if not _NAME.fullmatch(route.name):
        raise BadRoute("a route's name has 1 to 24 small letters, digits, - and _, such as phone: give another")
    if route.wants not in WANTS:
        raise BadRoute(f"a route is for {', '.join(WANTS)}: give one of them")
    if route.wants == HEARTBEAT and route.kind not in ("http", "https"):
        raise BadRoute("a heartbeat goes to an address that begins with https:// or http://")
    if route.next and route.wants == HEARTBEAT:
        raise BadRoute("a heartbeat passes nothing on: leave --next out")
    if route.next == route.name:
        raise BadRoute(f"{route.name} cannot come after itself: give --next another route")
    book.routes = [one for one in book.routes if one.name != route.name] + [route]
    seen, at = {route.name}, route.next
    while at and (one := book.named(at)) is not None:
        if at in seen:
            raise BadRoute(f"the routes pass a call on in a circle, over {at}: give --next another route")
        seen.add(at)
        at = one.next


def remove(book: Routes, name: str) -> None:
    """Take a route out; BadRoute if there is none of that name."""
    if book.named(name) is None:
        known = ", ".join(one.name for one in book.routes) or "there is none yet"
        raise BadRoute(f"there is no route {name!r} ({known})")
    book.routes = [one for one in book.routes if one.name != name]
    for one in book.routes:
        one.next = "" if one.next == name else one.next


def missing(book: Routes) -> list[str]:
    """Names that a route passes its calls on to, and that are not there."""
    return sorted({one.next for one in book.routes if one.next and book.named(one.next) is None})


def read(home: Path) -> Routes:
    """The routes of this home; none where there is no file. BadRoute if it cannot be used.

    A file that others may read is closed to them at once.
    """
    file = paths.wake_file(home)
    try:
        if os.name != "nt" and stat.S_IMODE(file.stat().st_mode) & 0o077:
            file.chmod(0o600)
        return msgspec.json.decode(file.read_bytes(), type=Routes)
    except FileNotFoundError:
        return Routes()
    except OSError as error:
        raise BadRoute(f"{file} cannot be read ({error.strerror}): change its permissions") from None
    except (msgspec.MsgspecError, UnicodeDecodeError):  # their words may quote the file
        raise BadRoute(f"{file} is damaged: mend it, or move it away and add the routes again") from None


def write(home: Path, book: Routes) -> None:
    """Store the routes, whole or not at all, readable by their owner only."""
    file = paths.wake_file(paths.ensure(home))
    beside = file.with_suffix(".new")
    beside.unlink(missing_ok=True)
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as out:
        out.write(msgspec.json.format(msgspec.json.encode(book)))
        out.flush()
        os.fsync(out.fileno())
    os.replace(beside, file)


def changed(home: Path) -> tuple[int, int]:
    """What differs when the file was written again: its time and its size, (0, 0) for none."""
    try:
        found = paths.wake_file(home).stat()
    except OSError:
        return 0, 0
    return found.st_mtime_ns, found.st_size


def listed(routes: Sequence[Route]) -> list[str]:
    """Their names."""
    return [one.name for one in routes]

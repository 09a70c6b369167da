"""What the keys of a past night do: they move its clock. One function an action, with its name."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta
from typing import Any, Protocol

from tuyere.cook import say
from tuyere.tui.actions import PAST
from tuyere.tui.face import Face
from tuyere.tui.handlers import show
from tuyere.tui.screens.form import Field, Form, Values

TEN = 10 * say.MINUTE
_TIME = re.compile(r"(?:([a-z]{3})[a-z]*\s+)?(\d{1,2})[:.](\d{2})")
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class Played(Protocol):
    """See `replay.player.Player`."""

    at: int
    paused: bool
    speed: float

    @property
    def first(self) -> int: ...

    @property
    def last(self) -> int: ...

    def pause(self) -> None: ...

    def faster(self, by: int) -> float: ...

    def cycles(self, count: int) -> None: ...

    def jump(self, at: int) -> None: ...

    def mark(self, by: int) -> int: ...


class PastFace(Face, Protocol):
    """The app that shows a past night."""

    player: Played


async def pause(app: PastFace) -> None:
    app.player.pause()


async def next_mark(app: PastFace) -> None:
    _mark(app, 1, "Nothing more happened that night.")


async def last_mark(app: PastFace) -> None:
    _mark(app, -1, "Nothing had happened before.")


def _mark(app: PastFace, by: int, none: str) -> None:
    if not app.player.mark(by):
        app.say(none)


async def go_to(app: PastFace) -> None:
    player = app.player
    began, ended = (f"{say.weekday(at)} {say.clock(at)}" for at in (player.first, player.last))

    def check(values: Values) -> str:
        wrong = wrong_time(values["at"])
        return f"{wrong} Type a time as {say.clock(player.at)}, or with its day as {began}." if wrong else ""

    words = f"The night was recorded from {began} to {ended}."
    values = await app.ask(Form("Go to a time", words, [Field("at", "time", value=say.clock(player.at))], check))
    if values is not None:
        player.jump(read_time(values["at"], player.first) or player.at)


def wrong_time(typed: str) -> str:
    """What keeps `typed` from being a time of a day, as a sentence; "" if nothing does."""
    found = _TIME.fullmatch(typed.strip().lower())
    if found is None:
        return f"{typed.strip()} is no time." if typed.strip() else "No time is typed."
    if int(found[2]) > 23:
        return f"{found[2]} is no hour: a day ends at 23:59."
    if int(found[3]) > 59:
        return f"{found[3]} is no minute: an hour ends at :59."
    return f"{typed.split(maxsplit=1)[0]} is no day of the week." if found[1] and found[1] not in DAYS else ""


def read_time(typed: str, first: int) -> int | None:
    """'03:12', 'Sun 03:12' -> UTC ms: the first such time of a night that began at `first`. None if it is no time."""
    found = _TIME.fullmatch(typed.strip().lower())
    if found is None or wrong_time(typed):
        return None
    began = datetime.fromtimestamp(first / 1000)
    at = began.replace(hour=int(found[2]), minute=int(found[3]), second=0, microsecond=0)
    at += timedelta(days=1 if at < began.replace(second=0, microsecond=0) else 0)
    while found[1] and DAYS[at.weekday()] != found[1]:
        at += timedelta(days=1)
    return round(at.timestamp() * 1000)


async def faster(app: PastFace) -> None:
    app.player.faster(1)


async def slower(app: PastFace) -> None:
    app.player.faster(-1)


async def cycle_on(app: PastFace) -> None:
    app.player.cycles(1)


async def cycle_back(app: PastFace) -> None:
    app.player.cycles(-1)


async def minutes_on(app: PastFace) -> None:
    app.player.jump(app.player.at + TEN)


async def minutes_back(app: PastFace) -> None:
    app.player.jump(app.player.at - TEN)


async def to_begin(app: PastFace) -> None:
    app.player.jump(app.player.first)


async def to_end(app: PastFace) -> None:
    app.player.jump(app.player.last)


def _function(name: str) -> Callable[[Any], Awaitable[None]]:
    here: dict[str, Any] = {**vars(show), **globals()}
    found: Callable[[Any], Awaitable[None]] = here[name]
    return found


HANDLERS = {action.id: _function(action.id) for action in PAST}

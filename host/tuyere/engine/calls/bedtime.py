"""The test before bed: a night is watched only once a call has woken somebody since the fire was lit.

It is sent as a real urgent call, two minutes after it was asked for, so that the phone can be locked in its night mode
and lie where it lies at night. Each route brings four digits of its own. Who types them and says that the phone sounded
has shown that this route wakes; a mail never counts.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence
from datetime import datetime

import msgspec
from msgspec import Struct

from tuyere.cook.faults import URGENT
from tuyere.engine.calls.routes import Routes

AFTER = 120_000  # ms from the asking to the call
VALID = 30 * 60_000  # ms in which its digits may be typed
LASTS = 18 * 3_600_000  # ms that it counts
NAME = "woken"  # of the cook's text that holds it
SLEEP = "sleep"  # of the cook's text that holds its plan's hours of sleep
USUAL = "23:00-06:00"  # without a plan
AHEAD = 60  # min before the sleep from which it is asked for

Digits = Callable[[], str]


def draw() -> str:
    """Four digits."""
    return f"{secrets.randbelow(10_000):04d}"


class Woken(Struct):
    """A test that counted: by which route, and when (the computer's clock and the cook's, UTC ms)."""

    route: str = ""
    wall: int = 0
    at: int = 0

    @classmethod
    def read(cls, text: str | None) -> Woken:
        """From the cook's text; an empty one for a text that does not parse."""
        try:
            return msgspec.json.decode(text or "{}", type=cls)
        except msgspec.MsgspecError:
            return cls()

    def counts(self, now: int, lit: int) -> bool:
        """Whether the night is watched: `now` by the computer's clock; lit: when the fire was, the cook's clock."""
        return bool(self.wall and lit and self.at >= lit) and 0 <= now - self.wall < LASTS


class Bedtime:
    """The test that is on its way. Times are ms of the calls' clock."""

    def __init__(self, digits: Digits = draw) -> None:
        self._draw = digits
        self.due = 0  # 0: none was asked for
        self._sent: dict[str, str] = {}  # digits -> route
        self._until = 0
        self.refused: dict[str, str] = {}  # route -> why its service did not take it

    def ask(self, now: int) -> None:
        """A test is wanted."""
        self.due, self.refused = now + AFTER, {}
        self._sent.clear()

    def waits(self, now: int) -> bool:
        """Whether it has been sent, and its digits may be typed."""
        return bool(self._sent) and now < self._until

    def step(self, now: int, book: Routes) -> list[tuple[str, str]]:
        """(route, digits) of what is to be sent now."""
        if not self.due or now < self.due:
            return []
        self.due, self._until = 0, now + VALID
        taken: list[str] = []
        for one in book.calling(URGENT):
            drawn = next(d for d in iter(self._draw, None) if d not in self._sent)
            self._sent[drawn] = one.name
            taken.append(drawn)
        return [(self._sent[drawn], drawn) for drawn in taken]

    def answer(self, digits: str, now: int) -> str:
        """The route that brought these digits, "" if none did."""
        return self._sent.get(digits.strip(), "") if self.waits(now) else ""

    def end(self) -> None:
        """It has been answered."""
        self.due = 0
        self._sent.clear()

    def move(self, by: int) -> None:
        """The clock has stepped."""
        self.due += by if self.due else 0
        self._until += by


def asks(at: int, hours: str) -> int:
    """When today's or tonight's test is asked for: UTC ms, 0 while the cook sleeps or it is that time already.

    hours: of sleep, '23:00-06:00' or 'none'; `at` is the cook's clock. -1: no sleep is planned.
    """
    try:
        begin, end = (_minute(part) for part in hours.split("-"))
    except ValueError:
        return -1
    then = datetime.fromtimestamp(at / 1000)
    minute = then.hour * 60 + then.minute
    ahead = (begin - AHEAD - minute) % 1440
    if (minute - begin + AHEAD) % 1440 < (end - begin + AHEAD) % 1440:
        return 0
    return at + ahead * 60_000


def _minute(clock: str) -> int:
    hours, _, minutes = clock.partition(":")
    return int(hours) * 60 + int(minutes)


def sounding(book: Routes) -> Sequence[str]:
    """Names of the routes that can wake: urgent ones that are more than a mail."""
    return [one.name for one in book.calling(URGENT) if not one.mail]

"""Writes `tests/engine/calls/called.txt`: what is sent to whom in nights of causes that come, stay and go.

Run it with `python tests/engine/calls/called.py` after a change of the calls. The diff says what is sent otherwise than
before; look at each line.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from calls_kit import MINUTE, NIGHT, Night, route

PAGE = Path(__file__).with_name("called.txt")
REFUSED = "the service refused it (HTTP 500)"


def several(night: Night) -> None:
    """Three causes one after the other; one is acknowledged, then all go."""
    for code in ("trip_hot", "fading", "too_cool"):
        night.stand(code)
        night.go(4)
    night.acknowledge("fading")
    night.go(7)
    night.present.clear()
    night.go(35)


def warned(night: Night) -> None:
    """A warning, beside it an urgent cause that is shelved for a while."""
    night.stand("fuel_low", level="warning")
    night.go(2)
    night.stand("trip_hot", shelved=NIGHT + 6 * MINUTE)
    night.go(12)


def chained(night: Night) -> None:
    """The first refuses at first, the second never answers, and nobody acknowledges."""
    night.takes = {"phone": REFUSED, "sister": "wait"}
    night.stand("trip_hot")
    night.go(2)
    night.takes = {"sister": "wait"}
    night.go(16)


def asleep(night: Night) -> None:
    """Somebody is awake for a quarter of an hour, another cause comes meanwhile, the engine is killed."""
    night.stand("trip_hot")
    night.go(1)
    night.calls.awake(night.now, 15)
    night.go(5)
    night.stand("too_cool")
    night.go(1)
    night.killed()
    night.go(12)
    night.acknowledge("trip_hot")
    night.go(3)
    night.killed()
    night.go(32)


def linked(night: Night) -> None:
    """The link is lost twice, once for less than a minute."""
    night.stand("link_lost")
    night.go(0.8)
    night.present.clear()
    night.go(3)
    night.present.add("link_lost")
    night.go(5)


SCENES: dict[str, tuple[Callable[[Night], None], list[Any], bool]] = {
    "several": (several, [route("phone", wants="all")], False),
    "warned": (warned, [route("phone", wants="all"), route("sister")], False),
    "chained": (chained, [route("phone", next="sister", after=5), route("sister", next="friend", after=4),
                          route("friend", units="F")], False),
    "asleep": (asleep, [route("phone")], False),
    "linked": (linked, [route("phone")], False),
    "practised": (several, [route("phone", wants="all")], True),
}  # fmt: skip


def told(name: str) -> Iterator[str]:
    """A scene, line by line."""
    play, routes, practice = SCENES[name]
    night = Night(*routes)
    night.practice = practice
    play(night)
    yield f"{name}: {play.__doc__}"
    for at, job in night.sent:
        body = job.body.replace("\n", " / ")
        yield f"  {at:5.2f} min {job.route.name}{' urgent' if job.urgent else ''}: {job.title} | {body}"
    steps = [f"{(one.at - NIGHT) / MINUTE:.2f} {one.code} {one.step} {one.route}".strip() for one in night.written]
    yield f"  written: {', '.join(steps)}"
    yield f"  unheard {night.calls.unheard}, calling {night.calls.calling(night.now)}"


def written() -> str:
    """The page."""
    with in_utc():
        return "\n".join(line for name in SCENES for line in [*told(name), ""])


@contextmanager
def in_utc() -> Iterator[None]:
    """A call names times in the zone of this computer."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = "UTC"
    time.tzset()
    try:
        yield
    finally:
        os.environ.pop("TZ")
        if before is not None:
            os.environ["TZ"] = before
        time.tzset()


if __name__ == "__main__":
    PAGE.write_text(written(), encoding="utf-8")

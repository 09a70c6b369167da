"""The words of a call: what, since when, what to check first, pit and meat as they are now. At most 240 characters."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import tzinfo

from msgspec import Struct, field

from tuyere.cook.say import cut
from tuyere.text import Clock, Count, Reader, Said, Temperature, Text, Value, render, text

MOST = 240  # characters of title and text together
NAME_MOST = 16
PRACTICE = "PRACTICE"
CALL, REPEAT, AGAIN, OVER, WARNING, TEST = "call", "repeat", "again", "over", "warning", "test"  # what is sent


class Now(Struct):
    """Pit and meat at this moment. pieces: (name, C or None) of those that are not carved, the coldest first."""

    at: int  # the cook's clock
    pit: float | None = None
    pieces: list[tuple[str, float | None]] = field(default_factory=list)
    linked: bool = True  # the board's readings are of now


class Cause(Struct):
    """Why somebody is called: as the alarm says it."""

    what: Said
    since: int  # the cook's clock
    check: Said = ""  # the first of its checks


def compose(
    kind: str, cause: Cause, now: Now, *, units: str, zone: tzinfo | None = None, count: int = 1, more: int = 0,
    practice: bool = False, keys: str = "",
) -> tuple[str, str]:  # fmt: skip
    """(title, text) of a message. count: how often this cause has called, with this time; more: other urgent causes
    that stand; keys: what to answer."""
    reader = Reader(units, zone, now.at)
    title = render(cause.what, reader)
    if kind == OVER:
        title = f"Over: {_small(title)}"
    elif kind in (REPEAT, AGAIN):
        title = f"Still: {_small(title)}"
    if practice:
        title = f"{PRACTICE}: {title}"
    title = cut(title, 100)
    room = MOST - len(title) - 1
    since = render(text("Since {time}.", time=Clock(cause.since)), reader)
    if kind == OVER:
        since = render(text("It came at {time} and has gone by itself.", time=Clock(cause.since)), reader)
    elif count > 1:
        since = f"{since[:-1]}, call {count}."
    check = render(cause.check, reader)
    first = f"First: {check}." if check and kind != OVER else ""
    others = render(text("{more}.", more=Count(more, "more cause", "more causes")), reader) if more else ""
    return title, _fitting(since, first, _readings(now, reader), others, keys, room)


def trial(digits: str, *, practice: bool = False) -> tuple[str, str]:
    """(title, text) of a test before bed."""
    title = f"Test: would this wake you? {digits}"
    said = f"Type these four digits on the screen ({digits}), and say whether it sounded in your phone's night mode."
    return (f"{PRACTICE}: {title}" if practice else title), said


def _small(title: str) -> str:
    """The same with a small first letter, unless its first word is a name in capitals."""
    return title if title[:2].isupper() else title[:1].lower() + title[1:]


def _readings(now: Now, reader: Reader) -> list[str]:
    """The pit, then each piece, in words; the fewer are taken the less room there is."""
    if not now.linked:
        return ["No reading of pit and meat now."]
    pit: Text = text("Pit {pit}", pit=Temperature(now.pit)) if now.pit is not None else text("Pit not read")
    said: list[str] = [render(pit, reader)]
    for name, celsius in now.pieces:
        value: Value = Temperature(celsius) if celsius is not None else "not read"
        said.append(render(text("{name} {value}", name=cut(name, NAME_MOST), value=value), reader))
    return [f"{', '.join(said[:count])}." for count in range(len(said), 0, -1)]


def _fitting(since: str, first: str, readings: Sequence[str], others: str, keys: str, room: int) -> str:
    """What matters most fits: the pieces give way first, then the others, the keys, at last words of the check."""
    for tail in (keys, ""):
        for extra in (others, ""):
            for said in readings:
                parts = [part for part in (since, first, said, extra, tail) if part]
                if len(" ".join(parts)) <= room:
                    return " ".join(parts)
    fixed = len(since) + len(readings[-1]) + 2
    return " ".join(part for part in (since, cut(first, room - fixed), readings[-1]) if part)[:room]

"""Times, spans and due dates in words. Times are UTC in ms of the cook's clock, shown in the zone of the reader.

That is the zone of this computer, or within `in_zone` another one: a phone may be elsewhere.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator, Sequence
from contextvars import ContextVar
from datetime import datetime, tzinfo

from tuyere.text import span

MINUTE = 60_000
HOUR = 60 * MINUTE
UNIT = re.compile(r"(%|[FC]|h|min|s|lb|oz|kg|g|in|ft|cm|mm|m)(?!\w)")  # what follows a number
CUT = "~"  # where a name had to be shortened; any terminal can show it
_zone: ContextVar[tzinfo | None] = ContextVar("zone", default=None)


@contextlib.contextmanager
def in_zone(zone: tzinfo | None) -> Iterator[None]:
    """Times are said in this zone; None: that of this computer."""
    token = _zone.set(zone)
    try:
        yield
    finally:
        _zone.reset(token)


def local(at: int | float) -> datetime:
    """A UTC ms as the date and time of the reader."""
    return datetime.fromtimestamp(at / 1000, _zone.get())


def clock(at: int) -> str:
    """'03:12'."""
    return local(at).strftime("%H:%M")


def when(at: int, now: int) -> str:
    """'03:12', or 'Sat 03:12' where another day could be meant."""
    then, today = local(at), local(now)
    return f"{then:%H:%M}" if abs(at - now) < 12 * HOUR or then.date() == today.date() else f"{then:%a %H:%M}"


def range_words(early: int, likely: int, late: int, now: int) -> tuple[str, str, str]:
    """Like `when`, for three times that are read together. Within a day the middle one says which day is meant; over a
    longer time, if one needs its day, all have theirs."""
    one, two, three = (clock(at) for at in (early, likely, late))
    if all(when(at, now) == clock(at) for at in (early, likely, late)):
        return one, two, three
    if late - early < 24 * HOUR:
        return one, when(likely, now), three
    return f"{weekday(early)} {one}", f"{weekday(likely)} {two}", f"{weekday(late)} {three}"


def day(at: int) -> str:
    """'Sat 14 Jun'."""
    when = local(at)
    return f"{when:%a} {when.day} {when:%b}"


def weekday(at: int) -> str:
    """'Sun'."""
    return f"{local(at):%a}"


def midnight(at: int) -> str:
    """'Sun 14': the day that begins."""
    then = local(at)
    return f"{then:%a} {then.day}"


def place(name: str, since: int, now: int) -> str:
    """'box', 'out 25 min', 'out 2 h': where a piece is; of one that lies out the time counts."""
    if name not in ("out", "cooling") or not since:
        return name
    return f"{name} {hours(now - since)}"


def hours(ms: int) -> str:
    """'45 s', '12 min', '5 h': a span, from an hour on in whole hours."""
    return span(ms // HOUR * HOUR or ms)


def due(at: int, now: int) -> str:
    """'now', 'in 12 min', 'at 04:10'; 'since 03:10' for what has waited for longer."""
    if at == 0 or 0 <= now - at < MINUTE:
        return "now"
    if at < now:
        return f"since {when(at, now)}"
    if at - now < HOUR:
        return f"in {max(1, round((at - now) / MINUTE))} min"
    return f"at {when(at, now)}"


def ago(at: int, now: int) -> str:
    """'just now', '12 min ago', '2 h 05 min ago'."""
    return "just now" if now - at < MINUTE else f"{span(now - at)} ago"


def cut(text: str, width: int) -> str:
    """`text` in at most `width` columns; what is left out is marked by CUT."""
    if len(text) <= width:
        return text
    return text[: max(0, width - 1)].rstrip() + CUT if width > 0 else ""


def wrap(text: str, width: int) -> list[str]:
    """`text` broken at spaces into lines of `width` columns, at least one; nothing is left out. A number keeps its
    unit. (A panel can be asked for its height in no width at all while the terminal is being made smaller.)"""
    lines: list[str] = []
    rest, width = text.strip(), max(1, width)
    while len(rest) > width:
        at = rest.rfind(" ", 0, width + 1)
        while at > 0 and rest[at - 1].isdigit() and UNIT.match(rest, at + 1):
            at = rest.rfind(" ", 0, at)
        if at <= 0:
            at = max(1, width)
        lines.append(rest[:at].rstrip())
        rest = rest[at:].lstrip()
    return [*lines, rest] if rest else lines


def hanging(text: str, width: int, indent: int = 2) -> list[str]:
    """Like `wrap`, the further lines set in by `indent`."""
    first, *_ = wrap(text, width) or [""]
    rest = text.strip()[len(first) :]
    return [first, *(" " * indent + line for line in wrap(rest, width - indent))]


def joined(sentences: Sequence[str]) -> str:
    """Sentences in a row, each with its full stop."""
    return " ".join(word if stopped(word) else word + "." for word in sentences if word)


def stopped(text: str) -> bool:
    """Whether a text has its full stop: at its end, or before a source in parentheses."""
    return text.endswith((".", "?", "!")) or (text.endswith(")") and ". (" in text)


def whole(sentences: Sequence[str], width: int, most: int, more: str) -> list[str]:
    """As many whole sentences as fit `most` lines, then `more` if some are left out."""
    for count in range(len(sentences), -1, -1):
        kept = [*sentences[:count], *([more] if count < len(sentences) else [])]
        lines = wrap(joined(kept), width)
        if len(lines) <= most:
            return lines
    return []

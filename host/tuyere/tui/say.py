"""Times, spans and due dates in words. Times are UTC in ms of the cook's clock, shown in local time."""

from __future__ import annotations

from datetime import datetime

MINUTE = 60_000
HOUR = 60 * MINUTE


def clock(at: int) -> str:
    """'03:12'."""
    return datetime.fromtimestamp(at / 1000).strftime("%H:%M")


def day(at: int) -> str:
    """'Sat 14 Jun'."""
    when = datetime.fromtimestamp(at / 1000)
    return f"{when:%a} {when.day} {when:%b}"


def span(ms: int) -> str:
    """'45 s', '12 min', '5 h 32 min'."""
    minutes = max(0, ms) // MINUTE
    if minutes < 1:
        return f"{max(0, ms) // 1000} s"
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if rest else f"{hours} h"


def due(at: int, now: int) -> str:
    """'now', 'in 12 min', 'at 04:10'; what has waited for longer says since when."""
    if at == 0 or 0 <= now - at < MINUTE:
        return "now"
    if at < now:
        return f"since {clock(at)}"
    if at - now < HOUR:
        return f"in {max(1, round((at - now) / MINUTE))} min"
    return f"at {clock(at)}"


def ago(at: int, now: int) -> str:
    """'just now', '12 min ago', '2 h 05 min ago'."""
    return "just now" if now - at < MINUTE else f"{span(now - at)} ago"


def cut(text: str, width: int) -> str:
    """`text` in at most `width` columns; what is left out is marked."""
    if len(text) <= width:
        return text
    return text[: max(0, width - 1)].rstrip() + "…" if width > 0 else ""


def wrap(text: str, width: int, most: int = 3) -> list[str]:
    """`text` broken at spaces into at most `most` lines of `width` columns."""
    lines: list[str] = []
    rest = text.strip()
    while rest and len(lines) < most:
        if len(rest) <= width or len(lines) == most - 1:
            lines.append(cut(rest, width))
            break
        at = rest.rfind(" ", 0, width + 1)
        if at <= 0:
            at = width
        lines.append(rest[:at].rstrip())
        rest = rest[at:].lstrip()
    return lines

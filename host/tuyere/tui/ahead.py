"""What is expected, in words: when a piece is ready, when to wrap it, how long it and the fuel last.

Every field here may be missing from a snapshot; then nothing is said. A range is the 10, 50 and
90 % of the forecast: one time in ten it comes before the first, one time in ten after the last.
"""

from __future__ import annotations

from typing import Any

from tuyere.engine.model import Piece, Snapshot
from tuyere.tui import say
from tuyere.tui.frame import Point

Range = tuple[int, int, int]  # UTC ms: early, likely, late


def _range(thing: Any, what: str) -> Range | None:
    early, likely, late = (getattr(thing, f"{what}_{part}", None) for part in ("early", "likely", "late"))
    return (early or likely, likely, late or likely) if likely else None


def finish(piece: Piece) -> Range | None:
    """When it is ready, while it is in the heat."""
    return _range(piece, "finish") if piece.place in ("pit", "oven") else None


def fuel(shot: Snapshot) -> Range | None:
    """When the fuel ends."""
    return _range(shot, "fuel")


def span_words(when: Range, now: int) -> str:
    """'11:40 (10:50-12:50)'."""
    early, likely, late = (say.when(at, now) for at in when)
    return f"{likely} ({early}-{late})"


def brief(piece: Piece, now: int, bare: bool) -> str:
    """'ready 11:40', 'hot to 14:20'; `bare` under a heading that says ready: '11:40', 'to 14:20'."""
    ready, hot = finish(piece), getattr(piece, "hold_until", None)
    if ready:
        return f"{'' if bare else 'ready '}{say.when(ready[1], now)}"
    return f"{'' if bare else 'hot '}to {say.when(hot, now)}" if hot and piece.place == "box" else ""


def short(piece: Piece, now: int) -> list[str]:
    """The same and the window of the wrap, in few words each."""
    out = []
    ready, hot = finish(piece), getattr(piece, "hold_until", None)
    begin, end = getattr(piece, "wrap_from", None), getattr(piece, "wrap_until", None)
    if begin and end and not piece.wrap and piece.place == "pit":
        out.append(f"wrap {say.when(begin, now)}-{say.when(end, now)}")
    if ready:
        out.append(f"ready {span_words(ready, now)}")
    if hot and piece.place == "box":
        out.append(f"hot until {say.when(hot, now)}, {say.span(hot - now)}")
    return out


def full(piece: Piece, now: int) -> list[str]:
    """In sentences, with what a range means."""
    out = [words[:1].upper() + words[1:] for words in short(piece, now) if not words.startswith("ready")]
    ready = finish(piece)
    if ready:
        early, likely, late = (say.when(at, now) for at in ready)
        out.append(f"Ready about {likely}: one time in ten before {early}, one in ten after {late}")
    return out


def points(shot: Snapshot | None) -> list[Point]:
    """The forecasts of the pieces' temperatures, one after the other, each in order of time."""
    return [
        point
        for one in getattr(shot, "forecasts", None) or []
        for point in zip(one.at, one.low, one.mid, one.high, strict=True)
    ]

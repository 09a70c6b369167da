"""The user's own earlier nights: how each piece was cooked, and how long it and its bark took.

Simulated cooks and those of other people never count (`logbook/rows.py: Cook.teaches`).
"""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import msgspec
from msgspec import Struct

from tuyere.cook import kitchen, summary, yields
from tuyere.logbook.rows import PieceRow
from tuyere.text import plain

if TYPE_CHECKING:
    from tuyere.logbook import Logbook
    from tuyere.logbook.rows import Cook, Event

HOUR = 3_600_000
LATEST = 8  # cooks looked at
SHADE = 8.0  # the shade to which the speed of a bark is told
SHADE_AFTER_H = 2.0  # an earlier note says little about the speed
BARK_ENDS = ("wrapped", "divided", "in_oven", "out")  # notes after which no shade tells the pace


class Night(Struct, kw_only=True):
    """How a piece was cooked, in the form of `tuyere.forecast.exchange.Earlier`. piece.wrap_with: the wrap that it got,
    "" for none. pit_c: the pit's level by its probe. wrap_h: hours after it went on; altitude: m. hours until it was
    done, and shade_h until its bark had SHADE; 0: not known."""

    cook: int
    piece: PieceRow
    pit_c: float
    wrap_h: float = 0.0
    altitude: float = 0.0
    hours: float = 0.0
    shade_h: float = 0.0


def cooks(book: Logbook, before: int = 1 << 62) -> list[Cook]:
    """The latest that teach, oldest first; those begun before the cook of that number."""
    return [cook for cook in book.cooks.all() if cook.teaches and cook.ended and cook.id < before][-LATEST:]


def nights(book: Logbook, before: int) -> Iterator[list[Night]]:
    """Of one cook after the other, newest first, each read when it is asked for."""
    for cook in reversed(cooks(book, before)):
        yield of(book, cook, kitchen.read(book, cook.id).altitude)


def of(book: Logbook, cook: Cook, altitude: float) -> list[Night]:
    """The weighed pieces of a cook of which hours or bark are known. altitude: where it was, m."""
    events = book.events.of(cook.id)
    pieces = whole(book.pieces.of(cook.id))
    ends = {piece.id: done(piece, events) for piece in pieces}
    trend = book.reading.trend(cook.id) if any(ends.values()) else None
    found = []
    for piece in pieces:
        end, shade_h = ends[piece.id], bark(piece, events) or 0.0
        pit = [] if trend is None else [
            c for at, c in zip(trend.at, trend.pit, strict=True) if c is not None and piece.on_at <= at <= end
        ]  # fmt: skip
        if not pit and not shade_h:
            continue
        wrap = next((e for e in noted(piece, events, "wrapped") if piece.on_at < e.at < end), None)
        got = (plain(wrap.text) or "paper") if wrap is not None else ""
        found.append(Night(
            cook=cook.id,
            piece=msgspec.structs.replace(piece, cut=piece.cut or "packer", wrap_with=got),
            pit_c=statistics.median(pit) if pit else 0.0,
            wrap_h=(wrap.at - piece.on_at) / HOUR if wrap is not None else 0.0,
            altitude=altitude,
            hours=(end - piece.on_at) / HOUR if pit else 0.0,
            shade_h=shade_h,
        ))  # fmt: skip
    return found


def noted(piece: PieceRow, events: Sequence[Event], kind: str) -> list[Event]:
    """Its events of a kind, oldest first."""
    return sorted((e for e in events if e.kind == kind and e.piece == piece.id), key=lambda e: e.at)


def whole(pieces: Sequence[PieceRow]) -> list[PieceRow]:
    """The weighed pieces, each with the mass that it had before anything was divided off."""
    found = [(piece, yields.raw(yields.parts(piece, pieces))) for piece in yields.wholes(pieces)]
    return [msgspec.structs.replace(piece, mass=mass) for piece, mass in found if mass]


def bark(piece: PieceRow, events: Sequence[Event]) -> float | None:
    """Hours to SHADE by a straight line from raw through its notes; None without any. Notes count while it lies whole
    and bare in the pit: a cut face is raw, and what the paper or an oven did is no pace of the bark."""
    ends = [e.at for e in events if e.piece == piece.id and e.kind in BARK_ENDS and e.at > piece.on_at]
    until = min(ends, default=1 << 62)
    notes = [((e.at - piece.on_at) / HOUR, e.value) for e in noted(piece, events, "shade") if e.value and e.at <= until]
    notes = [(hours, shade) for hours, shade in notes if piece.on_at and hours >= SHADE_AFTER_H]
    if not notes:
        return None
    return SHADE * sum(h * h for h, _ in notes) / sum(h * shade for h, shade in notes)


def done(piece: PieceRow, events: Sequence[Event]) -> int:
    """When it was done; 0 if that is not known, an oven had a part in it, or it was divided before."""
    its = sorted((e for e in events if e.piece == piece.id), key=lambda e: e.at)
    found = summary.done_at(its, piece.on_at) if piece.on_at else 0
    other = any(e.kind in ("in_oven", "divided") and e.at < found for e in its)
    return 0 if other else found

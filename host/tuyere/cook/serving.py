"""The serving time of a cook: what it leaves, in one line, and what the hands must do for it.

Pure functions of what is known; times are UTC ms. All pieces must be done by `Serving.done_by` to rest before they are
carved. The odds are the product of the pieces' odds: a cautious figure, since pieces in one pit are late together.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import prod

from tuyere.cook import carving, ranks
from tuyere.cook.food_safety import THROW_AWAY
from tuyere.cook.places import CHILLED, GONE
from tuyere.cook.snapshot import Event, Piece, Prompt, Serving
from tuyere.text import Clock, Duration, Key, Said, Share, Temperature, text

MINUTE = 60_000
WEIGH = Key("serving", "F8")
LONG = 4 * 60 * MINUTE  # a usual hold lasts 1 to 4 h; common practice, no source
AHEAD = 2 * 60 * MINUTE  # this long before it is due, the reading and the carving of each piece are listed
LATE_ODDS = 0.5  # with lower odds it is said that serving is likely late


def serving(serve: int, pieces: Sequence[Piece], now: int) -> Serving:
    """What `serve` leaves these pieces of a cook. serve 0: no time is known, and nothing is said."""
    if not serve:
        return Serving()
    left = [piece for piece in pieces if _served(piece)]
    cuts = [piece.cut for piece in left]
    found = Serving(serve, carving.must_be_done(cuts, serve), carving.carve_begins(cuts, serve))
    later = [piece for piece in left if not piece.on_at and piece.goes_on]  # no forecast is needed to know of these
    awaited = [piece for piece in left if _awaited(piece) and piece not in later]
    expected = [piece.finish_likely or (now if _there(piece) else 0) for piece in awaited]
    if awaited and all(expected):
        found.likely = max(expected)
        known = [odds for piece in awaited if (odds := _in_time(piece, found.done_by)) is not None]
        found.odds = prod(known) if len(known) == len(awaited) else None
    found.late = bool(found.likely > found.done_by or (found.odds is not None and found.odds < LATE_ODDS))
    found.words = _line(found, pieces, left, awaited, now)
    if later and any(piece.on_at for piece in pieces):
        first = min(later, key=lambda piece: piece.goes_on)
        at = Clock(first.goes_on)
        found.words = text("{words}; {name} goes on at {at}", words=found.words, name=first.name, at=at)
    return found


def _served(piece: Piece) -> bool:
    """Whether it is still to be served: not carved, chilled or thrown away."""
    return piece.place not in (*GONE, *CHILLED) and piece.decision.verdict != THROW_AWAY


def _awaited(piece: Piece) -> bool:
    """Whether it lies in the heat and is not done yet."""
    return piece.place in ("pit", "oven") and not piece.held and not piece.tender_at


def _in_time(piece: Piece, by: int) -> float | None:
    """The odds that it is done by then. They are never better than its range, which moves when somebody felt that it is
    not tender yet: 10, 50 and 90 % at its ends and its middle."""
    ends = ((piece.finish_early, 0.1), (piece.finish_likely, 0.5), (piece.finish_late, 0.9))
    most = next((odds for at, odds in ends if at and by < at), 1.0)
    return None if piece.in_time is None else min(piece.in_time, most)


def _there(piece: Piece) -> bool:
    """Whether it reads its target, so that only a hand has to say that it is tender."""
    return piece.temperature is not None and piece.temperature >= piece.target


def _line(found: Serving, pieces: Sequence[Piece], left: Sequence[Piece], awaited: Sequence[Piece], now: int) -> Said:
    at, carve = Clock(found.at), Clock(found.carve)
    if pieces and not left:
        return text("Serve {at}: nothing is left to carve", at=at)
    if now >= found.at:
        return text("Serving was at {at}, {late} ago ({key} moves it)", at=at, late=_time(now - found.at), key=WEIGH)
    if not pieces or not any(piece.on_at for piece in pieces):
        return text("Serve {at}", at=at)
    if awaited:
        if not found.likely:
            return text("Serve {at}, no forecast yet", at=at)
        likely = Clock(found.likely)
        if found.likely > found.done_by:
            late = _time(found.likely - found.done_by)
            return text(
                "Serve {at}, likely ready {likely}: {late} late{odds} ({key} weighs what helps)",
                at=at, likely=likely, late=late, odds=_odds(found), key=WEIGH,
            )  # fmt: skip
        hold = found.carve - found.likely
        long: Said = text(" ({key} weighs so long a hold)", key=WEIGH) if hold > LONG else ""
        return text(
            "Serve {at}, likely ready {likely}, hold {hold}{odds}{long}",
            at=at, likely=likely, hold=_time(hold), odds=_odds(found), long=long,
        )  # fmt: skip
    if now >= found.carve:
        return text("Serve {at}: carve now, across the grain", at=at)
    holds = [piece.hold_until for piece in left if piece.hold_until]
    if holds and min(holds) <= now:
        return text(
            "Serve {at}, carve {carve}: not surely hot since {until}", at=at, carve=carve, until=Clock(min(holds))
        )
    if holds and min(holds) < found.carve:
        return text(
            "Serve {at}, carve {carve}: hot only until {until} ({key} weighs what helps)",
            at=at, carve=carve, until=Clock(min(holds)), key=WEIGH,
        )  # fmt: skip
    hot: Said = text(", hot until {until}", until=Clock(min(holds))) if holds else ""
    return text("Serve {at}, carve {carve}{hot}", at=at, carve=carve, hot=hot)


def _odds(found: Serving) -> Said:
    return "" if found.odds is None else text(", odds {odds}", odds=Share(min(found.odds, 0.99)))


def _time(ms: int) -> Duration:
    """To the minute; from an hour on, to five."""
    step = MINUTE if ms < 60 * MINUTE else 5 * MINUTE
    return Duration(round(ms / step) * step / 1000.0)


def prompts(found: Serving, pieces: Sequence[Piece], events: Sequence[Event], limit: float, now: int) -> list[Prompt]:
    """What serving asks of the hands: move it when it is late, then read, carve and serve. limit: of hot holding, C."""
    if not found.at:
        return []
    out: list[Prompt] = []
    if found.late and now < found.carve:
        at = Clock(found.at)
        words = text("Serving at {at} is likely late: see what helps, or move it ({key})", at=at, key=WEIGH)
        out.append(Prompt("serving", words, 0, 0, ranks.CARVE))
    read_at = found.carve - carving.READ_MIN * MINUTE
    if now < read_at - AHEAD:
        return out
    for piece in pieces:
        if not _served(piece) or _awaited(piece) or not piece.on_at:
            continue
        if now < found.carve and not _read_since(piece, events, read_at):
            words = text(
                "Take {name} out to carve it and read its coldest spot: {limit} or more, else heat it through",
                name=piece.name, limit=Temperature(limit),
            )  # fmt: skip
            out.append(Prompt("hand_reading", words, read_at, piece.id, ranks.CARVE))
        at = Clock(found.at)
        words = text("Carve {name}: slice it across the grain, to serve at {at}", name=piece.name, at=at)
        if verb := carving.VERBS.get(piece.cut):
            words = text("{verb} {name}, to serve at {at}", verb=verb, name=piece.name, at=at)
        out.append(Prompt("carved", words, found.carve, piece.id, ranks.CARVE))
    return out


def _read_since(piece: Piece, events: Sequence[Event], since: int) -> bool:
    return any(event.kind == "hand_reading" and event.piece == piece.id and event.at >= since for event in events)

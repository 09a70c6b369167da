"""The hot hold: how long the coldest spot of a piece stays above the limit, where it is held or might be.

The cooling is `tuyere.meat.hold`; what is added is the night's evidence: with what the piece went in (its probe or a
hand reading), who lies beside it, and how fast this box has been seen to lose heat.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from tuyere.forecast.exchange import Known, KnownPiece
from tuyere.forecast.prior import checked
from tuyere.meat import hold, piece
from tuyere.meat.water import PRESSURE, pressure_at
from tuyere.text import Duration, Listed, Said, Temperature, text

MINUTE, HOUR = 60_000, 3_600_000
LONGEST_H = 12.0
AHEAD_H = 24.0  # that a hold which has begun is looked at for
STEP_S = 120.0
HOTTER = 1.5  # C that the surface of a wrapped piece is above its middle as it comes out
NEAR = 20 * MINUTE  # a reading counts for the moment it is needed at within this
SEEN_FROM = 45 * MINUTE  # in the box, until its readings tell how that loses heat
SEEN_HALF = 60 * MINUTE  # and until they count as much as what is assumed
LOSSES = (0.2, 5.0)  # of the assumed loss
VENTS = (0.0, 15.0)  # min in the room before the box
SOON = 3 * HOUR  # this long before a piece is done the ways to hold it are said
TOGETHER = 60 * MINUTE  # pieces that go in within this are held together


@dataclass(frozen=True)
class Compared:
    """A way to hold: the place, min vented first, hours above the limit (None: all of LONGEST_H), highest middle, C."""

    place: str
    vented: float
    hours: float | None
    highest_c: float


@dataclass(frozen=True)
class Start:
    """How a piece began its hold: when it came out of the heat and went in, and its middle then, C."""

    out: int
    put: int
    middle: float


def until(known: Known, one: KnownPiece) -> int:
    """Until when the coldest spot of a piece in the box stays above the limit, UTC ms, at the least; 0 where it is not
    in the box. It is not looked at for more than AHEAD_H. A hold that began with a vent counts from the piece's going
    in. Pieces that lie there since long before, or come long after, are left out: they lend it less than they seem. So
    are those that no cut is like."""
    if one.place != "box":
        return 0
    try:
        mine = began(known, one)
        beside = [p for p in known.pieces if p.place == "box" and p.id != one.id and _can_be(p)]
        starts = [(other, began(known, other)) for other in beside]
        group = [(one, mine), *((o, s) for o, s in starts if abs(s.put - mine.put) <= TOGETHER)]
        pieces, middles = [checked(p) for p, _ in group], [s.middle for _, s in group]
        where = _as_seen(known, one, mine, pieces, middles)
        found = _hold(known, pieces, middles, where, _vent(mine), AHEAD_H)
    except ValueError:  # a piece that no cut is like: nothing is known of it
        return 0
    hours = found.pieces_h[0]
    if hours is None and where.kept_c is not None:  # an oven keeps it so
        return 0
    hours = AHEAD_H if hours is None else hours
    return max(mine.put, mine.out + round(hours * HOUR))


def _can_be(one: KnownPiece) -> bool:
    try:
        checked(one)
    except ValueError:
        return False
    return True


def began(known: Known, one: KnownPiece) -> Start:
    """From its notes and readings; a middle that nobody read is its target."""
    put = max((n.at for n in one.notes if n.kind == "in_box"), default=known.now)
    out = max((n.at for n in one.notes if n.kind == "out" and n.at <= put), default=put - round(known.vented * MINUTE))
    out = max(out, put - 2 * HOUR)
    read = min(readings(known, one), key=lambda at_c: abs(at_c[0] - out), default=None)
    middle = read[1] if read is not None and abs(read[0] - out) <= NEAR else one.target
    return Start(out, put, min(max(middle, 40.0), 99.0))


def readings(known: Known, one: KnownPiece) -> list[tuple[int, float]]:
    """All readings of its middle: (UTC ms, C), oldest first, by probe and by hand."""
    found = [(n.at, n.value) for n in one.notes if n.kind == "hand_reading" and n.value is not None]
    if 1 <= one.probe <= len(known.columns.meats):
        pairs = zip(known.columns.at, known.columns.meats[one.probe - 1], strict=False)
        found += [(at, c) for at, c in pairs if c is not None and at >= one.on_at]
    return sorted(found)


def _vent(start: Start) -> float:
    return (start.put - start.out) / 1000.0


def _hold(
    known: Known, pieces: list[piece.PieceOfMeat], middles: list[float], where: hold.Place, vent_s: float,
    hours: float = LONGEST_H,
) -> hold.Hold:  # fmt: skip
    m: list[float] = []
    q: list[float] = []
    for one, middle in zip(pieces, middles, strict=True):
        own = hold.cooked([one], middle, min(middle + HOTTER, 99.0))
        m += own[0]
        q += own[1]
    pressure = pressure_at(known.altitude) if known.altitude else PRESSURE
    return hold.hold(
        m, q, where, hours, limit_c=known.limit, room_c=known.room, vent_s=min(vent_s, 7200.0), pressure=pressure,
        step_s=STEP_S,
    )  # fmt: skip


def _as_seen(
    known: Known, one: KnownPiece, start: Start, pieces: list[piece.PieceOfMeat], middles: list[float]
) -> hold.Place:  # fmt: skip
    """The place with the loss, and the soak of its lining, that bring the middle to its last reading; the more of that,
    the longer it has been held."""
    where = hold.place(known.hold)
    held = [(at, c) for at, c in readings(known, one) if at >= start.put + SEEN_FROM]
    if not held or where.kept_c is not None or where.open:
        return where
    at, seen = held[-1]
    hours = min(max((at - start.out) / HOUR, 0.5), AHEAD_H)

    def middle(loss: float) -> float:
        return _hold(known, pieces, middles, _losing(known.hold, where, loss), _vent(start), hours).middles_c[0][-1]

    low, high = math.log(LOSSES[0]), math.log(LOSSES[1])
    for _ in range(6):
        half = 0.5 * (low + high)
        low, high = (half, high) if middle(math.exp(half)) > seen else (low, half)
    weight = (at - start.put) / (at - start.put + SEEN_HALF)
    return _losing(known.hold, where, math.exp(weight * 0.5 * (low + high)))


def _losing(name: str, where: hold.Place, loss: float) -> hold.Place:
    return hold.place(name, ua=where.ua * loss, wall_j=where.wall_j * loss)


def compare(known: Known, one: KnownPiece) -> list[Compared]:
    """The ways to hold a piece that comes out at its target, straight or vented first. ValueError on an
    impossible piece."""
    return list(_compared(checked(one), one.target, known.limit, known.room, known.altitude))


@lru_cache(maxsize=64)
def _compared(
    one: piece.PieceOfMeat, target: float, limit: float, room: float, altitude: float
) -> tuple[Compared, ...]:
    known = Known(now=0, limit=limit, room=room, altitude=altitude)
    found = []
    for name, where in hold.PLACES.items():
        for vented in VENTS[: 1 if where.open else None]:
            run = _hold(known, [one], [min(max(target, 40.0), 99.0)], where, vented * 60.0)
            found.append(Compared(name, vented, run.pieces_h[0], run.highest_c))
    return tuple(found)


def words(known: Known, one: KnownPiece) -> Said:
    """The comparison in a sentence, "" for an impossible piece."""
    try:
        found = compare(known, one)
    except ValueError:
        return ""
    said: list[Said] = []
    for name, where in hold.PLACES.items():
        ways = [way for way in found if way.place == name]
        more: Said = ""
        if len(ways) > 1 and ways[-1].hours is not None:
            vented = Duration(60.0 * ways[1].vented)
            more = text(" ({time} if vented for {vented})", time=_time(ways[1].hours), vented=vented)
        said.append(text("{time} {place}{more}", time=_time(ways[0].hours), place=where.words, more=more))
    highest = max(way.highest_c for way in found)
    on: Said = ""
    if highest > one.target + 0.5:
        on = text("; straight from the heat it goes on to {highest}", highest=Temperature(highest))
    return text(
        "It would stay above {limit} for {ways}{on}.", limit=Temperature(known.limit), ways=Listed(tuple(said)), on=on
    )


def _time(hours: float | None) -> Said:
    """To 5 min."""
    if hours is None:
        return text("{time} and more", time=Duration(3600.0 * LONGEST_H))
    return text("{time}", time=Duration(300.0 * round(12.0 * hours)))

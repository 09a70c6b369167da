"""The hot hold of a plan: where the pieces are held, in how many boxes, and for how long they stay hot there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from tuyere.meat import hold
from tuyere.meat.piece import PieceOfMeat
from tuyere.meat.water import pressure_at
from tuyere.plan.practice import HELD_WIDE
from tuyere.plan.request import ROOM_C, Asked, Own

OVEN, BOX, PLAIN = "low oven", "box with towels", "box"
BOX_KG = 9.0  # cooked, that one box takes
COOKED = 0.55  # of what went on, with bones
OUT_C, OUT_SKIN_C = 93.0, 85.0  # middle and surface as a vented piece goes into the box
STRAIGHT_C = 95.5  # of both, straight from the pit: wrapped, all of it is near its target
AT_LEAST = 0.1  # C by which an oven at the limit is above it
MOST_H = 14.0
LEAKY = 1.5  # factor on the computed heat loss of a box: none was measured, and lids leak
WARMED_C = 45.0  # lining of a box that stood full of hot water
VENTS_S = 7200.0  # the longest time for which a piece in the open loses water as in paper; the bound of `hold.hold`


@dataclass(frozen=True)
class Keeping:
    """How the pieces of a plan are kept hot. place: of `tuyere.meat.hold.PLACES`; room: C where it stands; setting: C
    to which an oven is set, None for a box. hours: vented, straight: put in at once (h, at most MOST_H)."""

    place: str
    room: float
    setting: float | None
    hours: float
    straight: float


def keeping(asked: Asked, own: Sequence[Own], limit: float, most_h: float | None) -> Keeping:
    """Of an oven, its lowest setting that keeps the limit: the limit and the oven's own error, or the lowest that it
    has. most_h: hours that the region's rule allows, None for any."""
    place = OVEN if asked.oven else BOX if asked.towels else PLAIN
    room = asked.where
    setting, kept = oven(limit, asked.oven_error, asked.oven_lowest) if asked.oven else (None, None)
    hours, straight = (
        min(hold_hours(own, place, limit, asked.altitude, room=room, kept_c=kept, vented=vented), most_h or MOST_H)
        for vented in (True, False)
    )
    return Keeping(place, room, setting, hours, straight)


def oven(limit: float, error: float, lowest: float | None) -> tuple[float, float]:
    """(what an oven that holds is set to, what it surely keeps then), C. error: K by which it may be colder than it is
    set to; lowest: its lowest setting, C, None for any."""
    setting = max(limit + error, lowest or 0.0)
    return setting, max(setting - error, limit) + AT_LEAST


def held(limit: float, error: float) -> tuple[float, float]:
    """The band of a pit that only keeps wrapped pieces hot, C. error: K by which they may lie cooler than its probe
    reads."""
    return limit + error, limit + error + HELD_WIDE


def boxes(own: Sequence[Own]) -> int:
    """How many boxes the pieces want, at most one for each."""
    return min(math.ceil(sum(piece.mass for piece in own) * COOKED / BOX_KG), len(own))


def hold_hours(
    own: Sequence[Own], place: str, limit: float, altitude: float, *, room: float = ROOM_C, kept_c: float | None = None,
    vented: bool = True,
) -> float:  # fmt: skip
    """How long the coldest spot of the pieces stays above the limit, h; at most MOST_H.

    room: C where the box stands; kept_c: C inside an oven; vented: let stand before, or put in straight from the pit.
    In several boxes, the pieces are shared out evenly: and the box with the fewest and lightest counts.
    """
    return _hold_hours(tuple(own), place, limit, altitude, room, kept_c, vented)


@lru_cache(maxsize=256)  # a plan that is moved, or made for another time, asks the same again
def _hold_hours(
    own: tuple[Own, ...], place: str, limit: float, altitude: float, room: float, kept_c: float | None, vented: bool
) -> float:
    where = hold.place(place)
    if where.kept_c is None and not where.open:
        own = tuple(sorted(own, key=lambda piece: piece.mass)[: len(own) // boxes(own)])
    meats = [PieceOfMeat(one.name, one.cut, one.mass, one.flat, one.point, one.start, one.intact) for one in own]
    m, q = hold.cooked(meats, *((OUT_C, OUT_SKIN_C) if vented else (STRAIGHT_C, STRAIGHT_C)))
    wall = WARMED_C if where.kept_c is None else None
    changed: dict[str, float] = {} if kept_c is None else {"kept_c": kept_c}
    where = hold.place(place, ua=where.ua * LEAKY, **changed)
    found = hold.hold(
        m, q, where, MOST_H, limit_c=limit, room_c=room, wall_c=wall, pressure=pressure_at(altitude), step_s=120.0
    )
    return MOST_H if found.below_h is None else found.below_h


def counter_hours(own: Own, middle: float, shut: bool, limit: float, room: float, altitude: float) -> float:
    """How long the coldest spot of a piece that lies in the room stays above the limit, h; at most MOST_H.

    middle: C as it came out (40 to 99 count); shut: in foil, which keeps its steam; room: C where it lies.
    """
    middle = min(max(middle, 40.0), 99.0)
    skin = middle - (OUT_C - OUT_SKIN_C)
    m, q = hold.cooked(
        [PieceOfMeat(own.name, own.cut, own.mass, own.flat, own.point, own.start, own.intact)], middle, skin
    )
    found = hold.hold(
        m, q, hold.place("counter"), MOST_H, limit_c=limit, room_c=room, vent_s=0.0 if shut else VENTS_S,
        pressure=pressure_at(altitude), step_s=120.0,
    )  # fmt: skip
    return MOST_H if found.below_h is None else found.below_h

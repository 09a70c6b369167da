"""The hot hold: the coldest spot and the middle of each piece over time, in a cool box, a low oven or on the counter.

The pieces give heat to one inner wall: the lining of the box, its air and the outside of its towels. The wall gives
heat to the room. A lining that was not warmed starts cold. It soaks up heat, which causes the fast first drop. An oven
is a wall kept warm; the counter is the room itself. A wrapped piece does not dry. A piece that is vented first stands
in the room as if in paper. The numbers of the places are ASSUMPTIONS: 0.9 m2 of 40 mm foam lose 0.5 W/K and lids leak
(computed); 5 cm of towels have 0.045 W/mK. We found no measured cool box.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from tuyere.meat import piece_slots as at
from tuyere.meat.cooking import link, move, wrap_in
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import PieceOfMeat, lay, slabs
from tuyere.meat.water import PRESSURE, boiling, saturation, vapour
from tuyere.text import BadValue, Duration, Said, Temperature, band, text

STEP_S = 60.0
BARK = 0.8  # surface dryness of a cooked piece, 0..1
ROOM_W = 0.007  # water in room air, kg per kg of dry air


@dataclass(frozen=True)
class Place:
    """Where pieces are kept. ua: conductance from lining to room, W/K. wall_j: heat capacity of the lining and its
    contents, J/K. inside: from a wrap to the lining, W/m2K. towels: m2K/W around each piece. kept_c: the temperature at
    which an oven keeps its lining, C; None for no heating."""

    words: str
    ua: float
    wall_j: float
    inside: float = 8.0
    towels: float = 0.0
    kept_c: float | None = None
    open: bool = False  # the lining is the room's air


TOWELS = 0.05 / 0.045  # m2K/W
PLACES: dict[str, Place] = {
    "box": Place("in a cool box", 0.6, 3000.0),
    "box with towels": Place("in a cool box with towels", 0.6, 4500.0, towels=TOWELS),
    "low oven": Place("in a low oven", 0.0, 1.0, inside=12.0, kept_c=70.0),
    "counter": Place("on the counter", 0.0, 1.0, inside=10.0, open=True),
}


@dataclass
class Hold:
    """A simulated hold. `coldest` and `middle`: the coldest spot and the warmest middle of all pieces at `hours`, C.

    below_h: hours until the coldest spot first fell below the limit, None if it never did; pieces_h: the same for each
    piece. highest_c: highest middle of all, with carry-over. ends_c: coldest spot of each piece at the end. middles_c:
    for each piece, the middle of its first part at each of `hours`.
    """

    place: str
    limit_c: float
    hours: list[float]
    coldest: list[float]
    middle: list[float]
    below_h: float | None
    highest_c: float
    ends_c: list[float]
    pieces_h: list[float | None]
    middles_c: list[list[float]]

    def words(self) -> Said:
        """The result as one sentence."""
        at_end = text(
            "{coldest} in its coldest spot after {time}",
            coldest=Temperature(self.coldest[-1]), time=Duration(3600.0 * self.hours[-1]),
        )  # fmt: skip
        where, limit = self.place[0].upper() + self.place[1:], Temperature(self.limit_c)
        if self.below_h is None:
            return text("{where}: stays above {limit}, {end}.", where=where, limit=limit, end=at_end)
        after = Duration(3600.0 * self.below_h)
        return text(
            "{where}: falls below {limit} after {after}, {end}.", where=where, limit=limit, after=after, end=at_end
        )


def place(name: str, **changed: Any) -> Place:
    """The place of that name, with the numbers in `changed`. ValueError for an unknown name or an impossible number."""
    if name not in PLACES:
        raise ValueError(f"Unknown place {name!r}; choose one of {', '.join(PLACES)}.")
    one = replace(PLACES[name], **changed)
    if one.ua < 0.0 or not one.wall_j > 0.0 or not one.inside > 0.0 or one.towels < 0.0:
        raise ValueError(f"The numbers of a hold {one.words} must be more than 0.")
    if one.kept_c is not None and not 40.0 <= one.kept_c <= 120.0:
        allowed, given = band(40.0, 120.0), Temperature(one.kept_c)
        raise BadValue(text("A low oven is kept at {allowed}, not {given}.", allowed=allowed, given=given))
    return one


def cooked(
    pieces: Sequence[PieceOfMeat], middle_c: float, surface_c: float, parameters: Sequence[Parameters] = ()
) -> tuple[list[float], list[float]]:
    """Pieces as they leave the pit: (m, q). Their temperature follows a parabola from surface to middle, and they hold
    the water that meat can hold at it. For holds that start from hand readings; a simulated cook has its own state."""
    m, q = lay(pieces, parameters)
    for i in range(len(pieces)):
        for inside, within in slabs(q, i):
            o, r = i * at.SIZE + inside, i * at.QSIZE + within
            n = at.N
            for j in range(n):
                x = (j / (n - 1)) ** 2
                t = surface_c + (middle_c - surface_c) * (1.0 - (1.0 - x) ** 2)
                m[o + at.T0 + j] = t
                hold = 1.0 / (1.0 + math.exp((t - q[r + at.HOLD_MID]) / q[r + at.HOLD_WIDTH]))
                hold = q[r + at.HOLD_LEAST] + (1.0 - q[r + at.HOLD_LEAST]) * hold
                hold -= q[r + at.HOLD_FALL] * max(t - q[r + at.HOLD_MID], 0.0)
                m[o + at.T0 + n + j] *= hold
            m[o + at.CRUST] = BARK
            m[o + at.T0 + n] *= 1.0 - BARK
        m[i * at.SIZE + at.PROBE] = middle_c
    return m, q


def hold(
    m: Sequence[float],
    q: Sequence[float],
    where: Place,
    hours: float,
    *,
    limit_c: float = 60.0,
    room_c: float = 20.0,
    wall_c: float | None = None,
    vent_s: float = 0.0,
    pressure: float = PRESSURE,
    step_s: float = STEP_S,
) -> Hold:
    """Simulate holding the pieces of (m, q) for `hours`. The arguments stay unchanged.

    wall_c: temperature of the lining when the pieces go in, C; None for the room's. A warmed lining makes the first
    drop small. vent_s: seconds that the pieces first stand in the room. pressure: of the air, Pa. ValueError for hours
    outside of 0-48 or a vent outside of 0-2 h.
    """
    if not 0.0 < hours <= 48.0 or not 0.0 <= vent_s <= 7200.0:
        raise ValueError(f"A hold lasts up to 48 h and a vent up to 2 h, not {hours:g} h and {vent_s / 3600.0:g} h.")
    m = list(m)
    count = len(m) // at.SIZE
    boil = boiling(pressure)
    wall = where.kept_c if where.kept_c is not None else room_c if wall_c is None or where.open else wall_c
    found = Hold(where.words, limit_c, [0.0], [], [], None, 0.0, [], [None] * count, [[] for _ in range(count)])
    _note(found, m, q, count)
    steps = round(hours * 3600.0 / step_s)
    for i in range(steps):
        airing = i * step_s < vent_s
        given = 0.0
        for j in range(count):
            h, k = j * at.SIZE, j * at.QSIZE
            wrap = at.PAPER if airing else at.FOIL
            if m[h + at.WRAP] != wrap:
                wrap_in(m, h, q, k, wrap)
            if airing:
                link(m, h, q, k, room_c)
                pv = vapour(ROOM_W, pressure)
                move(m, h, q, k, step_s, room_c, room_c, 1.0, pv, pressure, boil)
                continue
            given += _give(m, h, q, k, where, wall, step_s, pressure, boil)
        if not airing and where.kept_c is None and not where.open:
            # the lining takes up the heat; its loss to the room is exact over the step
            wall += given / where.wall_j
            wall = room_c + (wall - room_c) * math.exp(-where.ua * step_s / where.wall_j)
        found.hours.append((i + 1) * step_s / 3600.0)
        _note(found, m, q, count)
    found.ends_c = [_coldest(m, q, j) for j in range(count)]
    return found


def _give(
    m: list[float],
    h: int,
    q: Sequence[float],
    k: int,
    where: Place,
    wall: float,
    dt: float,
    pressure: float,
    boil: float,
) -> float:
    """Move the closed-in piece at h on by one step. Returns the heat that it gave to the lining, J."""
    through: list[tuple[int, int, float]] = []
    for o, r in slabs(q, k // at.QSIZE):
        path = 1.0 / (1.0 / where.inside + 1.0 / q[k + r + at.GAP_H] + where.towels)
        m[h + o + at.LINK_G] = path * q[k + r + at.AREA] * m[h + o + at.SPREAD]
        m[h + o + at.LINK_R] = 0.0
        through.append((o, r, m[h + o + at.LINK_G]))
    move(m, h, q, k, dt, wall, wall, 1.0, saturation(min(wall, 99.0)), pressure, boil)
    return sum(g * (m[h + o + at.T0] - wall) * dt for o, _, g in through)


def _note(found: Hold, m: Sequence[float], q: Sequence[float], count: int) -> None:
    spots = [_coldest(m, q, j) for j in range(count)]
    coldest = min(spots)
    for j, spot in enumerate(spots):
        if found.pieces_h[j] is None and spot < found.limit_c:
            found.pieces_h[j] = found.hours[-1]
        first, _ = next(iter(slabs(q, j)))
        found.middles_c[j].append(m[j * at.SIZE + first + at.T0 + at.N - 1])
    middles = [m[j * at.SIZE + o + at.T0 + at.N - 1] for j in range(count) for o, _ in slabs(q, j)]
    found.coldest.append(coldest)
    found.middle.append(max(middles))
    found.highest_c = max(found.highest_c, *middles)
    if found.below_h is None and coldest < found.limit_c:
        found.below_h = found.hours[-1]


def _coldest(m: Sequence[float], q: Sequence[float], j: int) -> float:
    """The coldest spot of piece j, C."""
    return min(m[j * at.SIZE + o + at.T0 + i] for o, _ in slabs(q, j) for i in range(at.N))

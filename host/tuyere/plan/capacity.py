"""What goes where: the pieces over the cookers there are, in one load or in two, by what fits on their grates.

Areas of grates and the clearance are common practice and plain geometry, no source. `--fits` says it better.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tuyere.meat.cuts import CUTS
from tuyere.plan.request import PIECES, Asked, Own
from tuyere.plan.times import BadPlan
from tuyere.text import Count, text

# m2 of all grates of a kind: an upright has two of 50 cm across, a ceramic one of 46 cm and half a rack above, a drum
# one of 57 cm, a cabinet four of 45 by 45 cm, an offset one of 50 by 90 cm.
GRATES = {"upright": 0.40, "ceramic": 0.20, "drum": 0.26, "cabinet": 0.80, "offset": 0.45}
CLEAR = 1.25  # air around each piece, and shapes that are no bricks
KG_M3 = 1040.0  # of meat: `tuyere.meat.food`, lean with some fat


@dataclass(frozen=True)
class Slot:
    """Where a piece lies: its pit, from 0, and its load in it, from 0."""

    pit: int = 0
    load: int = 0


FIRST = Slot()


def area(own: Own) -> float:
    """m2 of grate that a piece takes."""
    cut = CUTS[own.cut]
    known = (own.flat, own.point)
    found = 0.0
    for i, part in enumerate(cut.parts):
        thick = (known[i] if i < 2 else None) or part.thick_m * (own.mass / cut.kg[1]) ** (1.0 / 3.0)
        found += own.mass * part.share / (KG_M3 * thick)
    return found * CLEAR


def places(asked: Asked, own: Sequence[Own]) -> list[Slot]:
    """A slot for each piece: in one load where all fit, else in two. BadPlan says how many cookers it takes."""
    for loads in (1, 2):
        found = _shared(asked, own, loads)
        if found is not None:
            return found
    fits = _most(asked, own, asked.kinds[0])
    raise BadPlan(
        text(
            "{pieces} do not fit, not even in two loads: about {fits} of them fit on one {cooker} at a time. Give "
            "--cookers {need}, or --fits with what your grate takes.",
            pieces=Count(len(own), "piece"), fits=fits, cooker=asked.kinds[0],
            need=math.ceil(len(own) / min(fits, PIECES)),
        )
    )  # fmt: skip


def _most(asked: Asked, own: Sequence[Own], kind: str) -> int:
    """How many pieces of the middle size one cooker takes."""
    if asked.fits is not None:
        return asked.fits
    each = sorted(area(piece) for piece in own)[len(own) // 2]
    return max(1, int(GRATES[kind] / each))


def _shared(asked: Asked, own: Sequence[Own], loads: int) -> list[Slot] | None:
    """The largest first, each to where most is left; None if one finds no room. A cook has at most PIECES in all."""
    slots = [Slot(pit, load) for load in range(loads) for pit in range(len(asked.kinds))]
    room = dict.fromkeys(slots, 1.0)
    count = dict.fromkeys(range(len(asked.kinds)), 0)
    found: dict[int, Slot] = {}
    for i in sorted(range(len(own)), key=lambda i: -area(own[i])):
        best = max(slots, key=lambda slot: (count[slot.pit] < PIECES, round(room[slot], 6), -slot.load, -slot.pit))
        takes = 1.0 / asked.fits if asked.fits is not None else area(own[i]) / GRATES[asked.kinds[best.pit]]
        if takes > room[best] + 1e-9 or count[best.pit] >= PIECES:
            return None
        room[best] -= takes
        count[best.pit] += 1
        found[i] = best
    for alike in {(piece.cut, piece.mass) for piece in own}:  # neighbours in the list lie together
        those = [i for i, piece in enumerate(own) if (piece.cut, piece.mass) == alike]
        sorted_slots = sorted((found[i] for i in those), key=lambda slot: (slot.load, slot.pit))
        found.update(zip(those, sorted_slots, strict=True))
    return [found[i] for i in range(len(own))]

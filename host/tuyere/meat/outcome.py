"""The result of a cook for one piece, read from the final state of the kernel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from tuyere.meat import piece_slots as at
from tuyere.meat.piece import slabs


@dataclass
class Outcome:
    """The result of a cook for one piece. Times in hours since the meat went on, temperatures in C, masses in kg.

    done_h: when the probe read its target and the piece was tender. plateau_h: hours between 55 and 85 C in which it
    rose by less than 3 C/h. come_up_h: when its coldest middle passed 54.4 C. yield_: share of the raw mass. lethal:
    heat of its coldest middle as a multiple of the 6.5 logs of the FSIS table. collagen: share dissolved in the middle
    of the first part. surface_h, centre_h: hours between 4 and 60 C.
    """

    cooked_h: float
    done_h: float | None
    plateau_h: float
    come_up_h: float | None
    probe_c: float
    surface_c: float
    yield_: float
    evaporated_kg: float
    dripped_kg: float
    lethal: float
    collagen: float
    surface_h: float
    centre_h: float

    def as_dict(self) -> dict[str, Any]:
        """The fields by name, for JSON."""
        return {name.rstrip("_"): value for name, value in asdict(self).items()}


def outcome(m: Sequence[float], q: Sequence[float], i: int = 0) -> Outcome:
    """The result for piece i of the state (m, q)."""
    h = i * at.SIZE
    spots = list(slabs(q, i))
    done, up = float(m[h + at.DONE_S]), float(m[h + at.COME_UP_S])
    return Outcome(
        cooked_h=float(m[h + at.COOKED_S]) / 3600.0,
        done_h=done / 3600.0 if done >= 0.0 else None,
        plateau_h=float(m[h + at.PLATEAU_S]) / 3600.0,
        come_up_h=up / 3600.0 if up >= 0.0 else None,
        probe_c=float(m[h + at.PROBE]),
        surface_c=float(min(m[h + o + at.T0] for o, _ in spots)),
        yield_=mass_kg(m, q, i) / raw_kg(q, i),
        evaporated_kg=float(sum(m[h + o + at.EVAPORATED] for o, _ in spots)),
        dripped_kg=float(sum(m[h + o + at.DRIPPED] for o, _ in spots)),
        lethal=float(min(m[h + o + at.LETHAL] for o, _ in spots)),
        collagen=float(m[h + spots[0][0] + at.COLLAGEN]),
        surface_h=float(m[h + at.SURFACE_S]) / 3600.0,
        centre_h=float(m[h + at.CENTRE_S]) / 3600.0,
    )


def raw_kg(q: Sequence[float], i: int = 0) -> float:
    """Raw mass of piece i, kg."""
    total = 0.0
    for _, o in slabs(q, i):
        r = i * at.QSIZE + o
        total += float(q[r + at.AREA]) * float(q[r + at.FULL]) * (1.0 + 1.0 / float(q[r + at.RAW]))
    return total


def mass_kg(m: Sequence[float], q: Sequence[float], i: int = 0) -> float:
    """Present mass of piece i, kg, without the juice that has collected in its foil."""
    total = 0.0
    for inside, within in slabs(q, i):
        o, r = i * at.SIZE + inside, i * at.QSIZE + within
        n = int(q[r + at.NODES])
        held = sum(float(m[o + at.T0 + n + j]) for j in range(1, n))
        held += min(float(m[o + at.T0 + n]), float(q[r + at.RUN_OFF]) * float(q[r + at.RAW]) * float(q[r + at.DRY]))
        total += float(q[r + at.AREA]) * (held + sum(float(q[r + at.DRY + j]) for j in range(n)))
    return total

"""One piece as a generator gets it, and what a pace is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

BARE, PAPER, FOIL = 0, 1, 2
NAMES = {"": BARE, "paper": PAPER, "foil": FOIL}


@dataclass
class Meat:
    """mass kg, thick m as it lies (folded counts), start C, ice: share of the mass frozen, fat: share, injected: water
    added as a share of the mass, share_through: heat conducted over that of usual meat. off: the tip's distance from
    the middle over half the thickness, -1..1, negative towards the fat. wrap_min: minutes from its going on."""

    pace: str
    mass: float
    thick: float
    start: float
    ice: float
    fat: float
    injected: float
    share_through: float
    off: float
    wrap: int
    wrap_min: float


def pace_of(paces: Mapping[str, tuple[float, ...]], pace: str) -> tuple[float, ...]:
    """The numbers of a pace. ValueError for an unknown one."""
    if pace not in paces:
        raise ValueError(f"Unknown pace {pace!r}; choose one of {', '.join(paces)}.")
    return paces[pace]

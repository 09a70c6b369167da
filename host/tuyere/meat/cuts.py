"""What is known of a cut before it is weighed: its parts, how thick they are and what they are made of.

Every number in here is an ASSUMPTION: common practice and plain geometry, no source. A user's own mass and thickness
count more. Compositions are shares by mass; bone counts as meat.
"""

from __future__ import annotations

from dataclasses import dataclass

from tuyere.meat.food import LEAN
from tuyere.text import BadValue, Listed, text

Mix = dict[str, float]


@dataclass(frozen=True)
class Part:
    """A part of a cut, taken as a brick: share of the mass, thickness at the cut's typical mass, length over width."""

    name: str
    share: float
    thick_m: float
    aspect: float
    fat: float  # share by mass
    edges: float = 1.0  # share of the brick's edges that are free; the rest is grown to the other part


@dataclass(frozen=True)
class Cut:
    """A cut: in words, its masses (least, typical, most; kg, trimmed), and its parts, the one to be probed first."""

    words: str
    kg: tuple[float, float, float]
    parts: tuple[Part, ...]
    target_c: tuple[float, float] = (95.0, 97.0)  # 203-206 F: common practice


CUTS: dict[str, Cut] = {
    "packer": Cut(
        "whole brisket", (2.5, 5.5, 10.0),
        (Part("flat", 0.55, 0.050, 1.6, 0.11, 0.75), Part("point", 0.45, 0.080, 1.3, 0.22, 0.75)),
    ),
    "flat": Cut("brisket flat", (0.8, 3.0, 5.5), (Part("flat", 1.0, 0.050, 1.7, 0.11),)),
    "point": Cut("brisket point", (0.8, 2.5, 5.0), (Part("point", 1.0, 0.080, 1.3, 0.22),)),
    "pork shoulder": Cut(
        "pork shoulder, the upper part", (1.5, 3.6, 6.0), (Part("shoulder", 1.0, 0.120, 1.2, 0.18),), (93.0, 97.0)
    ),
    "beef ribs": Cut("plate ribs in one piece", (1.0, 2.4, 4.5), (Part("ribs", 1.0, 0.065, 1.3, 0.24),)),
    "chuck": Cut("beef chuck", (0.7, 1.8, 4.0), (Part("chuck", 1.0, 0.075, 1.4, 0.16),)),
    "pork ribs": Cut("pork ribs in one piece", (0.5, 1.3, 2.2), (Part("ribs", 1.0, 0.030, 2.5, 0.20),), (90.0, 97.0)),
    "lamb shoulder": Cut("lamb shoulder", (0.8, 2.0, 4.0), (Part("shoulder", 1.0, 0.080, 1.4, 0.18),), (90.0, 96.0)),
}  # fmt: skip
THICK = (0.45, 2.0)  # how far from the typical a part's thickness may be, times


def cut(name: str) -> Cut:
    """The cut of that name. BadValue on one that is not in the table."""
    if name not in CUTS:
        raise BadValue(text("Unknown cut {name}; choose one of {cuts}.", name=repr(name), cuts=Listed(tuple(CUTS))))
    return CUTS[name]


def mix(fat: float) -> Mix:
    """Meat with `fat` as its share by mass: fat among muscle that is else like lean beef."""
    rest = (1.0 - fat) / (1.0 - LEAN["fat"])
    return {name: fat if name == "fat" else share * rest for name, share in LEAN.items()}

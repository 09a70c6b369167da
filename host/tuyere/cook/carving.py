"""Rest and carving of each cut, and the times that follow from them for a serving time.

Common practice, no source: rest is the least time from the heat to the knife, carving is for one piece.
"""

from __future__ import annotations

from collections.abc import Sequence

MINUTE = 60_000
READ_MIN = 15  # min before carving in which a held piece is taken out, read and, if it is too cool, heated again

# cut: (least rest, carving of one piece), min
REST_AND_CARVE: dict[str, tuple[int, int]] = {
    "packer": (60, 10),
    "flat": (60, 8),
    "point": (60, 8),
    "pork shoulder": (60, 12),
    "beef ribs": (30, 8),
    "chuck": (45, 8),
    "pork ribs": (15, 5),
    "lamb shoulder": (30, 10),
}
# cut: what is done with it; what is not in it is carved across the grain
VERBS = {"pork shoulder": "Pull", "lamb shoulder": "Pull", "pork ribs": "Cut", "beef ribs": "Cut"}
USUAL = REST_AND_CARVE["packer"]  # of a cut that is not in the table: the longest rest


def carve_begins(cuts: Sequence[str], serve: int) -> int:
    """When the first of these pieces is carved so that the last is done at `serve`; both UTC ms."""
    return serve - sum(REST_AND_CARVE.get(cut, USUAL)[1] for cut in cuts) * MINUTE


def must_be_done(cuts: Sequence[str], serve: int) -> int:
    """By when all of these pieces must be out of the heat, to rest before carving begins; both UTC ms."""
    return carve_begins(cuts, serve) - max((REST_AND_CARVE.get(cut, USUAL)[0] for cut in cuts), default=0) * MINUTE

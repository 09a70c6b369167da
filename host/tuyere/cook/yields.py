"""How much of the raw meat was carved. A piece that was divided counts with all its parts: the whole went on as one.

Pure functions of the logbook's rows; masses in kg. The mass of a whole is less by that of each part divided off, so the
sum of all is what went on.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

from tuyere.cook.noted import Noted


class Weighed(Protocol):
    """What is needed of a piece."""

    id: int
    part_of: int
    mass: float | None


P = TypeVar("P", bound=Weighed)


def wholes(pieces: Sequence[P]) -> list[P]:
    """The pieces that went on, without those that were divided off."""
    there = {piece.id for piece in pieces}
    return [piece for piece in pieces if piece.part_of not in there]


def parts(whole: Weighed, pieces: Sequence[P]) -> list[P]:
    """A piece with all that was divided off it, and off that."""
    ids = {whole.id}
    for piece in sorted(pieces, key=lambda one: one.id):  # a part is younger than its whole
        if piece.part_of in ids:
            ids.add(piece.id)
    return [piece for piece in pieces if piece.id in ids]


def raw(found: Sequence[Weighed]) -> float | None:
    """What a piece and its parts weighed as it went on; None if it was not weighed."""
    return sum(piece.mass or 0.0 for piece in found) or None


def carved(found: Sequence[Weighed], events: Sequence[Noted]) -> float | None:
    """What was carved of a piece and its parts; None unless each of them was weighed as it was carved."""
    total = 0.0
    for piece in found:
        its = [e for e in events if e.kind == "carved" and e.piece == piece.id and e.value]
        if not its:
            return None
        total += max(its, key=lambda event: event.at).value or 0.0
    return total or None

"""Where a piece is, in words."""

from __future__ import annotations

from tuyere.cook.snapshot import Piece
from tuyere.text import Said, Temperature, text

WORDS = {
    "pit": "in the pit",
    "oven": "in the oven",
    "box": "in the box",
    "out": "out of the pit",
    "cooling": "cooling",
    "fridge": "in the fridge",
    "carved": "carved",
    "thrown": "thrown away",
}
GONE = ("carved", "fridge", "thrown")  # where nothing has to be looked after any more
CHILLED = ("cooling", "fridge")  # kept for another meal, or to be heated through again


def words(piece: Piece) -> Said:
    """'in the oven at 160 F, held hot'."""
    if not piece.held:
        return WORDS.get(piece.place, piece.place)
    if piece.place == "oven" and piece.oven is not None:
        return text("in the oven at {oven}, held hot", oven=Temperature(piece.oven))
    return f"{WORDS.get(piece.place, piece.place)}, held hot"

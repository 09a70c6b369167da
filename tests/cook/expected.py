"""Writes `tests/cook/expected.txt`: what is said of pieces that are awaited, held or over, at the edges of each time.

Run it with `python tests/cook/expected.py` after a change of `tuyere/cook/ahead.py`. The diff says what is said
otherwise than before; look at each line.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import UTC
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1] / "text"))

from rendered import words
from tuyere.cook import ahead, say
from tuyere.cook.snapshot import Link, Piece, Snapshot
from tuyere.text import Reader

PAGE = Path(__file__).with_name("expected.txt")
HOUR = 3_600_000
NOW = 1_800_000_000_000  # 2027-01-15 08:00 UTC
USUAL = {"finish_early": 6, "finish_likely": 8, "finish_late": 11, "wrap_from": 1, "wrap_best": 2, "wrap_until": 3}
PIECES: dict[str, dict[str, Any]] = {
    "awaited": USUAL,
    "wrapped": {**USUAL, "wrap": "paper"},
    "done before its wrap ends": {**USUAL, "finish_likely": 2},
    "of one time": {"finish_likely": 8},
    "of no time": {"finish_early": 6, "finish_late": 11, "wrap_from": 1},
    "without a beginning of its wrap": {"wrap_until": 3},
    "in an oven": {**USUAL, "place": "oven"},
    "held in an oven": {**USUAL, "place": "oven", "held": True, "oven": 71.0},
    "held in an oven of no word": {"place": "oven", "held": True},
    "held in the pit": {"held": True, "oven": 71.0, "tender_at": -1},
    "tender in the pit": {**USUAL, "tender_at": -1},
    "tender in the box": {**USUAL, "place": "box", "tender_at": -1, "hold_until": 2},
    "in the box": {"place": "box", "hold_until": 3},
    "in the box, of no time": {"place": "box"},
    "out": {**USUAL, "place": "out", "hold_until": 3},
    "without a fire": {"unlit": True},
}
TIMES = (
    "finish_early",
    "finish_likely",
    "finish_late",
    "wrap_from",
    "wrap_best",
    "wrap_until",
    "hold_until",
    "tender_at",
)


def looks(piece: Piece) -> Iterator[tuple[str, int]]:
    """(words, UTC ms): now, and at each of its times, a millisecond before and after."""
    yield "now", NOW
    for name in ("wrap_from", "wrap_until", "hold_until"):
        if at := getattr(piece, name):
            yield from ((f"{name} - 1", at - 1), (name, at), (f"{name} + 1", at + 1))
    if piece.wrap_until and piece.finish_likely and piece.finish_likely < piece.wrap_until:
        yield "finish_likely", piece.finish_likely


def said(piece: Piece, now: int) -> str:
    reader = Reader("C")
    found = [ahead.brief(piece, now, False), ahead.brief(piece, now, True), *ahead.short(piece, now, reader),
             *(words(one) for one in ahead.full(piece, now, reader))]  # fmt: skip
    return " / ".join(one or "-" for one in found)


def fuels() -> Iterator[str]:
    """Fuel that lasts so long."""
    for left in (None, 3.2):
        for early, likely, late in ((0, 0, 0), (2, 3, 5), (0, 3, 0), (14, 15, 17), (15, 17, 40)):
            times = {name: NOW + HOUR * at if at else 0 for name, at in
                     (("fuel_early", early), ("fuel_likely", likely), ("fuel_late", late))}  # fmt: skip
            shot = Snapshot(now=NOW, link=Link(), words=[], fuel_left=left, **times)
            yield f"fuel {left} kg, {early} {likely} {late} h: {ahead.fuel_words(shot, 'C') or '-'}"


def written() -> str:
    """The page."""
    with say.in_zone(UTC):
        return _written()


def _written() -> str:
    page = []
    for name, given in PIECES.items():
        values = {key: NOW + value * HOUR if key in TIMES and value else value for key, value in given.items()}
        piece = Piece(id=1, name="Ada", **values)
        page += [name, *(f"    {when}: {said(piece, now)}" for when, now in looks(piece))]
    return "\n".join([*page, "", *fuels(), ""])


if __name__ == "__main__":
    PAGE.write_text(written(), encoding="utf-8")

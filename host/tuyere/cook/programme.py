"""Programmes: what the board holds as rows of whole numbers, with the words that stay here.

A row is [low, high, end kind, end value] in board units (`hearth.core.fields`).
"""

from __future__ import annotations

from collections.abc import Sequence

from hearth.core import fields

from tuyere.cook.snapshot import Phase
from tuyere.text import Duration, Said, Temperature, text

LOW, HIGH = 121.1, 135.0  # C, 250-275 F, the default band
DONE = 95.0  # C, where the feeling begins; 203-206 F is common practice, no source


def default() -> list[Phase]:
    """A long cook: smoke until the hands wrap, then to the finish, then by feel."""
    return [
        phase("open smoke", LOW, HIGH, fields.END_BY_HAND),
        phase("wrapped", LOW, HIGH, fields.END_MEAT_1, DONE),
        phase("finish by feel", LOW, HIGH, fields.END_BY_HAND),
    ]


def phase(name: str, low: float, high: float, kind: int = fields.END_BY_HAND, value: float = 0.0) -> Phase:
    """A phase with its end in words. `value` is minutes after END_AFTER, degrees C after END_MEAT_n."""
    return Phase(name, low, high, end_words(kind, value), kind, value)


def end_words(kind: int, value: float) -> Said:
    """'by hand', 'after 2 h', 'when probe 1 reaches 95 C'."""
    if kind == fields.END_AFTER:
        return text("after {time}", time=Duration(60.0 * value))
    if fields.END_MEAT_1 <= kind <= fields.END_MEAT_3:
        probe = kind - fields.END_MEAT_1 + 1
        return text("when probe {probe} reaches {temperature}", probe=probe, temperature=Temperature(value))
    return "by hand"


def rows(phases: Sequence[Phase]) -> list[list[int]]:
    """Phases -> rows for the board."""
    return [[round(p.low * 100), round(p.high * 100), p.end_kind, _board(p.end_kind, p.end_value)] for p in phases]


def _board(kind: int, value: float) -> int:
    return 0 if kind == fields.END_BY_HAND else round(value) if kind == fields.END_AFTER else round(value * 100)


def phases(board_rows: Sequence[Sequence[int]], names: Sequence[str] = ()) -> list[Phase]:
    """Rows of a board -> phases. Without names, those of the default programme if it is that one, else numbers."""
    if not names and [list(row) for row in board_rows] == rows(default()):
        names = [p.name for p in default()]
    found = []
    for i, (low, high, kind, value) in enumerate(board_rows):
        name = names[i] if i < len(names) and names[i] else f"phase {i + 1}"
        shown = value / 100 if kind > fields.END_AFTER else float(value)
        found.append(phase(name, low / 100, high / 100, kind, shown))
    return found

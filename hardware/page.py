"""A page of SVG: lines, boxes and text, in a fixed order and with fixed rounding, so that a picture can be compared."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

FONT = "DejaVu Sans, Verdana, sans-serif"
MONO = "DejaVu Sans Mono, Menlo, monospace"
INK, GREY, PALE = "#111", "#777", "#eee"


class Page:
    """Coordinates in px from the top left; y grows downwards."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._rows: list[str] = []

    def rect(self, x: float, y: float, width: float, height: float, fill: str = "none", stroke: str = INK) -> None:
        """A box."""
        self._rows.append(
            f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}" fill="{fill}" stroke="{stroke}"/>'
        )

    def circle(self, x: float, y: float, radius: float, fill: str = "#fff", stroke: str = INK) -> None:
        """A circle around x, y."""
        self._rows.append(f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" fill="{fill}" stroke="{stroke}"/>')

    def line(self, *points: tuple[float, float], stroke: str = INK, width: float = 1.0, dash: str = "") -> None:
        """A line through the points."""
        path = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        self._rows.append(
            f'<polyline points="{path}" fill="none" stroke="{stroke}" stroke-width="{_n(width)}"{dashed}/>'
        )

    def area(self, rings: Sequence[Sequence[tuple[float, float]]], fill: str, stroke: str = INK) -> None:
        """Closed rings; where they lie in each other the inner one is a hole."""
        path = " ".join("M" + " L".join(f"{_n(x)},{_n(y)}" for x, y in ring) + " Z" for ring in rings)
        self._rows.append(f'<path d="{path}" fill="{fill}" stroke="{stroke}" fill-rule="evenodd"/>')

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float = 12,
        *,
        at: str = "start",
        mono: bool = False,
        bold: bool = False,
        fill: str = INK,
    ) -> None:
        """Words with their baseline at y; `at`: start, middle or end."""
        weight = ' font-weight="bold"' if bold else ""
        self._rows.append(
            f'<text x="{_n(x)}" y="{_n(y)}" font-family="{MONO if mono else FONT}" font-size="{_n(size)}"'
            f' text-anchor="{at}" fill="{fill}"{weight}>{escape(words)}</text>'
        )

    def svg(self) -> str:
        """The whole picture."""
        wide, high = _n(self.width), _n(self.height)
        head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" viewBox="0 0 {wide} {high}">'
        return "\n".join((head, '<rect width="100%" height="100%" fill="#fff"/>', *self._rows, "</svg>\n"))


def _n(value: float) -> str:
    """One decimal, no trailing zero."""
    return f"{round(value + 0.0, 1):g}"

"""The pieces by name: temperature, shade, wrap, place, and the style of each one's line in the trend."""

from __future__ import annotations

from tuyere.engine.model import Piece
from tuyere.tui import say
from tuyere.tui.frame import LETTERS, SAMPLES
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel, heading, length

WIDE = 48  # columns from which the wrap has a column of its own
SAMPLE, NOW, SHADE, WRAP = 5, 6, 7, 7  # columns


def place_words(piece: Piece, width: int) -> str:
    """Where it is; a reading taken by hand says so, and without a column of its own so does the wrap."""
    words = "not on" if piece.place == "pit" and not piece.on_at else piece.place
    if width >= WIDE:
        return words + (", by hand" if piece.by_hand else "")
    return ", ".join(part for part in (words, piece.wrap, "hand" if piece.by_hand else "") if part)


def pieces_lines(view: View, width: int, most: int = 6, header: bool = True) -> list[Line]:
    """A table: the header names the columns, a piece a line."""
    shot = view.shot
    pieces = shot.pieces if shot else []
    if not pieces:
        words = "m adds a piece of meat" if shot and shot.cook else "none until a cook begins"
        if header:
            return [heading("Pieces", width, view.ascii), [(words, "muted")]]
        return [[(f"pieces: {words}", "muted")]]
    assert shot is not None
    shown = pieces if len(pieces) <= most else pieces[: most - 1]
    wraps = any(piece.wrap for piece in shown) and width >= WIDE
    places = [place_words(piece, width) for piece in shown]
    tail = NOW + SHADE + (WRAP if wraps else 0) + 2 + max(len("place"), *(len(place) for place in places))
    name = max(6, min(max(len(piece.name) for piece in shown), width - SAMPLE - tail))
    out: list[Line] = []
    if header:
        rule = "-" if view.ascii else "─"
        first: Line = [("Pieces ", "muted"), (rule * (SAMPLE + name - len("Pieces") - 1), "rule")]
        titles = "now".rjust(NOW) + "shade".rjust(SHADE) + ("  wrap".ljust(WRAP) if wraps else "") + "  place "
        out.append([*first, (titles, "muted"), (rule * max(0, width - SAMPLE - name - len(titles)), "rule")])
    for piece, place in zip(shown, places, strict=True):
        sample = ""
        if 1 <= piece.probe <= 3:
            sample = LETTERS[piece.probe] * 3 if view.ascii else SAMPLES[piece.probe]
        old = not view.live and not piece.by_hand
        shade = "-" if piece.shade is None else str(piece.shade)
        line: Line = [(sample.ljust(SAMPLE), ""), (say.cut(piece.name, name).ljust(name), "")]
        line.append((view.degrees(piece.temperature).rjust(NOW), "muted" if old else "strong"))
        line.append((shade.rjust(SHADE), "" if piece.shade is not None else "muted"))
        if wraps:
            line.append((f"  {piece.wrap or '-'}".ljust(WRAP), "" if piece.wrap else "muted"))
        line.append((say.cut(f"  {place}", width - length(line)), ""))
        out.append(line)
    if len(shown) < len(pieces):
        out.append([(f"    and {len(pieces) - len(shown)} more: m shows them", "muted")])
    return out


class Pieces(Panel):
    def lines(self, view: View, width: int) -> list[Line]:
        if self.short or self.narrow:
            return pieces_lines(view, width, 3, header=not self.short)
        return pieces_lines(view, width, 6 if self.app.size.height >= 35 else 4)

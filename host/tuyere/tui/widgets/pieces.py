"""The pieces by name: temperature, shade, wrap, place, and the style of each one's line in the trend."""

from __future__ import annotations

from tuyere.chart.frame import LETTERS, SAMPLES
from tuyere.cook import say
from tuyere.cook.snapshot import Piece
from tuyere.tui import ahead
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel, heading, length, packed

WIDE = 48  # columns from which the wrap has a column of its own
SAMPLE, NOW, SHADE, READY, WRAP = 5, 6, 7, 9, 7  # columns
NAME = 6  # columns that a name has at least


def place_words(piece: Piece, wide: bool, now: int, room: int = 1000) -> str:
    """Where it is, and for how long if it lies out; a reading taken by hand says so, and unless it has a column of its
    own (`wide`) so does the wrap. What does not fit in `room` columns is left out from the end, never cut."""
    here = "not on" if piece.place == "pit" and not piece.on_at else piece.place
    words = say.place(here, piece.place_since, now)
    by_hand = ("by hand" if wide else "hand") if piece.by_hand else ""
    parts = [part for part in (words, "" if wide else piece.wrap, by_hand) if part]
    while len(parts) > 1 and len(", ".join(parts)) > room:
        parts.pop()
    return ", ".join(parts) if len(", ".join(parts)) <= room else here


def reading(view: View, piece: Piece) -> tuple[str, str]:
    """(its temperature, the role); an old one stands in brackets."""
    words = view.degrees(piece.temperature)
    if view.live or piece.by_hand or piece.temperature is None:
        return words, "strong" if piece.temperature is not None else "muted"
    return f"({words})", "muted"


def pieces_lines(view: View, width: int, most: int = 6, header: bool = True) -> list[Line]:
    """A table: the header names the columns, a piece a line; a second line for what is expected if there is room."""
    shot = view.shot
    pieces = shot.pieces if shot else []
    if not pieces:
        words = f"{view.key('pieces')} adds a piece of meat" if shot and shot.cook else "none until a cook begins"
        if header:
            return [heading("Pieces", width, view.ascii), [(words, "muted")]]
        return [[(f"pieces: {words}", "muted")]]
    expected = {piece.id: ahead.short(piece, view.now) for piece in pieces}
    pairs = 2 * len(pieces) <= most
    shown = pieces if len(pieces) <= most else pieces[: most - 1]
    ready = any(expected.values()) and not pairs
    wide = header and width >= WIDE
    wraps = wide and any(piece.wrap for piece in shown)
    now = NOW + 2 * any(reading(view, piece)[0].startswith("(") for piece in shown)
    places = [place_words(piece, wide, view.now) for piece in shown]
    shades, hours = (SHADE, READY) if header else (SHADE + 3, READY + 5)  # without a header the words stand beside
    sample_width, longest = SAMPLE, max(len("place"), *(len(place) for place in places))
    if sample_width + NAME + now + shades + hours * ready + WRAP * wraps + 2 + longest > width:  # closer together
        brief = [ahead.brief(piece, view.now, bare=header) for piece in shown]
        sample_width, shades = SAMPLE - 1, shades - 1
        hours = max(len(" ready"), *(1 + len(words) for words in brief))
    tail = now + shades + hours * ready + WRAP * wraps + 2
    name = max(NAME, min(max(len(piece.name) for piece in shown), width - sample_width - tail - longest))
    places = [place_words(piece, wide, view.now, width - sample_width - name - tail) for piece in shown]
    out: list[Line] = []
    if header:
        rule = "-" if view.ascii else "─"
        first: Line = [("Pieces ", "muted"), (rule * (sample_width + name - len("Pieces") - 1), "rule")]
        titles = "now".rjust(now) + "shade".rjust(shades) + "ready".rjust(hours) * ready
        titles += "  wrap".ljust(WRAP) * wraps + "  place "
        titles = titles[: width - sample_width - name]  # without its last blank where nothing follows
        out.append([*first, (titles, "muted"), (rule * max(0, width - sample_width - name - len(titles)), "rule")])
    for piece, place in zip(shown, places, strict=True):
        sample = ""
        if 1 <= piece.probe <= 3:
            sample = LETTERS[piece.probe] * 3 if view.ascii else SAMPLES[piece.probe]
        words, role = reading(view, piece)
        shade = (
            ("-" if header else "") if piece.shade is None else str(piece.shade) if header else f"shade {piece.shade}"
        )
        line: Line = [(sample.ljust(sample_width), ""), (say.cut(piece.name, name).ljust(name), "")]
        line.append((words.rjust(now), role))
        line.append((shade.rjust(shades), "" if piece.shade is not None else "muted"))
        if ready:
            line.append((ahead.brief(piece, view.now, bare=header).rjust(hours), ""))
        if wraps:
            line.append((f"  {piece.wrap or '-'}".ljust(WRAP), "" if piece.wrap else "muted"))
        line.append((say.cut(f"  {place}", width - length(line)), ""))
        out.append(line)
        if pairs and expected[piece.id]:
            texts = packed(expected[piece.id], width - SAMPLE, ", ")
            out += [[(" " * SAMPLE, ""), (part, "muted")] for text in texts for part in say.wrap(text, width - SAMPLE)]
    if len(shown) < len(pieces):
        out.append([(f"and {len(pieces) - len(shown)} more: {view.key('read')} reads them", "muted")])
    return out


class Pieces(Panel):
    def lines(self, view: View, width: int) -> list[Line]:
        return pieces_lines(view, width, 3 if self.brief else 6, header=not self.short)

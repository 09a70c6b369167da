"""The pieces by name: temperature, shade, wrap, place, and the style of each one's line in the trend."""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.chart.frame import LETTERS, SAMPLES
from tuyere.cook import ahead, say
from tuyere.cook.in_short import here, place_parts
from tuyere.cook.snapshot import Piece
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel, heading, length, packed

WIDE = 48  # columns from which the wrap has a column of its own
SAMPLE, NOW, SHADE, READY, WRAP = 5, 6, 7, 9, 7  # columns
NAME = 6  # columns that a name has at least


def place_words(piece: Piece, wide: bool, now: int, room: int) -> str:
    """The parts that fit in `room` columns: the last ones are left out first, none is cut."""
    parts = place_parts(piece, wide, now)
    while len(parts) > 1 and len(", ".join(parts)) > room:
        parts.pop()
    words = ", ".join(parts)
    return words if len(words) <= room else here(piece)


def reading(view: View, piece: Piece) -> tuple[str, str]:
    """(its temperature, the role); an old one stands in brackets."""
    words = view.degrees(piece.temperature)
    if view.live or piece.by_hand or piece.temperature is None:
        return words, "strong" if piece.temperature is not None else "muted"
    return f"({words})", "muted"


def _first(pieces: Sequence[Piece], count: int) -> set[int]:
    """The numbers of those that are shown where not all have room: what cooks, then what is still to go on."""
    by = sorted(pieces, key=lambda piece: (piece.place not in ("pit", "oven"), not piece.on_at))
    return {piece.id for piece in by[:count]}


def pieces_lines(view: View, width: int, most: int = 6, header: bool = True) -> list[Line]:
    """A table: the header names the columns, a piece a line; a second line for what is expected if there is room."""
    shot = view.shot
    pieces = shot.pieces if shot else []
    if not pieces:
        words = f"{view.key('pieces')} adds a piece of meat" if shot and shot.cook else "none until a cook begins"
        if header:
            return [heading("Pieces", width, view.ascii), [(words, "muted")]]
        return [[(f"pieces: {words}", "muted")]]
    expected = {piece.id: ahead.short(piece, view.now, view.reader) for piece in pieces}
    pairs = 2 * len(pieces) <= most
    shown = pieces if len(pieces) <= most else [piece for piece in pieces if piece.id in _first(pieces, most - 1)]
    ready = any(expected.values()) and not pairs
    wide = header and width >= WIDE
    wraps = wide and any(piece.wrap for piece in shown)
    now = NOW + 2 * any(reading(view, piece)[0].startswith("(") for piece in shown)
    shades, hours = (SHADE, READY) if header else (SHADE + 3, READY + 5)  # without a header the words stand beside
    briefs = [ahead.brief(piece, view.now, bare=header) if ready else "" for piece in shown]
    parts = [place_parts(piece, wide, view.now) for piece in shown]
    sample_width, named = SAMPLE, max(len(piece.name) for piece in shown)
    longest = max(len("place"), *(len(", ".join(one)) for one in parts))
    if sample_width + named + now + shades + hours * ready + WRAP * wraps + 2 + longest > width:  # closer together
        shades, hours = shades - 1, max(len(" ready"), *(1 + len(brief) for brief in briefs))
    tail = now + shades + hours * ready + WRAP * wraps + 2
    # The names come first. A place gives up its last words; that of a piece that is not awaited begins in the column
    # of the times where it must.
    empty = [hours if ready and not wraps and not brief else 0 for brief in briefs]
    least = max(len("place"), *(len(one[0]) - spare for one, spare in zip(parts, empty, strict=True)))
    if sample_width + named + tail + least > width:
        sample_width -= 1
    name = max(NAME, min(named, width - sample_width - tail - least))
    room = width - sample_width - name - tail
    places = [place_words(piece, wide, view.now, room + spare) for piece, spare in zip(shown, empty, strict=True)]
    out: list[Line] = []
    if header:
        rule = "-" if view.ascii else "─"
        first: Line = [("Pieces ", "muted"), (rule * (sample_width + name - len("Pieces") - 1), "rule")]
        titles = "now".rjust(now) + "shade".rjust(shades) + "ready".rjust(hours) * ready
        titles += "  wrap".ljust(WRAP) * wraps + "  place "
        titles = titles[: width - sample_width - name]  # without its last blank where nothing follows
        out.append([*first, (titles, "muted"), (rule * max(0, width - sample_width - name - len(titles)), "rule")])
    for piece, place, brief, spare in zip(shown, places, briefs, empty, strict=True):
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
        early = spare and len(place) > room  # its place begins where others have a time
        if ready and not early:
            line.append((brief.rjust(hours), ""))
        if wraps:
            line.append((f"  {piece.wrap or '-'}".ljust(WRAP), "" if piece.wrap else "muted"))
        here = place.rjust(width - length(line)) if early else f"  {place}"
        line.append((say.cut(here, width - length(line)), ""))
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

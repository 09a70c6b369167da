"""A panel of text lines: a pure function makes the lines for a width, the panel only paints them."""

from __future__ import annotations

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

from tuyere.chart.colours import Palette
from tuyere.tui.view import Line, View


def style_of(role: str, palette: Palette) -> Style:
    """How a role looks. Without colour, weight and reverse say the same."""
    base = palette.base
    if role == "urgent":
        if palette.colourless:
            return Style(bold=True, reverse=True)
        return Style(color=palette.urgent_text, bgcolor=palette.urgent, bold=True)
    if role == "hand":
        return Style(color=palette.hand, bgcolor=base, bold=True, underline=palette.colourless)
    if role in ("strong", "pit"):
        return Style(color=palette.pit, bgcolor=base, bold=True)
    if role == "asked":
        return Style(color=palette.text, bgcolor=base, italic=True)
    if role == "muted":
        return Style(color=palette.muted, bgcolor=base)
    if role == "rule":
        return Style(color=palette.shade, bgcolor=base, dim=palette.colourless)
    return Style(color=palette.text, bgcolor=base)


def strip_of(line: Line, width: int, palette: Palette) -> Strip:
    """A line as exactly `width` cells."""
    strip = Strip([Segment(text, style_of(role, palette)) for text, role in line])
    return strip.adjust_cell_length(width, style_of("", palette))


def heading(words: str, width: int, ascii: bool = False) -> Line:
    """A quiet heading: the words and a rule to the end."""
    return [(words + " ", "muted"), (("-" if ascii else "─") * max(0, width - len(words) - 1), "rule")]


def length(line: Line) -> int:
    return sum(len(text) for text, _ in line)


def packed(texts: list[str], width: int, between: str = "   ") -> list[str]:
    """Texts side by side while they fit in one line."""
    out: list[str] = []
    for text in texts:
        if out and len(out[-1]) + len(between) + len(text) <= width:
            out[-1] += between + text
        else:
            out.append(text)
    return out


NARROWEST = 30  # columns that every panel can write in


class Panel(Widget):
    """Base of the text panels of the watch screen."""

    DEFAULT_CSS = "Panel { height: auto; }"

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.room = 4  # lines, for a panel that takes what there is
        self.view = View()
        self.palette = Palette("none")
        self._strips: list[Strip] = []
        self._made_for = 0

    def lines(self, view: View, width: int) -> list[Line]:
        """The text for a width; overridden by each panel."""
        raise NotImplementedError

    @property
    def short(self) -> bool:
        """The terminal has so few rows that no panel has a heading."""
        return self.app.size.height < 24

    @property
    def likely_width(self) -> int:
        """Columns of a panel that is not laid out yet, 0 if it can wait until it is."""
        return 0

    @property
    def brief(self) -> bool:
        """The panels stand one under the other, each in few words."""
        return self.short or self.app.size.width < 80

    def show(self, view: View, palette: Palette) -> None:
        """Take the newest view."""
        self.view, self.palette = view, palette
        before = len(self._strips)
        self._make(self.content_size.width or self.likely_width)
        self.refresh(layout=len(self._strips) != before)

    def fit(self, room: int) -> None:
        """Take this number of lines, at least one."""
        room = max(1, room)
        if room != self.room:
            self.room = room
            self.show(self.view, self.palette)

    def _make(self, width: int) -> None:
        """Lines for a width, cut where it is less than a panel can write in: a terminal that is being made smaller
        has no room for a moment, and one may stay too small."""
        self._made_for = width
        lines = self.lines(self.view, max(width, NARROWEST)) if width else []
        self._strips = [strip_of(line, width, self.palette) for line in lines]

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        if width != self._made_for:
            self._make(width)
        return len(self._strips)

    @property
    def broad(self) -> bool:
        """The panels stand side by side."""
        return self.app.size.width >= 120 and not self.short

    @property
    def rows(self) -> int:
        """How many lines it has just now."""
        return len(self._strips) if self.display else 0

    def render_line(self, y: int) -> Strip:
        width = self.content_size.width
        if width != self._made_for:
            self._make(width)
        if y < len(self._strips):
            return self._strips[y]
        return Strip.blank(width, style_of("", self.palette))

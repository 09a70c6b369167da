"""The trend on screen. Its strips are made when data, size or theme change; painting hands them out."""

from __future__ import annotations

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.strip import Strip
from textual.widget import Widget

from tuyere.chart.colours import Palette
from tuyere.chart.draw import draw
from tuyere.chart.frame import Ink, Picture
from tuyere.chart.history import History
from tuyere.cook import ahead, say
from tuyere.cook.in_short import letter
from tuyere.tui.view import View
from tuyere.tui.widgets.panel import heading, strip_of

HEADING_FROM = 12  # rows; a smaller chart needs them all


class TrendChart(Widget):
    """The chart of one cook."""

    DEFAULT_CSS = "TrendChart { height: 1fr; width: 1fr; }"

    def __init__(self, history: History, *, id: str) -> None:
        super().__init__(id=id)
        self.history = history
        self.view = View()
        self.palette = Palette("none")
        self._strips: list[Strip] = []
        self._styles_of: dict[Ink, Style] = {}

    def show(self, view: View, palette: Palette) -> None:
        """Draw again from the history, the view's units and window, and the theme."""
        if palette is not self.palette:
            self._styles_of.clear()
        self.view, self.palette = view, palette
        self._draw()
        self.refresh()

    def picture(self, width: int, height: int) -> Picture:
        """What to draw now."""
        shot = self.view.shot
        lines = [(0, "pit")]
        for piece in shot.pieces if shot else []:
            if 1 <= piece.probe <= 3 and piece.probe not in [n for n, _ in lines]:
                lines.append((piece.probe, piece.name))
        marks = [(event.at, letter(event)) for event in shot.events] if shot else []
        return Picture(
            width,
            height,
            self.palette,
            self.view.units,
            self.view.window,
            tuple(lines),
            tuple(marks),
            self.view.near,
            ahead.bands(shot),
        )

    def title(self) -> str:
        """'Trend, last 4 h'."""
        view = self.view
        window = f"last {say.span(view.window)}" if view.window else "the whole cook"
        old = f", until {say.when(self.history.end, view.now)}" if self.history.cycles and not view.live else ""
        return f"Trend, {window}{', near the band' if view.near else ''}{old}"

    def _draw(self) -> None:
        width, height = self.content_size
        if not width or not height:
            self._strips = []
            return
        strips = []
        if height >= HEADING_FROM:
            strips.append(strip_of(heading(self.title(), width, self.view.ascii), width, self.palette))
        for row in draw(self.history, self.picture(width, height - len(strips)), ahead.points(self.view.shot)):
            strips.append(Strip([Segment(text, self._style(ink)) for text, ink in row], width))
        self._strips = strips

    def _style(self, ink: Ink) -> Style:
        style = self._styles_of.get(ink)
        if style is None:
            colour, background, bold = ink
            style = self._styles_of[ink] = Style(color=colour, bgcolor=background, bold=bold)
        return style

    def on_resize(self, event: events.Resize) -> None:
        self._draw()
        self.refresh()

    def render_line(self, y: int) -> Strip:
        if y < len(self._strips):
            return self._strips[y]
        return Strip.blank(self.content_size.width, self._style((self.palette.text, self.palette.base, False)))

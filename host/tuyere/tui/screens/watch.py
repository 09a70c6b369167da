"""The watch screen: puts the panels where they belong and turns keys into actions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal
from textual.screen import Screen
from textual.widgets import Footer

from tuyere.tui.actions import ACTIONS
from tuyere.tui.colours import Palette
from tuyere.tui.history import History
from tuyere.tui.view import View
from tuyere.tui.widgets.alarms import Alarms
from tuyere.tui.widgets.detail import Detail
from tuyere.tui.widgets.hands import Hands
from tuyere.tui.widgets.headline import Headline
from tuyere.tui.widgets.panel import Panel
from tuyere.tui.widgets.pieces import Pieces
from tuyere.tui.widgets.pit import Pit
from tuyere.tui.widgets.status import Status
from tuyere.tui.widgets.trend import TrendChart

if TYPE_CHECKING:
    from tuyere.tui.app import WatchApp


class WatchScreen(Screen[None]):
    """One pit, one cook."""

    BINDINGS = [
        Binding(
            action.keys,
            f"do('{action.id}')",
            action.footer or action.words,
            show=bool(action.footer),
            key_display="?" if action.id == "help" else None,
            tooltip=action.help,
            id=action.id,
        )
        for action in ACTIONS
    ]

    def __init__(self, history: History) -> None:
        super().__init__()
        self.history = history

    def compose(self) -> ComposeResult:
        yield Status(id="status")
        yield Headline(id="headline")
        yield Alarms(id="alarms")
        with Horizontal(id="top"):
            yield Pit(id="pit")
            yield Pieces(id="pieces")
            yield Hands(id="hands")
        with Horizontal(id="below"):
            yield TrendChart(self.history, id="trend")
            yield Detail(id="detail")
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        app: WatchApp = self.app  # type: ignore[assignment]
        self.show(app.view, app.palette)

    def on_resize(self) -> None:
        app: WatchApp = self.app  # type: ignore[assignment]
        self.show(app.view, app.palette)

    @property
    def _standing(self) -> bool:
        """The widgets are there: not before the first paint, and no longer while the screen is being taken down."""
        return self.is_mounted and bool(self.query(TrendChart))

    def show(self, view: View, palette: Palette) -> None:
        """Hand the view to every panel."""
        if not self._standing:
            return
        self.query_one("#below").set_class(view.detail, "-detail")
        for panel in self.query(Panel):
            panel.show(view, palette)
        self.query_one(TrendChart).show(view, palette)

    def redraw(self) -> None:
        """New cycles came."""
        if self._standing:
            chart = self.query_one(TrendChart)
            chart.show(chart.view, chart.palette)

    def action_do(self, name: str) -> None:
        app: WatchApp = self.app  # type: ignore[assignment]
        app.do(name)

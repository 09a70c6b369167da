"""The watch screen: puts the panels where they belong and turns keys into actions."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.screen import Screen

from tuyere.chart.colours import Palette
from tuyere.chart.history import History
from tuyere.tui.actions import ACTIONS, PAST, Action
from tuyere.tui.face import Face
from tuyere.tui.view import View
from tuyere.tui.widgets.alarms import Alarms
from tuyere.tui.widgets.detail import Detail
from tuyere.tui.widgets.headline import Headline
from tuyere.tui.widgets.keys import Keys
from tuyere.tui.widgets.panel import Panel
from tuyere.tui.widgets.pieces import Pieces
from tuyere.tui.widgets.pit import Pit
from tuyere.tui.widgets.prompts import Hands
from tuyere.tui.widgets.serving import Serving
from tuyere.tui.widgets.status import Status
from tuyere.tui.widgets.trend import TrendChart

CHART, FOOTER, MARGINS = 6, 1, 4  # rows
HIGH = 35  # rows from which there are margins


def bindings(registry: Sequence[Action]) -> list[BindingType]:
    """The keys of a registry; those with a short label stand in the footer."""
    shown = {"question_mark": "?", "plus": "+", "minus": "-", "space": "space"}
    return [
        Binding(
            action.keys,
            f"do('{action.id}')",
            action.footer or action.words,
            show=bool(action.footer),
            key_display=shown.get(action.keys.split(",")[0]),
            tooltip=action.help,
            id=action.id,
        )
        for action in registry
    ]


class WatchScreen(Screen[None]):
    """One pit, one cook."""

    BINDINGS = bindings(ACTIONS)

    def __init__(self, history: History) -> None:
        super().__init__()
        self.history = history

    def compose(self) -> ComposeResult:
        yield Status(id="status")
        yield Headline(id="headline")
        yield Alarms(id="alarms")
        yield Serving(id="serving")
        with Horizontal(id="top"):
            yield Pit(id="pit")
            yield Pieces(id="pieces")
            yield Hands(id="hands")
        with Horizontal(id="below"):
            yield TrendChart(self.history, id="trend")
            yield Detail(id="detail")
        yield Keys()

    def on_mount(self) -> None:
        app: Face = self.app  # type: ignore[assignment]
        self.show(app.view, app.palette)

    def on_resize(self) -> None:
        app: Face = self.app  # type: ignore[assignment]
        self.show(app.view, app.palette)
        self.call_after_refresh(self.share)  # the panels have their widths and heights only then

    @property
    def _standing(self) -> bool:
        """Whether the widgets are there: not before the first paint, nor while the screen is taken down."""
        return self.is_mounted and bool(self.query(TrendChart))

    def show(self, view: View, palette: Palette) -> None:
        """Hand the view to every panel."""
        if not self._standing:
            return
        self.query_one("#below").set_class(view.detail, "-detail")
        for panel in self.query(Panel):
            panel.show(view, palette)
        self.share()
        self.query_one(TrendChart).show(view, palette)

    def share(self) -> None:
        """Share the rows: the alarms first, then the hands, then the chart, which goes when something urgent needs
        its place. All that has no place is counted on screen and read in full by a key."""
        if not self._standing:
            return
        alarms, hands = self.query_one(Alarms), self.query_one(Hands)
        size, rows = self.app.size, {str(panel.id): panel.rows for panel in self.query(Panel)}
        broad = alarms.broad
        top = rows["pit"] + rows["pieces"] if alarms.brief else max(rows["pit"], rows["pieces"])
        if broad:
            top = max(top, rows["hands"])
        free = size.height - FOOTER - rows["status"] - rows["headline"] - rows["serving"] - top
        free -= MARGINS if size.height >= HIGH else 0
        usual = 0 if broad else hands.usual
        alarms.fit(free - min(usual, 1) if alarms.view.urgent else max(2, free - usual - CHART))
        left = free - alarms.rows
        if broad:
            hands.fit(max(6, size.height // 5, min(hands.wanted, size.height // 3)))
        else:
            hands.fit(left if left < CHART else min(max(hands.usual, hands.wanted), max(2, left - CHART)))

    def redraw(self) -> None:
        """New cycles came."""
        if self._standing:
            chart = self.query_one(TrendChart)
            chart.show(chart.view, chart.palette)

    def action_do(self, name: str) -> None:
        app: Face = self.app  # type: ignore[assignment]
        app.do(name)


class PastScreen(WatchScreen, inherit_bindings=False):
    """The same of a past night, with the keys that move its clock and none that orders anything."""

    BINDINGS = bindings(PAST)

"""The serving time and what it leaves, in one line that is always in sight."""

from __future__ import annotations

from tuyere.cook import say
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel


def serving_lines(view: View, width: int) -> list[Line]:
    """'Serve 21:00, likely ready 13:37, hold 6 h, odds 97 %'; nothing where no time is known."""
    found = view.shot.serving if view.shot else None
    if found is None or not found.at or view.past is not None:
        return []
    role = "hand" if found.late or view.now >= found.carve else "strong"
    return [[(part, role)] for part in say.hanging(view.said(found.words), width)]


class Serving(Panel):
    def lines(self, view: View, width: int) -> list[Line]:
        return serving_lines(view, width)

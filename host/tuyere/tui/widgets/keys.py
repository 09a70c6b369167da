"""The bottom line: the keys that are needed most. Where all do not fit, those that only change the view go first."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Footer

FIRST_TO_GO = ("window", "detail")  # ids of actions; a narrow screen leaves them out (`themes.STYLES`)


class Keys(Footer):
    def __init__(self) -> None:
        super().__init__(show_command_palette=False, compact=True)

    def compose(self) -> ComposeResult:
        for widget in super().compose():
            action = getattr(widget, "action", "")
            widget.set_class(action in [f"do('{name}')" for name in FIRST_TO_GO], "first-to-go")
            yield widget

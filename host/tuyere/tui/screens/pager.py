"""A page of text over the screen. It wraps and scrolls, and cuts nothing."""

from __future__ import annotations

from collections.abc import Callable

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static

from tuyere.tui.screens.dialog import Dialog


def columns(width: int) -> int:
    """Of the text of a page, in a terminal of that width."""
    return min(width, 90) - 6


class Page(Dialog[str | None]):
    """`make` gives the text for a width. Arrows scroll; escape, enter or a key of `closes` close it; a key of
    `answers` (key: value) closes it with its value."""

    def __init__(
        self, title: str, make: Callable[[int], Text], hint: str, closes: str, answers: dict[str, str] | None = None
    ) -> None:
        super().__init__()
        self.head, self.make, self.hint = title, make, hint
        self.closes, self.answers = {"escape", "enter", "q", *closes.split(",")}, answers or {}

    def compose(self) -> ComposeResult:
        with Vertical(classes="box tall"):
            yield Static(self.head, classes="title", markup=False)
            with VerticalScroll():
                yield Static(id="page")
            yield Static(f"up and down scroll, {self.hint}escape closes", classes="hint", markup=False)

    def on_mount(self) -> None:
        self.fill()

    def on_resize(self, event: events.Resize) -> None:
        self.fill()

    def follow(self) -> None:
        self.fill()

    def fill(self) -> None:
        """Make the text again: the width or what it says has changed."""
        for page in self.query("#page").results(Static):  # none while it is being opened or closed
            page.update(self.make(columns(self.app.size.width)))

    def on_key(self, event: events.Key) -> None:
        if event.key in self.answers:
            self.dismiss(self.answers[event.key])
        elif event.key in self.closes:
            self.dismiss(None)
        else:
            return
        event.stop()

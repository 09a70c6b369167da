"""A question with yes and no, and a menu: in two columns if it has many entries."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tuyere.tui.screens.dialog import Dialog


class Ask(Dialog[bool]):
    """Yes with y or the key that asked; no with n, enter or escape, so that a held enter key does nothing."""

    def __init__(self, title: str, words: str, yes: str, *, keys: str = "") -> None:
        super().__init__()
        self.head, self.words, self.yes = title, words, yes
        self.yes_keys = {"y", *keys.split(",")} - {""}

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(self.head, classes="title", markup=False)
            yield Static(self.words, classes="words", markup=False)
            yield Static(f"y  {self.yes}     n  leave it as it is", classes="hint", markup=False)

    def on_key(self, event: events.Key) -> None:
        if event.key in self.yes_keys:
            self.dismiss(True)
        elif event.key in ("n", "escape", "enter"):
            self.dismiss(False)
        event.stop()


MANY = 10  # entries of a column


class Menu(Dialog[str | None]):
    """Pick one: arrows and enter, or its letter."""

    def __init__(self, title: str, entries: list[tuple[str, str, str]], words: str = "") -> None:
        super().__init__()
        self.head, self.words = title, words
        self.entries = entries  # (value, letter, words)

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(self.head, classes="title", markup=False)
            if self.words:
                yield Static(self.words, classes="words", markup=False)
            half = len(self.entries) if len(self.entries) <= MANY else (len(self.entries) + 1) // 2
            with Horizontal(classes="columns"):
                for column in (self.entries[:half], self.entries[half:]):
                    if column:
                        options = [Option(f"{letter}  {words}", id=value) for value, letter, words in column]
                        yield OptionList(*options, compact=True, markup=False)
            yield Static("letter or enter picks, escape leaves", classes="hint", markup=False)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(event.option.id)

    def on_key(self, event: events.Key) -> None:
        if event.key == "escape":
            self.dismiss(None)
            event.stop()
            return
        if event.key in ("left", "right"):
            self._other()
            event.stop()
            return
        for value, letter, _ in self.entries:
            if event.character and event.character == letter:
                self.dismiss(value)
                event.stop()
                return

    def _other(self) -> None:
        """Go to the other column, at the same height."""
        columns = list(self.query(OptionList))
        here = next((column for column in columns if column.has_focus), None)
        if here is None or len(columns) < 2:
            return
        there = columns[1 - columns.index(here)]
        there.highlighted = min(here.highlighted or 0, there.option_count - 1)
        there.focus()

"""All keys by what they are for, and what the marks and lines mean. Made from the registry of actions."""

from __future__ import annotations

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from tuyere.tui.actions import ACTIONS, key_words
from tuyere.tui.say import wrap
from tuyere.tui.view import LETTERS

KEYS = 6


def help_text(keys: dict[str, str], width: int) -> Text:
    """The page for a width; `keys` by action id as they are now."""
    from tuyere.logbook.kinds import KINDS

    text, group = Text(), ""
    label = max(len(action.words) for action in ACTIONS) + 2
    for action in ACTIONS:
        if action.group != group:
            group = action.group
            text.append(("" if not text else "\n") + group + "\n", "bold")
        text.append(f"{key_words(keys.get(action.id, action.keys)):{KEYS}}{action.words:{label}}")
        room = width - KEYS - label
        lines = wrap(action.help, room, 4) if room >= 24 else []
        text.append(("\n" + " " * (KEYS + label)).join(lines) + "\n")
    text.append("\nMarks under the trend and in lists\n", "bold")
    words = [f"{letter} {KINDS[kind].words}" for kind, letter in LETTERS.items() if kind in KINDS and kind != "shade"]
    for line in wrap(", ".join([*words, "0 to 9 and X a shade of the bark"]), width, 12):
        text.append(line + "\n")
    text.append("\nKeys can be changed in screen.toml, under [keys], by these names\n", "bold")
    for line in wrap(", ".join(action.id for action in ACTIONS), width, 8):
        text.append(line + "\n")
    return text


class Help(ModalScreen[None]):
    """The help page; any of its own keys, enter or escape closes it, arrows scroll."""

    def __init__(self, keys: dict[str, str]) -> None:
        super().__init__()
        self.keys = keys

    def compose(self) -> ComposeResult:
        with Vertical(classes="box tall"):
            yield Static("Keys", classes="title")
            with VerticalScroll():
                yield Static(id="page")
            yield Static("up and down scroll, escape closes", classes="hint")

    def on_mount(self) -> None:
        self._fill()

    def on_resize(self, event: events.Resize) -> None:
        self._fill()

    def _fill(self) -> None:
        width = min(self.app.size.width - 4, 90) - 8
        self.query_one("#page", Static).update(help_text(self.keys, width))

    def on_key(self, event: events.Key) -> None:
        if event.key in ("escape", "enter", "q", *self.keys["help"].split(",")):
            self.dismiss()
            event.stop()

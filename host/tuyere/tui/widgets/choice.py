"""Fields of a form: one of a few (left and right), and minutes (left and right, or typed)."""

from __future__ import annotations

from rich.text import Text
from textual import events
from textual.message import Message
from textual.widget import Widget


class Choice(Widget, can_focus=True):
    """One of a few words on one line; left and right move, a word's first letter or digit picks it."""

    DEFAULT_CSS = "Choice { height: 1; width: 1fr; }"

    class Send(Message):
        """Enter was pressed."""

    def __init__(self, choices: list[tuple[str, str]], chosen: str = "", *, id: str) -> None:
        super().__init__(id=id)
        self.choices = choices  # (value, words)
        values = [value for value, _ in choices]
        self.at = values.index(chosen) if chosen in values else 0

    @property
    def value(self) -> str:
        return self.choices[self.at][0]

    def render(self) -> Text:
        """The words from the one that lets the chosen one be seen; an arrow where there are more."""
        words = [f" {words} " for _, words in self.choices]
        width = self.content_size.width or sum(map(len, words))
        start = 0
        while start < self.at and 2 + sum(map(len, words[start : self.at + 1])) > width:
            start += 1
        text = Text("<" if start else "", no_wrap=True, overflow="crop")
        for i in range(start, len(words)):
            if len(text) + len(words[i]) + (i < len(words) - 1) > width and i > self.at:
                text.append(">")
                break
            style = ("bold reverse" if self.has_focus else "bold underline") if i == self.at else ""
            text.append(words[i], style)
        return text

    def on_key(self, event: events.Key) -> None:
        if event.key in ("left", "right"):
            self.at = (self.at + (1 if event.key == "right" else -1)) % len(self.choices)
        elif event.key == "enter":
            self.post_message(self.Send())
        elif event.character and event.is_printable:
            wanted = event.character.casefold()
            order = [*range(self.at + 1, len(self.choices)), *range(self.at + 1)]
            match = next((i for i in order if self.choices[i][1].casefold().startswith(wanted)), None)
            if match is None:
                return
            self.at = match
        else:
            return
        event.stop()
        self.refresh()

    def on_focus(self) -> None:
        self.refresh()

    def on_blur(self) -> None:
        self.refresh()


class Ago(Choice):
    """How long ago, in minutes: presets, or any number typed."""

    PRESETS = (0, 5, 10, 20, 30, 60)
    MOST = 24 * 60

    def __init__(self, *, id: str) -> None:
        super().__init__([(str(m), "now" if m == 0 else str(m)) for m in self.PRESETS], id=id)
        self.typed = ""

    @property
    def value(self) -> str:
        return self.typed or super().value

    def render(self) -> Text:
        if self.typed:
            text = Text(no_wrap=True)
            text.append(f" {self.typed} ", "bold reverse" if self.has_focus else "bold underline")
            return text.append(" min ago")
        return super().render().append(" min ago")

    def on_key(self, event: events.Key) -> None:
        if event.character and event.character.isdigit():
            typed = (self.typed + event.character).lstrip("0")
            self.typed = typed if typed and int(typed) <= self.MOST else self.typed
            self.at = 0
        elif event.key == "backspace":
            self.typed = self.typed[:-1]
        elif event.key in ("left", "right"):
            self.typed = ""
            return  # the base moves the preset
        else:
            return
        event.stop()
        event.prevent_default()
        self.refresh()

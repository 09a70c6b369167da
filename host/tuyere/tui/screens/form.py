"""A small form: labelled fields, checked when sent, one sentence when something is wrong."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from tuyere.tui.units import number
from tuyere.tui.widgets.choice import Ago, Choice

Values = dict[str, str]


@dataclass
class Field:
    """One line of a form: a text, a number within bounds, one of `choices` (value, words), or minutes ago."""

    name: str
    label: str
    kind: str = "text"  # text, number, choice, ago
    value: str = ""
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    empty: bool = False  # may be left empty
    choices: list[tuple[str, str]] = field(default_factory=list)

    def check(self, text: str) -> str:
        """Empty if `text` will do, else a sentence that says what to do."""
        label = self.label[:1].upper() + self.label[1:]
        if not text.strip():
            return "" if self.empty or self.kind not in ("number", "text") else f"{label} is missing: type it."
        if self.kind != "number":
            return ""
        value = number(text)
        if value is None:
            return f'{label} "{text.strip()}" is not a number: type digits.'
        if not self.low <= value <= self.high:
            unit = f" {self.unit}" if self.unit else ""
            return f"{label} of {value:g}{unit} is out of range: give {self.low:.0f} to {self.high:.0f}{unit}."
        return ""


class Form(ModalScreen[Values | None]):
    """Enter sends from any field, up and down move, escape leaves. Returns the texts by field name, or None."""

    BINDINGS = []

    def __init__(
        self, title: str, words: str, fields: list[Field], check: Callable[[Values], str] | None = None
    ) -> None:
        super().__init__()
        self.head, self.words, self.fields, self.also = title, words, fields, check

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(self.head, classes="title", markup=False)
            if self.words:
                yield Static(self.words, classes="words", markup=False)
            for entry in self.fields:
                with Horizontal(classes="row"):
                    yield Label(entry.label, markup=False)
                    yield self._widget(entry)
                    if entry.unit and entry.kind in ("text", "number"):
                        yield Label(entry.unit, classes="unit", markup=False)
            yield Static("", classes="error", markup=False)
            yield Static("enter sends, up and down move, escape leaves", classes="hint", markup=False)

    @staticmethod
    def _widget(entry: Field) -> Choice | Input:
        name = f"field-{entry.name}"
        if entry.kind == "choice":
            return Choice(entry.choices, entry.value, id=name)
        if entry.kind == "ago":
            return Ago(id=name)
        box = Input(entry.value, compact=True, id=name, select_on_focus=True)
        box.cursor_blink = False
        return box

    def values(self) -> Values:
        return {entry.name: self.query_one(f"#field-{entry.name}", Choice | Input).value for entry in self.fields}  # type: ignore[arg-type]

    def send(self) -> None:
        values = self.values()
        for entry in self.fields:
            if trouble := entry.check(values[entry.name]):
                self.query_one(".error", Static).update(trouble)
                widget = self.query_one(f"#field-{entry.name}")
                widget.focus()
                if isinstance(widget, Input):
                    widget.action_select_all()  # typing replaces what was wrong
                return
        if self.also and (trouble := self.also(values)):
            self.query_one(".error", Static).update(trouble)
            return
        self.dismiss(values)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self.send()

    def on_choice_send(self, event: Choice.Send) -> None:
        self.send()

    def on_key(self, event: events.Key) -> None:
        if event.key == "escape":
            self.dismiss(None)
        elif event.key == "down":
            self.focus_next()
        elif event.key == "up":
            self.focus_previous()
        else:
            return
        event.stop()

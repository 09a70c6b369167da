"""A small form: labelled fields, checked when sent, one sentence when something is wrong."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Label, Static
from textual.worker import Worker

from tuyere import measures
from tuyere.measures import number
from tuyere.text import Range, Reader, render, text
from tuyere.tui.screens.dialog import Dialog
from tuyere.tui.widgets.choice import Ago, Choice

Values = dict[str, str]
Give = Callable[[Values], Awaitable[str]]  # does what the form is for; "" if it is done, else why not, in a sentence


@dataclass
class Field:
    """One line of a form: a text, a number within bounds, a measure within bounds (see `measure`), one of `choices`
    (value, words), or minutes ago."""

    name: str
    label: str
    kind: str = "text"  # text, number, measure, choice, ago
    value: str = ""
    unit: str = ""
    hint: str = ""  # stands after the unit
    low: float = 0.0
    high: float = 0.0
    empty: bool = False  # may be left empty
    whole: bool = False
    choices: list[tuple[str, str]] = field(default_factory=list)
    quantity: measures.Quantity = measures.MASS  # of a measure
    units: str = ""  # of the reader of a measure, F or C
    was: float | None = None  # a measure that stands already

    def read(self, typed: str) -> float | None:
        """The measure in the unit used inside (kg, m, C); None if nothing is typed, or nothing that can be read. One
        that was left as it was shown keeps its hidden digits."""
        if typed.strip() == self.value:
            return self.was
        found = measures.read(typed, self.quantity, self.units)
        return None if found is None else round(found, self.quantity.places)

    def check(self, typed: str) -> str:
        """Empty if what was typed is valid, else a sentence that says what to do."""
        label = self.label[:1].upper() + self.label[1:]
        if not typed.strip():
            return "" if self.empty or self.kind in ("choice", "ago") else f"{label} is missing: type it."
        if self.kind == "measure":
            return self._measured(label, typed)
        if self.kind != "number":
            return ""
        value = number(typed)
        if value is None:
            return f'{label} "{typed.strip()}" is not a number: type digits.'
        if not self.low <= value <= self.high:
            unit = f" {self.unit}" if self.unit else ""
            low, high = (f"{round(limit, 1):g}" for limit in (self.low, self.high))
            return f"{label}: {value:g}{unit} is out of range; give {low} to {high}{unit}."
        if self.whole and value != int(value):
            return f"{label}: {value:g} is not whole; give a whole number from {self.low:.0f} to {self.high:.0f}."
        return ""

    def _measured(self, label: str, typed: str) -> str:
        value, of = self.read(typed), self.quantity
        if value is None:
            return f'{label} "{typed.strip()}" cannot be read: give it as {of.example(self.units)}.'
        if self.low - 1e-9 <= value <= self.high + 1e-9:
            return ""
        said = text(
            "{label}: {value} is out of range; give {allowed}.",
            label=label, value=of.said(value), allowed=Range(of.said(self.low), of.said(self.high)),
        )  # fmt: skip
        return render(said, Reader(self.units))


def measure(
    name: str, label: str, was: float | None, quantity: measures.Quantity, units: str, hint: str = "", *,
    low: float, high: float, empty: bool = False,
) -> Field:  # fmt: skip
    """A field for a measure: a bare number in the reader's unit, or one with its unit. was, low, high: kg, m or C."""
    value = "" if was is None else measures.shown(was, quantity, units)
    return Field(name, label, "measure", value, quantity.bare(units), hint, low, high, empty,
                 quantity=quantity, units=units, was=was)  # fmt: skip


class Form(Dialog[Values | None]):
    """Enter sends from any field, up and down move, escape leaves. Returns the texts by field name, or None.

    `check` looks at all values together. `give` passes them on. The form stays open until that is done. A refusal is
    shown, and the form can be sent again.
    """

    BINDINGS = []

    def __init__(
        self,
        title: str,
        words: str,
        fields: list[Field],
        check: Callable[[Values], str] | None = None,
        give: Give | None = None,
    ) -> None:
        super().__init__()
        self.head, self.words, self.fields, self.also, self.give = title, words, fields, check, give
        self.waiting: Worker[None] | None = None

    def compose(self) -> ComposeResult:
        with Vertical(classes="box"):
            yield Static(self.head, classes="title", markup=False)
            if self.words:
                yield Static(self.words, classes="words", markup=False)
            for entry in self.fields:
                with Horizontal(classes="row"):
                    yield Label(entry.label, markup=False)
                    yield self._widget(entry)
                    if entry.kind in ("number", "measure") and (beside := f"{entry.unit} {entry.hint}".strip()):
                        yield Label(beside, classes="unit", markup=False)
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
        """Check the fields, then give the values on."""
        if self.waiting is not None:
            return
        values = self.values()
        for entry in self.fields:
            if trouble := entry.check(values[entry.name]):
                self.set_focus(self.query_one(f"#field-{entry.name}"))
                self.complain(trouble)
                return
        if self.also and (trouble := self.also(values)):
            self.complain(trouble)
            return
        if self.give is None:
            self.dismiss(values)
            return
        self.query_one(".error", Static).update("Asking; escape leaves it to be answered later.")
        # of the app, so that leaving the form does not take back what was sent
        self.waiting = self.app.run_worker(self.giving(self.give, values), name="form", group="forms")

    async def giving(self, give: Give, values: Values) -> None:
        """Pass the values on, then close, or say why it was refused."""
        trouble = await give(values)
        self.waiting = None
        if trouble and self in self.app.screen_stack:
            self.complain(trouble)
        elif trouble:  # left meanwhile
            self.app.say(trouble, "warning")  # type: ignore[attr-defined]
        elif self.app.screen is self:
            self.dismiss(values)

    def complain(self, words: str) -> None:
        """Say what is wrong under the fields; typing replaces it."""
        self.query_one(".error", Static).update(words)
        if isinstance(self.focused, Input):
            self.focused.action_select_all()

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

"""How the pit stands and why, in words."""

from __future__ import annotations

from tuyere.tui import say
from tuyere.tui.view import Line, View, headline
from tuyere.tui.widgets.panel import Panel


def sentences(words: list[str]) -> str:
    """Sentences in a row, each with its full stop."""
    return " ".join(word if word.endswith((".", "?", "!")) else word + "." for word in words if word)


def headline_lines(view: View, width: int, most: int = 3) -> list[Line]:
    """The headline stands out; the rest follows on at most `most` - 1 lines."""
    words = [w for w in headline(view) if w]
    calm = view.live or view.where == "looking" or view.shot is None
    role = "strong" if calm and not (view.cycle and view.cycle.trip) else "hand"
    first = say.wrap(words[0], width, 2)
    out: list[Line] = [[(text, role)] for text in first]
    return out + [[(text, "")] for text in say.wrap(sentences(words[1:]), width, most - len(first))]


class Headline(Panel):
    def lines(self, view: View, width: int) -> list[Line]:
        return headline_lines(view, width, 2 if self.short and view.shot and view.shot.alarms else 3)

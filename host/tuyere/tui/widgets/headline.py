"""How the pit stands and why, in words, and how fresh that is."""

from __future__ import annotations

from tuyere.cook import say
from tuyere.cook.standing import headline, sure
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel


def headline_lines(view: View, width: int, most: int = 4) -> list[Line]:
    """The headline in bold, with its age at the end; whole sentences follow on at most `most` lines."""
    words = [w for w in headline(view) if w]
    calm = view.live or view.where == "looking" or view.shot is None
    role = "strong" if calm and not (view.cycle and view.cycle.trip) else "hand"
    first = say.wrap(words[0], width)
    out: list[Line] = [[(text, role)] for text in first]
    *fresh, fresh_role = sure(view)
    text = next((words for words in fresh if len(first[-1]) + 2 + len(words) <= width), "")
    if text:
        out[-1] = [*out[-1], (" " * (width - len(first[-1]) - len(text)), ""), (text, fresh_role)]
    elif fresh[0]:
        out.append([(fresh[0], fresh_role)])
    rest = say.whole(words[1:], width, most - len(out), view.more) if len(out) < most else []
    return out + [[(text, "")] for text in rest]


class Headline(Panel):
    def lines(self, view: View, width: int) -> list[Line]:
        if view.urgent and self.app.size.height < 35:
            return headline_lines(view, width, 1)  # the alarm says the rest
        return headline_lines(view, width, 3 if self.brief else 4)

"""What the hands must do next, and when."""

from __future__ import annotations

from tuyere.tui import say
from tuyere.tui.view import Line, View
from tuyere.tui.widgets.panel import Panel, heading

INDENT = 2  # cells before the further lines of a prompt


def hands_lines(view: View, width: int, most: int = 4) -> list[Line]:
    """Soonest first; what is due now stands out."""
    shot = view.shot
    if shot is None:
        return [[("-", "muted")]]
    if not shot.prompts:
        state = shot.cycle.state if shot.cycle else ""
        if shot.link.state != "open":
            words = "nothing, until the board is back"
        elif state == "off" and not (shot.cook and shot.cook.ended):
            words = "s starts the pit when the fire is lit"
        elif state == "tripped":
            words = "look at the fire, then a acknowledges"
        else:
            words = "nothing for now"
        return [[(say.cut(words, width), "muted")]]
    out: list[Line] = []
    for prompt in shot.prompts:
        room = most - len(out)
        if room <= 0:
            break
        when = say.due(prompt.due, shot.now)
        role = "hand" if prompt.due <= shot.now else ""
        # the time stands in the first line, as a filler that no wrapping parts from the words
        filler = "\0" * len(when)
        texts = say.wrap(f"{filler} {view.said(prompt.words)}", width - INDENT, min(3 if most > 4 else 2, room))
        out.append([(when, role or "muted"), (texts[0][len(when) :], role)])
        out += [[(" " * INDENT, ""), (text, role)] for text in texts[1:]]
    return out


class Hands(Panel):
    def lines(self, view: View, width: int) -> list[Line]:
        if self.app.size.width >= 120:
            return [heading("Next for the hands", width, view.ascii), *hands_lines(view, width, 6)]
        lines = hands_lines(view, width - 6, 1 if self.short else 2)
        return [[("next  " if i == 0 else "      ", "muted"), *line] for i, line in enumerate(lines)]

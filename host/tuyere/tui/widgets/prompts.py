"""What the hands must do next, and when."""

from __future__ import annotations

from textual.geometry import Size

from tuyere.cook import say
from tuyere.cook.in_short import idle
from tuyere.cook.snapshot import Prompt
from tuyere.tui.view import Line, View, mark_of
from tuyere.tui.widgets.detail import noted_lines
from tuyere.tui.widgets.panel import Panel, heading

NEXT, NOTED = "next  ", "noted "
INDENT = 2  # cells before the further lines of a prompt


def hands_lines(view: View, width: int, most: int = 4) -> list[Line]:
    """Soonest first; what is due now stands out. A prompt without room for all its words is counted, not cut."""
    shot = view.shot
    if shot is None:
        return [[("-", "muted")]]
    if view.past is not None:
        noted = [line for event in shot.events[:most] for line in noted_lines(view, event, width)]
        return noted[:most] or [[("nothing has happened yet", "muted")]]
    if not shot.prompts:
        return [[(text, "muted")] for text in say.hanging(idle(view), width)]
    blocks = [prompt_lines(view, prompt, width) for prompt in shot.prompts]
    chosen = next((i for i, one in enumerate(shot.prompts) if mark_of(one) == view.chosen), -1)
    for first in range(max(0, chosen) + 1):
        out, count = _fitted(view, blocks[first:], first, most)
        if chosen < first + count:
            break
    return out[:most]


def _fitted(view: View, blocks: list[list[Line]], first: int, most: int) -> tuple[list[Line], int]:
    """As many of the blocks as fit, with a line that counts the rest; first: how many were left out before them."""
    shot = view.shot
    assert shot is not None
    out: list[Line] = []
    for count in range(len(blocks), -1, -1):
        out = [line for block in blocks[:count] for line in block]
        left = len(blocks) - count
        if left:
            now = sum(prompt.due <= shot.now for prompt in shot.prompts[first + count :])
            words = f"{left}{' more' if count else ' to do'}{f', {now} due now' if now else ''}"
            words += f": {view.key('read')} reads {'it' if left == 1 else 'them'}"
            out.append([(words, "hand" if now else "muted")])
        if len(out) <= most:
            return out, count
    return out, 0


def prompt_lines(view: View, prompt: Prompt, width: int) -> list[Line]:
    """'in 12 min Fill the water pan', every word of it. The chosen one has a mark before it."""
    mark = "> " if mark_of(prompt) == view.chosen else ""
    when = mark + say.due(prompt.due, view.now)
    role = "hand" if prompt.due <= view.now else "strong" if mark else ""
    words = view.said(prompt.words) + (f" {view.key('phase')} does so." if prompt.kind == "phase" else "")
    # the time stands in the first line, as a filler that no wrapping parts from the words
    first, *rest = say.hanging("\0" * len(when) + " " + words, width, INDENT)
    return [[(when, role or "muted"), (first[len(when) :], role)], *([(text, role)] for text in rest)]


class Hands(Panel):
    @property
    def wanted(self) -> int:
        """Lines that everything due now takes, with the heading or one that counts the rest."""
        shot, width = self.view.shot, self.content_size.width - (0 if self.broad else len(NEXT))
        if shot is None or self.view.past is not None or width <= 0:
            return 0
        due = [prompt for prompt in shot.prompts if prompt.due <= self.view.now]
        lines = sum(len(prompt_lines(self.view, prompt, width)) for prompt in due)
        return lines + (len(due) < len(shot.prompts)) + self.broad

    @property
    def usual(self) -> int:
        """Lines it has when there is room for the chart."""
        return 4 if self.brief else 3

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Textual's grid asks a cell over two columns for its height at the width of one. The width of both counts."""
        return super().get_content_height(container, viewport, width if self.broad else container.width)

    def lines(self, view: View, width: int) -> list[Line]:
        if self.broad:
            title = "Next for the hands" if view.past is None else "What had happened"
            if view.chosen and view.past is None:
                title += f" ({view.key('do_next')} notes it)"
            return [heading(title, width, view.ascii), *hands_lines(view, width, self.room)]
        lines = hands_lines(view, width - 6, self.room)
        label = NEXT if view.past is None else NOTED
        return [[(label if i == 0 else "      ", "muted"), *line] for i, line in enumerate(lines)]

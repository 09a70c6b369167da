"""The programme: each phase with its band, how it ends and what it is for. It is changed here as a draft and sent as
one; what the board has not acknowledged is called not sent."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tuyere.cook import programme, say
from tuyere.cook.snapshot import Phase
from tuyere.tui.draft import Draft
from tuyere.tui.screens.dialog import Dialog
from tuyere.tui.view import View

KEYS = {  # key -> what is asked of the handler
    "a": "add", "c": "change", "d": "remove", "plus": "down", "minus": "up", "g": "go", "k": "kept", "s": "send",
}  # fmt: skip
MARK, BAND = 6, 11  # columns
NARROW = 54  # columns of a row below which the end stands in the line of the selected phase alone


def mark(draft: Draft, i: int, row: int, held: bool) -> str:
    """'now', 'done', 'next', where to begin, or nothing."""
    standing, afresh = draft.standing(row)
    if i == standing and (afresh and draft.changed):
        return "begin"
    if not held and not draft.changed:
        return "first" if i == standing else ""
    return "now" if i == standing else "done" if i < standing else ""


def ends(view: View, phase: Phase, since: int) -> str:
    """How it ends, in few words: 'by hand', 'at 06:00', 'after 2 h (04:10)', 'Big flat 203 F'."""
    probe = phase.end_kind - programme.AFTER
    if probe >= 1 and view.shot:
        name = next((p.name for p in view.shot.pieces if p.probe == probe and p.place == "pit"), f"probe {probe}")
        return f"{name} at {view.degrees(phase.end_value)}"
    said = view.said(phase.end)
    if phase.end_kind == programme.AFTER and since and not phase.clock:
        said += f" ({say.when(since + round(phase.end_value * say.MINUTE), view.now)})"
    return said


def rows(view: View, draft: Draft, width: int) -> list[str]:
    """A line a phase."""
    cycle, shot = view.cycle, view.shot
    row = cycle.phase if cycle else 0
    held = cycle is not None and cycle.state not in ("off", "tripped", "burnout")
    since = shot.phase_since if shot and held else 0
    at, afresh = draft.standing(row)
    starts = programme.begins(draft.phases, at, view.now if afresh else since) if draft.phases and since else []
    name = min(max((len(p.name) for p in draft.phases), default=0), max(14, width - MARK - BAND - 24)) + 2
    out = []
    for i, phase in enumerate(draft.phases):
        line = f"{i + 1} {mark(draft, i, row, held)}".ljust(MARK + 2)
        line += say.cut(phase.name, name - 2).ljust(name) + view.band(phase.low, phase.high).ljust(BAND)
        out.append(line + ends(view, phase, starts[i] if i < len(starts) else 0))
    return [say.cut(line, width) for line in out]


def about(view: View, draft: Draft, at: int) -> str:
    """The selected phase in a sentence."""
    if not 0 <= at < len(draft.phases):
        return (
            "The board has no programme: the band stands until a person changes it. a adds a phase, k takes a kept one."
        )
    phase = draft.phases[at]
    words = f"{phase.name}: {view.band(phase.low, phase.high)}, ends {ends(view, phase, 0)}"
    words += f"; {programme.PURPOSES[phase.purpose]}." if phase.purpose else "."
    if programme.idle(draft.phases, at):
        words += " It has the band of the phase before it: going on to it changes nothing."
    if at == len(draft.phases) - 1:
        words += " After it the fan goes off for good and the fire burns out."
    return words


def state(draft: Draft) -> str:
    """Whether this is what the board has."""
    if draft.elsewhere:
        return "NOT SENT. Somebody has sent another programme meanwhile; yours would replace it."
    return (
        "NOT SENT. The board goes on with what it has until you send this." if draft.changed else "As the board has it."
    )


class ProgrammeScreen(Dialog[None]):
    """`ask(what, index)` does what a key asks for; a sentence that it returns is shown."""

    def __init__(self, draft: Draft, ask: Callable[[str, int], Awaitable[str]]) -> None:
        super().__init__()
        self.draft, self.ask = draft, ask
        self.selected, self.leaving = 0, False

    def compose(self) -> ComposeResult:
        with Vertical(classes="box wide"):
            yield Static("The programme", classes="title", markup=False)
            yield Static(classes="words", id="state", markup=False)
            yield OptionList(compact=True, markup=False, id="phases")
            yield Static(classes="about", markup=False)
            yield Static(classes="error", id="programme-error", markup=False)
            yield Static(classes="hint", id="keys", markup=False)

    def on_mount(self) -> None:
        view: View = self.app.view  # type: ignore[attr-defined]
        self.draft.follow(view.shot.phases if view.shot else [])
        self.selected = min(self.draft.standing(view.cycle.phase if view.cycle else 0)[0], len(self.draft.phases) - 1)
        self.fill()

    def on_resize(self, event: events.Resize) -> None:
        self.fill()

    def follow(self) -> None:
        """The board's programme may have changed."""
        view: View = self.app.view  # type: ignore[attr-defined]
        if view.shot:
            self.draft.follow(view.shot.phases)
        self.fill()

    def fill(self) -> None:
        """Write everything again."""
        if not self.is_mounted or not self.query("#phases"):
            return
        view: View = self.app.view  # type: ignore[attr-defined]
        width = min(self.app.size.width, 80) - 6
        options = self.query_one("#phases", OptionList)
        lines = rows(view, self.draft, width)
        if [str(options.get_option_at_index(i).prompt) for i in range(options.option_count)] != lines:
            options.clear_options()
            options.add_options([Option(line) for line in lines])
        self.selected = max(0, min(self.selected, len(lines) - 1))
        if lines:
            options.highlighted = self.selected
        self.query_one("#state", Static).update(state(self.draft))
        self.query_one("#state", Static).set_class(self.draft.changed, "error")
        self.query_one(".about", Static).update(about(view, self.draft, self.selected))
        send = "s sends, r drops the changes" if self.draft.changed else "g goes to the phase"
        hint = f"a add, c change, d remove, + and - move, k kept ones, {send}, escape leaves"
        self.query_one("#keys", Static).update("\n".join(say.wrap(hint, width)))

    def complain(self, words: str) -> None:
        """Say what is wrong."""
        self.query_one("#programme-error", Static).update(words)

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        if event.option_index != self.selected:
            self.selected, self.leaving = event.option_index, False
            self.fill()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.do("change")

    def on_key(self, event: events.Key) -> None:
        """Keys of the programme; arrows are the list's."""
        if event.key == "escape":
            if self.draft.changed and not self.leaving:
                self.leaving = True
                self.complain("These changes are not sent. Escape again drops them, s sends them.")
            else:
                self.dismiss(None)
        elif event.key == "r" and self.draft.changed:
            self.draft.revert()
            self.follow()
            self.complain("")
        elif event.key in KEYS:
            self.do(KEYS[event.key])
        else:
            return
        event.stop()

    def do(self, what: str) -> None:
        """Have it done; a form or a question may open above."""
        self.leaving = False
        self.app.run_worker(self.doing(what), name="programme", group="forms")

    async def doing(self, what: str) -> None:
        """Do it, then show what came of it."""
        self.complain("")
        words = await self.ask(what, self.selected)
        if self.is_mounted and self.query("#phases"):
            self.complain(words)
            self.follow()

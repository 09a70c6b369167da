"""The list of things to do: one of them is chosen and noted."""

from __future__ import annotations

from tuyere.cook.snapshot import Prompt
from tuyere.logbook.kinds import KINDS
from tuyere.tui.face import Face
from tuyere.tui.handlers.notes import note_of
from tuyere.tui.screens.ask import Menu
from tuyere.tui.view import mark_of

KEYS = ("phase", "serving", "wake")  # kinds of prompts that the action of that name answers


def _at(app: Face) -> tuple[list[Prompt], int]:
    """The list, and the place of the chosen one in it; -1 for none."""
    found = app.view.shot.prompts if app.view.shot else []
    return found, next((i for i, one in enumerate(found) if mark_of(one) == app.view.chosen), -1)


def _choose(app: Face, step: int) -> None:
    found, at = _at(app)
    if not found:
        return
    place = at + step
    app.view.chosen = mark_of(found[place]) if 0 <= place < len(found) else None
    app.show()


async def choose_next(app: Face) -> None:
    _choose(app, 1)


async def choose_before(app: Face) -> None:
    found, at = _at(app)
    _choose(app, -1 if at >= 0 else len(found))


async def do_next(app: Face) -> None:
    """Note the chosen one, else the first."""
    found, at = _at(app)
    if not found:
        app.say("There is nothing to do now.")
        return
    prompt = found[max(0, at)]
    if prompt.kind == "fuel_looked":
        choices = [("fuel_looked", "e", "enough is left"), ("fuel_added", "f", "charcoal was added")]
        if kind := await app.ask(Menu("The fuel", choices)):
            await note_of(app, kind)
    elif prompt.kind in KINDS:
        await note_of(app, prompt.kind, prompt.piece)
    elif prompt.kind in KEYS:
        app.do(prompt.kind)
    else:
        app.say("Nothing has to be noted for this: it leaves the list by itself.")

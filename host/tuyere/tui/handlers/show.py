"""What each action does to the screen itself. One function an action, with its name."""

from __future__ import annotations

from tuyere.tui.face import Face
from tuyere.tui.preferences import NAME, WINDOWS
from tuyere.tui.screens.ask import Ask
from tuyere.tui.screens.help import help_text
from tuyere.tui.screens.pager import Page
from tuyere.tui.screens.read import read_text


async def bell(app: Face) -> None:
    app.look(bell="off" if app.settings.bell == "on" else "on")
    rings = f"The bell rings for urgent alarms; {app.view.key('bell')} silences it."
    silent = f"The bell is silent; {app.view.key('bell')} lets it ring again."
    app.say(rings if app.settings.bell == "on" else silent)


async def read(app: Face) -> None:
    hint, answers = "", {}
    if app.view.alarms:
        for name, words in () if app.view.past else (("acknowledge", "acknowledges"), ("shelve", "shelves")):
            hint += f"{app.view.key(name)} {words}, "
            answers.update(dict.fromkeys(app.keys[name].split(","), name))
    page = Page("In full", lambda width: read_text(app.view, width), hint, app.keys["read"], answers)
    if chosen := await app.ask(page):
        app.do(chosen)


async def window(app: Face) -> None:
    names = list(WINDOWS)
    app.look(window=names[(names.index(app.settings.window) + 1) % len(names)])


async def hour(app: Face) -> None:
    app.look(window="1 h")


async def four(app: Face) -> None:
    app.look(window="4 h")


async def all(app: Face) -> None:
    app.look(window="all")


async def near(app: Face) -> None:
    app.view.near = not app.view.near
    app.show()


async def detail(app: Face) -> None:
    app.view.detail = not app.view.detail
    app.show()


async def units(app: Face) -> None:
    app.look(units="C" if app.settings.units == "F" else "F")


async def colours(app: Face) -> None:
    app.look(colours="light" if app.settings.colours == "dark" else "dark")


async def help(app: Face) -> None:
    await app.ask(
        Page(
            "Keys",
            lambda width: help_text(app.keys, width, app.home / NAME, app.view.ascii, app.REGISTRY),
            "",
            app.keys["help"],
        )
    )


async def palette(app: Face) -> None:
    app.action_command_palette()


async def engine(app: Face) -> None:
    app.start_engine()


async def quit(app: Face) -> None:
    words = app.leaving()
    if not words or await app.ask(Ask("Leave the screen?", words, "leave", keys=app.keys["quit"])):
        await app.leave(words)

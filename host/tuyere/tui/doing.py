"""What each action does: ask what must be asked, then call the engine. One function an action, named like it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING, Any

from hearth.core.orders import NARROWEST
from hearth.link.messages import ORDERS

from tuyere.logbook.kinds import KINDS
from tuyere.tui import say
from tuyere.tui.actions import ACTIONS
from tuyere.tui.screens.ask import Ask, Menu
from tuyere.tui.screens.form import Field, Form, Values
from tuyere.tui.screens.help import Help
from tuyere.tui.settings import WINDOWS
from tuyere.tui.units import band as band_words
from tuyere.tui.units import celsius, number, shown
from tuyere.tui.view import LETTERS

if TYPE_CHECKING:
    from tuyere.tui.app import WatchApp

LEAST_BAND = NARROWEST / 100  # C between low and high, the board's own bound


async def start(app: WatchApp) -> None:
    shot = app.view.shot
    if shot is None:
        return
    if shot.cook is None or shot.cook.ended:
        name = f"Cook of {say.day(shot.now)}"
        values = await app.ask(Form("Begin a cook", "The pit is held and everything is recorded under this name.",
                                    [Field("name", "name", value=name)]))  # fmt: skip
        if values is None or not await app.call("cook_start", name=values["name"].strip()):
            return
    await app.order("start", "start")


async def stop(app: WatchApp) -> None:
    words = "The fan goes off and the fire dies down. s starts it again."
    if await app.ask(Ask("Stop the pit?", words, "fan off", keys="x")):
        await app.order("stop", "fan off")


async def band(app: WatchApp) -> None:
    cycle, units = app.view.cycle, app.view.units
    low, high = (cycle.low, cycle.high) if cycle else (121.1, 135.0)
    limits = {name: (least / 100, most / 100) for name, least, most in ORDERS["band"][1]}

    def apart(values: Values) -> str:
        a, b = _degrees(values["low"], units), _degrees(values["high"], units)
        if b - a < LEAST_BAND:
            return "The top of the band must be above the bottom by 2 C (4 F) at least: change one."
        return ""

    fields = []
    for name, words, value in (("low", "from", low), ("high", "to", high)):
        least, most = (shown(limit, units) for limit in limits[name])
        fields.append(Field(name, words, "number", f"{shown(value, units):.0f}", units, least, most))
    about = "The pit is held between these. It counts once the board has taken it."
    values = await app.ask(Form("Change the band", about, fields, apart))
    if values is None:
        return
    a, b = (_same(values[n], was, units) for n, was in (("low", low), ("high", high)))
    await app.order("band", f"band {band_words(a, b, units)}", low=a, high=b)


def _degrees(text: str, units: str) -> float:
    return celsius(number(text) or 0.0, units)


def _same(text: str, was: float, units: str) -> float:
    """What was typed in C, to the hundredth the board keeps; a number left as shown keeps its hidden digits."""
    return was if text.strip() == f"{shown(was, units):.0f}" else round(_degrees(text, units), 2)


async def phase(app: WatchApp) -> None:
    shot, cycle = app.view.shot, app.view.cycle
    if shot is None or cycle is None:
        return
    row = cycle.phase + 1
    if not shot.phases or cycle.phase >= len(shot.phases):
        app.say("There is no next phase in the programme.", "warning")
        return
    if row < len(shot.phases):
        new = shot.phases[row]
        words, title = f"The band becomes {app.view.band(new.low, new.high)}.", f"Go on to {new.name}?"
    else:
        words, title = "The fan goes off for good and the fire is left to burn out.", "End the programme?"
    if await app.ask(Ask(title, words, "go on", keys="p")):
        await app.order("phase", "next phase", row=row)


async def fan(app: WatchApp) -> None:
    most = ORDERS["fan"][1][1][2] // 60
    now = round((app.view.cycle.fan if app.view.cycle else 0.0) * 100)
    fields = [
        Field("percent", "fan", "number", str(now), "%", 0, 100),
        Field("minutes", "for", "number", "5", "min", 1, most),
    ]
    values = await app.ask(Form("Fan by hand", "The board takes the fan back when the time is over.", fields))
    if values is None:
        return
    percent, minutes = number(values["percent"]) or 0.0, number(values["minutes"]) or 0.0
    await app.order(
        "fan", f"fan {percent:.0f} % for {minutes:g} min", share=round(percent / 100, 4), seconds=round(minutes * 60)
    )


async def back(app: WatchApp) -> None:
    await app.order("fan", "fan back to the board", share=0.0, seconds=0)


async def end(app: WatchApp) -> None:
    cook = app.view.shot.cook if app.view.shot else None
    if cook is None:
        return
    words = "The fan goes off and the fire is left to burn out; the cook's log is closed."
    if await app.ask(Ask(f"End {cook.name}?", words, "end the cook", keys="e")):
        answer = await app.call("cook_end")
        if isinstance(answer, dict) and not answer.get("ok", True) and answer.get("words"):
            app.say(str(answer["words"]), "warning")


async def opened(app: WatchApp) -> None:
    await app.order("opened", "opened", seconds=0)


async def note(app: WatchApp) -> None:
    entries = [(kind, LETTERS.get(kind, "?"), KINDS[kind].words) for kind in LETTERS if kind in KINDS]
    kind = await app.ask(Menu("What was done?", entries))
    if kind:
        await note_of(app, kind)


async def note_of(app: WatchApp, kind: str) -> None:
    """Ask for piece, value, text and how long ago, as the kind needs them, then note it."""
    shot, known, units = app.view.shot, KINDS[kind], app.view.units
    if shot is None:
        return
    pieces = [p for p in shot.pieces if p.place != "carved"] or shot.pieces
    if known.needs_piece and not pieces:
        app.say(f"A {known.words} is about a piece: m adds one first.", "warning")
        return
    fields = []
    if known.value:
        degrees = known.value == "C"
        low, high = (shown(known.low, units), shown(known.high, units)) if degrees else (known.low, known.high)
        label = "reading" if degrees else known.value.split(",")[0]
        unit = units if degrees else "0 to 10" if kind == "shade" else known.value
        fields.append(
            Field("value", label if label != unit else "amount", "number", "", unit, low, high, not known.needs_value)
        )
    if known.texts:
        fields.append(
            Field("text", "how" if kind == "fuel_added" else "in", "choice", choices=[(t, t) for t in known.texts])
        )
    elif kind == "said":
        fields.append(Field("text", "words"))
    choices = [(str(p.id), p.name) for p in pieces]
    if not known.needs_piece:
        choices.insert(0, ("0", "the pit" if kind != "spritzed" else "all"))
    if len(choices) > 1:
        fields.append(Field("piece", "piece", "choice", _first_piece(app, kind), choices=choices))
    fields.append(Field("ago", "how long ago", "ago"))
    values = await app.ask(Form(known.words[:1].upper() + known.words[1:], "", fields))
    if values is None:
        return
    value = number(values.get("value", ""))
    if value is not None and known.value == "C":
        value = round(celsius(value, units), 2)
    await app.call("note", kind=kind, piece=int(values.get("piece", choices[0][0])), value=value,
                   text=values.get("text", "").strip(), at=shot.now - int(values["ago"]) * say.MINUTE)  # fmt: skip


def _first_piece(app: WatchApp, kind: str) -> str:
    """The piece a standing prompt is about, if any."""
    prompts = app.view.shot.prompts if app.view.shot else []
    return next((str(p.piece) for p in prompts if p.kind == kind and p.piece), "")


async def spritz(app: WatchApp) -> None:
    await note_of(app, "spritzed")


async def shade(app: WatchApp) -> None:
    await note_of(app, "shade")


async def wrap(app: WatchApp) -> None:
    await note_of(app, "wrapped")


async def pieces(app: WatchApp) -> None:
    shot = app.view.shot
    if shot is None:
        return
    entries = [
        (str(p.id), str(i), p.name + (f", {p.mass:g} kg" if p.mass else "")) for i, p in enumerate(shot.pieces, 1)
    ]
    chosen = await app.ask(Menu("Pieces of meat", [*entries, ("new", "n", "a new piece")]))
    if not chosen:
        return
    piece = next((p for p in shot.pieces if str(p.id) == chosen), None)
    used = {p.probe for p in shot.pieces if p is not piece}
    free = next((n for n in (1, 2, 3) if n not in used), 0)
    fields = [
        Field("name", "name", value=piece.name if piece else ""),
        Field("cut", "cut", value=piece.cut if piece else "", empty=True),
        Field("mass", "mass", "number", f"{piece.mass:g}" if piece and piece.mass else "", "kg", 0.1, 50, empty=True),
        Field("probe", "probe", "choice", str(piece.probe if piece else free),
              choices=[("0", "none"), ("1", "1"), ("2", "2"), ("3", "3")]),
    ]  # fmt: skip
    values = await app.ask(Form(piece.name if piece else "A new piece", "", fields))
    if values is None:
        return
    given: dict[str, Any] = {"name": values["name"].strip(), "cut": values["cut"].strip()}
    given.update(mass=number(values["mass"]), probe=int(values["probe"]))
    if piece:
        await app.call("piece_change", id=piece.id, **given)
    else:
        await app.call("piece_add", **given)


async def acknowledge(app: WatchApp) -> None:
    shot = app.view.shot
    alarm = next((a for a in shot.alarms if not a.acknowledged), None) if shot else None
    if alarm:
        await app.call("alarm_acknowledge", id=alarm.id)
    if app.view.cycle and app.view.cycle.trip:
        await app.order("acknowledge", "acknowledge the trip")
    elif not alarm:
        app.say("Every alarm is acknowledged already.")


async def shelve(app: WatchApp) -> None:
    shot = app.view.shot
    alarms = [a for a in shot.alarms if a.shelved <= shot.now] if shot else []
    if not alarms:
        app.say("Every alarm is shelved already.")
        return
    fields = [Field("minutes", "for", "number", "30", "min", 1, 480)]
    if len(alarms) > 1:
        fields.insert(0, Field("alarm", "alarm", "choice", choices=[(str(a.id), a.what) for a in alarms]))
    values = await app.ask(
        Form("Shelve the alarm", f"{alarms[0].what}. It comes back after that." if len(alarms) == 1 else "", fields)
    )
    if values:
        alarm = int(values.get("alarm", alarms[0].id))
        await app.call("alarm_shelve", id=alarm, minutes=int(number(values["minutes"]) or 0))


async def window(app: WatchApp) -> None:
    names = list(WINDOWS)
    app.look(window=names[(names.index(app.settings.window) + 1) % len(names)])


async def hour(app: WatchApp) -> None:
    app.look(window="1 h")


async def four(app: WatchApp) -> None:
    app.look(window="4 h")


async def all(app: WatchApp) -> None:
    app.look(window="all")


async def near(app: WatchApp) -> None:
    app.view.near = not app.view.near
    app.show()


async def detail(app: WatchApp) -> None:
    app.view.detail = not app.view.detail
    app.show()


async def units(app: WatchApp) -> None:
    app.look(units="C" if app.settings.units == "F" else "F")


async def colours(app: WatchApp) -> None:
    app.look(colours="light" if app.settings.colours == "dark" else "dark")


async def help(app: WatchApp) -> None:
    await app.ask(Help(app.keys))


async def palette(app: WatchApp) -> None:
    app.action_command_palette()


async def quit(app: WatchApp) -> None:
    words = app.leaving()
    if not words or await app.ask(Ask("Leave the screen?", words, "leave", keys=app.keys["quit"])):
        await app.leave(words)


HANDLERS: dict[str, Callable[[WatchApp], Awaitable[None]]] = {action.id: globals()[action.id] for action in ACTIONS}

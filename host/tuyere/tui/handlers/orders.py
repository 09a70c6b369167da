"""What each action does to the pit and the alarms: ask what must be asked, then call the engine.

One function an action, with its name. Notes are in `notes`, pieces in `pieces`, what is shown in `show`.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

from hearth.core.orders import NARROWEST
from hearth.link.messages import ORDERS

from tuyere.cook import places, say
from tuyere.cook.care import changes_ahead, inside
from tuyere.cook.faults import URGENT_SHELF
from tuyere.cook.snapshot import Piece, Snapshot
from tuyere.measures import TEMPERATURE, number
from tuyere.text import Span, as_said, text
from tuyere.tui.actions import ACTIONS
from tuyere.tui.face import Face
from tuyere.tui.handlers import called, chosen, notes, show, table
from tuyere.tui.handlers import pieces as pieces_asked
from tuyere.tui.handlers.programme import programme
from tuyere.tui.screens.ask import Ask, Menu
from tuyere.tui.screens.form import Field, Form, Values, measure

LEAST_BAND = NARROWEST / 100  # C between low and high, as the board requires
APART = Span(LEAST_BAND)


LOOKED = (
    "It must sit firmly at grate height, near the meat and clear of the pan. A probe that slipped reads cool, and the "
    "fan feeds a fire that is far too hot."
)
BESIDE = (
    "Hang a meat probe at grate height beside the pit probe until the meat goes on. The board compares the two: it "
    "says if the pit probe lies wrong."
)
COLD_C = 60.0
DOUBTED = " Until somebody has looked, the board holds the fire back."


async def start(app: Face) -> None:
    shot = app.view.shot
    if shot is None:
        return
    if shot.cook is None or shot.cook.ended:
        plan = shot.planned

        async def begin(values: Values) -> str:
            more = {"plan": True} if values.get("plan") == "plan" else {}
            return (await app.attempt("cook_start", name=values["name"].strip(), **more))[1]

        about = "The pit is held and everything is recorded under this name."
        fields = [Field("name", "name", value=plan.name if plan else f"Cook of {say.day(shot.now)}")]
        if plan:
            about += f" The plan has {', '.join(plan.pieces)} and its own programme."
            choices = [("plan", "of the plan"), ("", "none yet")]
            fields.append(Field("plan", "pieces", "choice", "plan", choices=choices))
        if await app.ask(Form("Begin a cook", about, fields, give=begin)) is None:
            return
    if shot.doubted and await app.ask(
        Ask("Have you looked at the pit probe?", LOOKED + DOUBTED, "I looked, it lies right")
    ):
        app.tell(await app.order("looked", "that you looked"))
    running = shot.cycle is not None and shot.cycle.state in ("climbing", "holding", "opened", "fading")
    trouble = await app.order("start", "start")
    app.say(trouble, "warning") if trouble else app.say("The pit is already being held." if running else "Started.")
    if not trouble and not running and _cold(shot):
        await witness(app)


async def looked(app: Face) -> None:
    words = LOOKED + (DOUBTED if app.view.shot and app.view.shot.doubted else "")
    if await app.ask(Ask("Say that you looked at the pit probe?", words, "I looked, it lies right")):
        app.tell(await app.order("looked", "that you looked"))


def _cold(shot: Snapshot) -> bool:
    """Whether the pit is only now lit, with no meat in it: then a second probe can still show where the first lies."""
    cycle = shot.cycle
    cold = cycle is not None and cycle.pit is not None and cycle.pit < COLD_C
    return cold and not (shot.cook and shot.cook.meat_on) and bool(_readable(shot))


def _readable(shot: Snapshot | None) -> list[int]:
    """The meat probes that give a reading."""
    meats = shot.cycle.meats if shot and shot.cycle else []
    return [i for i, value in enumerate(meats, 1) if value is not None]


async def witness(app: Face) -> None:
    """Ask which meat probe hangs beside the pit's."""
    shot = app.view.shot
    probes = _readable(shot)
    hung = shot.cycle.beside if shot and shot.cycle else 0
    entries = [(str(i), str(i), f"probe {i} hangs there") for i in probes]
    entries.append(("0", "n", "take it away again" if hung else "no, not this time"))
    if not probes and not hung:
        app.say("No meat probe gives a reading: plug one in first.", "warning")
        return
    chosen = await app.ask(Menu("A second probe beside the pit's?", entries, BESIDE))
    if chosen and (chosen != "0" or hung):
        app.tell(await app.order("witness", "a second probe beside the pit's", probe=int(chosen)))


async def stop(app: Face) -> None:
    words = f"The fan goes off and the fire dies down. Press {app.view.key('start')} to start again."
    shot = app.view.shot
    if shot and inside(shot.cook, shot.pieces):
        words += " There is meat in the pit: an alarm stands until it is hot again or elsewhere."
    if await app.ask(Ask("Stop the pit?", words, "fan off", keys=app.keys["stop"])):
        app.tell(await app.order("stop", "fan off"))


async def band(app: Face) -> None:
    cycle, units = app.view.cycle, app.view.units
    low, high = (cycle.low, cycle.high) if cycle else (121.1, 135.0)
    limits = {name: (least / 100, most / 100) for name, least, most in ORDERS["band"][1]}

    fields = [
        measure(name, words, value, TEMPERATURE, units, low=limits[name][0], high=limits[name][1])
        for name, words, value in (("low", "band from", low), ("high", "band to", high))
    ]

    def wanted(values: Values) -> tuple[float, float]:
        return fields[0].read(values["low"]) or 0.0, fields[1].read(values["high"]) or 0.0

    def apart(values: Values) -> str:
        a, b = wanted(values)
        if b - a < LEAST_BAND:
            least = text("The top of the band must be above the bottom by {span} at least: change one.", span=APART)
            return app.view.said(least)
        return ""

    async def give(values: Values) -> str:
        a, b = wanted(values)
        return await app.order("band", f"band {app.view.band(a, b)}", low=a, high=b)

    about = "The pit is held between these. It counts once the board has taken it."
    await app.ask(Form("Change the band", about, fields, apart, give))


async def phase(app: Face) -> None:
    shot, cycle = app.view.shot, app.view.cycle
    if shot is None or cycle is None:
        return
    row = cycle.phase + 1
    if not shot.phases or cycle.phase >= len(shot.phases):
        app.say("There is no next phase in the programme.", "warning")
        return
    if row < len(shot.phases) and not changes_ahead(shot.phases, cycle):
        app.say(
            f"No phase ahead has another band: going on changes nothing. {app.view.key('programme')} shows them all."
        )
        return
    if row < len(shot.phases):
        new = shot.phases[row]
        there, title = app.view.band(new.low, new.high), f"Go on to {new.name}?"
        words = f"The band {'stays' if there == app.view.band(cycle.low, cycle.high) else 'becomes'} {there}."
    else:
        words, title = "The fan goes off for good and the fire is left to burn out.", "End the programme?"
    if await app.ask(Ask(title, words, "go on", keys=app.keys["phase"])):
        app.tell(await app.order("phase", "next phase", row=row))


async def fan(app: Face) -> None:
    most = app.view.shot.hand_most / 60 if app.view.shot else 15.0
    now = round((app.view.cycle.fan if app.view.cycle else 0.0) * 100)
    fields = [
        Field("percent", "fan", "number", str(now), "%", low=0, high=100),
        Field("minutes", "for", "number", f"{min(5.0, most):g}", "min", low=min(1.0, most), high=most),
    ]

    async def give(values: Values) -> str:
        percent, minutes = number(values["percent"]) or 0.0, number(values["minutes"]) or 0.0
        words = f"fan {percent:.0f} % for {minutes:g} min"
        return await app.order("fan", words, share=round(percent / 100, 4), seconds=round(minutes * 60))

    about = f"For {most:g} min at most; then the board takes the fan back and goes on with what it knew before."
    await app.ask(Form("Fan by hand", about, fields, give=give))


async def back(app: Face) -> None:
    app.tell(await app.order("fan", "fan back to the board", share=0.0, seconds=0))


async def end(app: Face) -> None:
    cook = app.view.shot.cook if app.view.shot else None
    if cook is None:
        return
    words = "The fan goes off and the fire is left to burn out; the cook's log is closed."
    words += _left(app.view.shot.pieces if app.view.shot else [])
    if await app.ask(Ask(f"End {cook.name}?", words, "end the cook", keys=app.keys["end"])):
        app.tell((await app.attempt("cook_end"))[1])


def _left(pieces: list[Piece]) -> str:
    """The pieces that are not carved yet, which the end of the cook would drop."""
    left = [f"{piece.name} {places.WORDS[piece.place]}" for piece in pieces if piece.place not in places.GONE]
    if not left:
        return ""
    return f" Not carved yet: {', '.join(left)}. What is said of holding, reheating and carving ends with the cook."


async def opened(app: Face) -> None:
    app.tell(await app.order("opened", "opened", seconds=0))


async def acknowledge(app: Face) -> None:
    """The engine orders the board to acknowledge when the alarm is its trip. Only a trip whose alarm is seen already,
    because the board did not let it go the first time, is asked for here."""
    alarm = next((a for a in [*app.view.alarms, *app.view.shelved] if not a.acknowledged), None)
    if alarm:
        answer, trouble = await app.attempt("alarm_acknowledge", id=alarm.id)
        app.tell(trouble)
        if not trouble and isinstance(answer, dict) and answer.get("words"):
            app.say(app.view.said(as_said(answer["words"])))
    elif app.view.cycle and app.view.cycle.trip:
        app.tell(await app.order("acknowledge", "acknowledge the trip"))
    else:
        app.say("Every alarm is acknowledged already.")


async def shelve(app: Face) -> None:
    alarms = app.view.alarms
    if not alarms:
        app.say("Every alarm is shelved already.")
        return
    alarm = alarms[0]
    if len(alarms) > 1:
        entries = [(str(a.id), str(i), app.view.said(a.what)) for i, a in enumerate(alarms, 1)]
        chosen = await app.ask(Menu("Shelve which alarm?", entries))
        if not chosen:
            return
        alarm = next(a for a in alarms if str(a.id) == chosen)

    urgent = alarm.level == "urgent"

    async def give(values: Values) -> str:
        minutes = int(number(values["minutes"]) or 0)
        return (await app.attempt("alarm_shelve", id=alarm.id, minutes=minutes))[1]

    fields = [Field("minutes", "for", "number", "30", "min", low=1, high=URGENT_SHELF if urgent else 480)]
    await app.ask(
        Form("Shelve the alarm", f"{app.view.said(alarm.what)}. It comes back after that.", fields, give=give)
    )


__all__ = ["programme"]  # by its name in `_function`


def _function(name: str) -> Callable[[Face], Awaitable[None]]:
    rooms = (show, notes, pieces_asked, called, chosen, table)
    here: dict[str, Any] = {name: one for room in rooms for name, one in vars(room).items()} | globals()
    found: Callable[[Face], Awaitable[None]] = here[name]
    return found


HANDLERS = {action.id: _function(action.id) for action in ACTIONS}

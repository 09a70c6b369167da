"""The one registry of what a person can do on the watch screen.

Key bindings, the keymap a person may change, the palette, the help page and the footer are all
made from it. Keys are letters, digits, arrows, enter, space and F-keys only: terminals steal the others.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from tuyere.cook.snapshot import Cycle, Event, Snapshot

PIT, HANDS, ALARMS, SIGHT, SCREEN = "The pit", "The hands", "Alarms", "What is shown", "This screen"


class Seen(Protocol):
    """What decides whether an action applies; see `view.View`."""

    where: str

    @property
    def shot(self) -> Snapshot | None:
        """The newest snapshot."""

    @property
    def cycle(self) -> Cycle | None:
        """Its cycle."""

    @property
    def last_note(self) -> Event | None:
        """The note that can be taken back."""


def always(view: Seen) -> bool:
    return True


def linked(view: Seen) -> bool:
    return view.where == "open" and view.shot is not None


def ended(view: Seen) -> bool:
    return view.where == "ended"


def running(view: Seen) -> bool:
    return linked(view) and view.cycle is not None and view.cycle.state != "off"


def cooking(view: Seen) -> bool:
    return linked(view) and view.shot is not None and view.shot.cook is not None and not view.shot.cook.ended


def alarmed(view: Seen) -> bool:
    return linked(view) and view.shot is not None and bool(view.shot.alarms or (view.cycle and view.cycle.trip))


def called(view: Seen) -> bool:
    return linked(view) and view.shot is not None and view.shot.waking.calling


def waking(view: Seen) -> bool:
    return linked(view) and view.shot is not None and view.shot.waking.asked


def noted(view: Seen) -> bool:
    return cooking(view) and view.last_note is not None


def by_hand(view: Seen) -> bool:
    return linked(view) and view.cycle is not None and view.cycle.state == "manual"


@dataclass(frozen=True)
class Action:
    """One thing to do. `id` is its lasting name, `words` its label, `help` a sentence; `when` says if it applies."""

    id: str
    keys: str  # comma separated, as Textual names keys
    words: str
    help: str
    group: str
    when: Callable[[Seen], bool] = always
    unfit: str = ""  # what to say when it does not apply, keys of others by their id in braces; else there is no engine
    footer: str = ""  # a short label; empty keeps it out of the footer


NO_COOK = "There is no cook yet: {start} starts one."
NO_ENGINE = "There is no engine to ask yet; it is being looked for."
ENDED = "The engine was ended on purpose: {engine} starts it again."
NOT_RUNNING = "The pit is not being held: {start} starts it."
NO_ALARM = "No alarm stands."
NO_CALL = "Nobody is being called."
NO_NIGHT = (
    "No cook is open that calls anybody: {start} starts one. A simulated cook calls only in practice: "
    "`tuyere watch --trouble list`."
)

ACTIONS = (
    Action("start", "s", "start", "Hold the band from here on; begins a cook if there is none.", PIT, linked),
    Action("stop", "x", "stop", "Fan off. Asks first.", PIT, running, NOT_RUNNING),
    Action("band", "b", "change the band", "Ask the board for another band.", PIT, linked, footer="band"),
    Action(
        "phase", "p", "next phase", "Go on to the next phase of the programme. Asks first.", PIT, running, NOT_RUNNING
    ),
    Action(
        "programme", "f4", "the programme",
        "Its phases: band, end, what each is for. Change them, take a kept programme, go to a phase.", PIT, linked,
    ),
    Action("fan", "f", "fan by hand", "Set the fan for some minutes; then the board takes it back.", PIT, linked),
    Action(
        "back", "g", "give the fan back", "End the fan by hand; the board goes on with what it knew.", PIT, by_hand,
        "The fan is not set by hand.",
    ),
    Action(
        "end", "e", "end the cook", "Fan off, the fire is left to die, the log is closed. Asks first.", PIT, cooking,
        NO_COOK,
    ),
    Action(
        "opened", "o", "opened", "Tell the board that the lid is open: the fan then ignores the fall.", HANDS, running,
        NOT_RUNNING, footer="opened",
    ),
    Action(
        "looked", "f3", "looked at the pit probe",
        "Tell the board that you looked at the pit probe and it lies right. Asks first.", HANDS, linked,
    ),
    Action(
        "witness", "f6", "second probe at the grate",
        "Say that a meat probe hangs beside the pit's, to be compared with it.", HANDS, running, NOT_RUNNING,
    ),
    Action(
        "note", "n", "note something", "Note what was done, now or some minutes ago.", HANDS, cooking, NO_COOK,
        footer="note",
    ),
    Action("spritz", "z", "spritzed", "Note a spritz.", HANDS, cooking, NO_COOK),
    Action(
        "shade", "k", "shade of the bark", "Note how dark a piece's bark is, 0 raw to 10 black.", HANDS, cooking,
        NO_COOK,
    ),
    Action("wrap", "w", "wrapped", "Note that a piece was wrapped.", HANDS, cooking, NO_COOK),
    Action(
        "undo", "t", "take back a note", "Take back the note made last. Shows it and asks first.", HANDS, noted,
        "Nothing has been noted yet.",
    ),
    Action("pieces", "m", "pieces of meat", "Add a piece of meat or change one.", HANDS, cooking, NO_COOK),
    Action(
        "piece", "j", "details of a piece", "Thickness, start, whole or not, target, wanted shade, wrap.", HANDS,
        cooking, NO_COOK,
    ),
    Action(
        "kitchen", "y", "cooker and hot hold", "What a forecast must know of the cook beside its meat.", HANDS,
        cooking, NO_COOK,
    ),
    Action(
        "acknowledge", "a", "acknowledge", "Say that a person has seen the alarm; never restarts the fan.", ALARMS,
        alarmed, NO_ALARM, footer="acknowledge",
    ),
    Action("shelve", "l", "shelve", "Put the alarm aside for some minutes.", ALARMS, alarmed, NO_ALARM),
    Action(
        "awake", "space", "I'm awake", "Silence the calls for a quarter of an hour; acknowledges nothing.", ALARMS,
        called, NO_CALL,
    ),
    Action(
        "wake", "f7", "test that a call wakes you",
        "Have yourself called in two minutes, then type the digits it brings. Without it nobody would be woken.",
        ALARMS, waking, NO_NIGHT,
    ),
    Action(
        "do_next", "enter", "note what is next", "Note the chosen thing to do, or the first one.", HANDS, linked,
    ),
    Action("choose_next", "down", "choose the next thing to do", "Move the choice in the list of things to do.", HANDS,
           linked),
    Action("choose_before", "up", "choose the one before", "Move the choice back.", HANDS, linked),
    Action(
        "serving", "f8", "serving time", "Set or move the serving time; then what helps, each choice with its odds.",
        HANDS, cooking, NO_COOK,
    ),
    Action("summary", "f9", "the cook summed up", "Times, yield, band, and how the forecasts went.", SIGHT, linked),
    Action("bell", "h", "bell on or off", "The terminal's bell for urgent alarms; remembered.", ALARMS),
    Action(
        "read", "r", "read in full", "All words in full: how it stands, alarms, hands, pieces, notes.", SIGHT,
        footer="read",
    ),
    Action("window", "v", "view: 1 h, 4 h, all", "How much of the cook the trend shows.", SIGHT, footer="view"),
    Action("hour", "1", "last hour", "Trend of the last hour.", SIGHT),
    Action("four", "4", "last 4 hours", "Trend of the last four hours.", SIGHT),
    Action("all", "0", "whole cook", "Trend of the whole cook.", SIGHT),
    Action("near", "i", "near the band", "Show only what is near the band, large; again for everything.", SIGHT),
    Action(
        "detail", "d", "detail", "The parts of the fan demand, the link, and what was noted.", SIGHT, footer="detail"
    ),
    Action("units", "u", "F or C", "Degrees Fahrenheit or Celsius; remembered.", SIGHT),
    Action("colours", "c", "dark or light", "Colours for a dark or a light terminal; remembered.", SIGHT),
    Action("help", "question_mark,f1", "help", "All keys, and what the marks mean.", SCREEN, footer="help"),
    Action("palette", "f2", "all commands", "Find a command by its words.", SCREEN),
    Action(
        "engine", "f5", "start the engine", "Start the engine again after somebody ended it.", SCREEN, ended,
        "The engine runs.",
    ),
    Action("quit", "q", "quit", "Leave the screen; says what goes on without it.", SCREEN, footer="quit"),
)  # fmt: skip

BY_ID = {action.id: action for action in ACTIONS}

NIGHT = "The past night"
# What a person can do while a past night is shown. None of it reaches an engine or a board.
PAST = (
    Action("pause", "space", "pause or go on", "Stop the night, or let it go on; at its end it begins again.", NIGHT,
           footer="pause"),
    Action("next_mark", "n", "next event", "Go to the next thing that happened: an event, an alarm. Stops there.",
           NIGHT, footer="next"),
    Action("last_mark", "p", "event before", "Go back to the thing that happened before. Stops there.", NIGHT),
    Action("go_to", "g", "go to a time", "Go to a time of the night.", NIGHT, footer="go to"),
    Action("faster", "plus", "faster", "More of the night in a second.", NIGHT, footer="faster"),
    Action("slower", "minus", "slower", "Less of the night in a second.", NIGHT, footer="slower"),
    Action("cycle_on", "right", "a cycle on", "The next record of the board. Stops there.", NIGHT),
    Action("cycle_back", "left", "a cycle back", "The record before. Stops there.", NIGHT),
    Action("minutes_on", "up", "ten minutes on", "Go ten minutes on.", NIGHT),
    Action("minutes_back", "down", "ten minutes back", "Go ten minutes back.", NIGHT),
    Action("to_begin", "home", "to the beginning", "Go to the first record.", NIGHT),
    Action("to_end", "end", "to the end", "Go to the last record.", NIGHT),
    *(replace(action, footer="") for action in ACTIONS if action.group == SIGHT and action.id != "summary"),
    *(action for action in ACTIONS if action.id in ("help", "palette", "quit")),
)  # fmt: skip


def keymap(changed: dict[str, str], registry: Sequence[Action] = ACTIONS) -> tuple[dict[str, str], list[str]]:
    """Keys by action id with a person's changes, and a sentence for each change that was refused. Changes for the
    live screen are no concern of another `registry`."""
    keys = {action.id: action.keys for action in registry}
    trouble = []
    for name, key in changed.items():
        if name not in keys and name in BY_ID:
            continue
        if name not in keys:
            trouble.append(f"There is no action {name!r} to put on a key; see the help page for the names.")
            continue
        wanted = {k.strip() for k in key.split(",")}
        other = next((a for a, k in keys.items() if a != name and wanted & set(k.split(","))), None)
        if other:
            trouble.append(f"Key {key!r} for {name} is already that of {other}; it was left out.")
            continue
        keys[name] = key
    return keys, trouble


def key_words(keys: str) -> str:
    """'question_mark,f1' -> '? F1'."""
    known = {"question_mark": "?", "plus": "+", "minus": "-"}
    return " ".join(known.get(k, k.upper() if k[:1] == "f" and k[1:].isdigit() else k) for k in keys.split(","))

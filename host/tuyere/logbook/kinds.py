"""The events a cook's log may hold, and what each one may carry. Ranges of values are common practice, no source.

`KINDS` are those a person can note; `BOARD_KINDS` are read from the board's records, or told by the engine.
"""

from __future__ import annotations

from msgspec import Struct

from tuyere.logbook.errors import BadEntry
from tuyere.text import Mass, Said, Temperature, Value
from tuyere.text import text as text_of


class Kind(Struct, frozen=True):
    """One kind of event: its words, the label of its value ("" if it has none) and the value's range."""

    words: str
    value: str = ""
    low: float = 0.0
    high: float = 0.0
    needs_piece: bool = False
    needs_value: bool = False
    whole: bool = False
    texts: tuple[str, ...] = ()  # the texts it may carry; empty means any


OVEN_HOLDS = (60.0, 120.0)  # C: a cooler oven keeps nothing above a hot-hold limit, a hotter one goes on cooking

KINDS: dict[str, Kind] = {
    "meat_on": Kind("meat on"),
    "moved": Kind("moved in the pit", needs_piece=True),
    "probe_seated": Kind("probe seated or moved"),
    "pan_filled": Kind("water pan filled"),
    "fuel_added": Kind("fuel added", "kg", 0.0, 50.0, texts=("lit", "unlit")),
    "fuel_looked": Kind("fuel looked at, enough"),
    "ash_knocked": Kind("ash knocked off"),
    "wood_added": Kind("wood added"),
    "opened": Kind("opened"),
    "spritzed": Kind("spritzed"),
    "shade": Kind(
        "shade of the bark", "shade, 0 raw to 10 black", 0.0, 10.0, needs_piece=True, needs_value=True, whole=True
    ),
    "wrapped": Kind("wrapped", needs_piece=True, texts=("paper", "foil", "other")),
    "out": Kind("out of the pit", needs_piece=True),
    "tender": Kind("felt for tenderness", needs_piece=True, texts=("tender", "not yet")),
    "in_oven": Kind("into the oven to finish", needs_piece=True),
    "hold_pit": Kind("held hot in the pit", needs_piece=True),
    "hold_oven": Kind(
        "into an oven to hold",
        "C, as the oven is set",
        OVEN_HOLDS[0],
        OVEN_HOLDS[1],
        needs_piece=True,
        needs_value=True,
    ),
    "in_box": Kind("into the box", needs_piece=True),
    "cooling": Kind("set out to cool", needs_piece=True),
    "in_fridge": Kind("into the fridge", needs_piece=True),
    "divided": Kind("divided", "kg of the new piece", 0.05, 30.0, needs_piece=True),
    "carved": Kind("carved", "kg of carved meat", 0.05, 30.0, needs_piece=True),
    "thrown_away": Kind("thrown away", needs_piece=True),
    "hand_reading": Kind("reading by hand", "C", -20.0, 150.0, needs_piece=True, needs_value=True),
    "said": Kind("note"),
}

BOARD_KINDS: dict[str, Kind] = {
    "started": Kind("started, holding the band"),
    "stopped": Kind("stopped, fan off"),
    "band_changed": Kind("band changed"),
    "phase_changed": Kind("phase changed", "row", 0.0, 8.0),
    "programme_set": Kind("programme set"),
    "phase_follows": Kind("the phase follows another probe"),
    "opened_told": Kind("opened, as told"),
    "looked": Kind("somebody looked at the pit probe"),
    "meat_told": Kind("the board knows of cold meat that went on"),
    "meat_explains": Kind("cold meat explains the pit's reading: the doubt is over"),
    "witness_hung": Kind("a second probe hangs beside the pit's"),
    "witness_agrees": Kind("the second probe agrees with the pit's"),
    "witness_pit_low": Kind("the pit probe reads less than the second one"),
    "witness_low": Kind("the second probe reads less than the pit's"),
    "opened_felt": Kind("opened, felt from the fall of the pit"),
    "fan_by_hand": Kind("fan by hand"),
    "fan_given_back": Kind("fan given back to the board"),
    "tripped": Kind("tripped, fan off"),
    "trip_acknowledged": Kind("trip acknowledged"),
    "learned": Kind("the board learned of its fire"),
    "forgot": Kind("what the board learned is forgotten"),
    "settings_changed": Kind("settings changed"),
    "board_restarted": Kind("the board restarted"),
    "resumed": Kind("after its restart the board went on by itself"),
    "not_resumed": Kind("after its restart the board left the fan off"),
    "plan_taken": Kind("taken from the plan"),
    "serving_moved": Kind("serving time set"),
    "told_again": Kind("told again after a restart"),
    "called_silent": Kind("the board's buzzer called: nothing had come from this computer for some minutes"),
    "called_unheard": Kind("the board's buzzer called: no route had accepted a call"),
    "board_says": Kind("the board says"),
    "logbook_set_aside": Kind("a damaged logbook was set aside, and this cook carried on in a new one"),
    "clock_changed": Kind("the computer's clock was changed"),
    "clock_doubtful": Kind("the computer's clock was put back while nobody looked"),
}

# Of `KINDS`, those that a twin's hands do: in every cook, and in that of a plan.
TWIN_ALWAYS = ("meat_on", "out", "spritzed", "wrapped")
TWIN_KINDS = (*TWIN_ALWAYS, "pan_filled", "fuel_added")

PLACES = ("pit", "oven", "box", "out", "cooling", "fridge", "carved", "thrown")  # held in pit or oven: `PieceRow.held`
WRAPS = ("", "paper", "foil", "other")
PLANNED_WRAPS = ("", "paper", "foil")
FORECASTS = ("finish", "wrap", "hold", "fuel")  # a wrap's three times are its window and the best in it
LEVELS = ("urgent", "warning")

# Steps in the life of a call, and what the log says of each.
CALL_STEPS = {
    "raised": "call raised",
    "sending": "being sent",
    "accepted": "accepted by the service",
    "failed": "not sent",
    "escalated": "nobody answered: goes to the next route",
    "unheard": "no route has accepted it: the bell and the board's buzzer call",
    "silenced": "a person is awake: silent for a while",
    "acknowledged": "acknowledged",
    "again": "acknowledged, and the cause is unchanged: calls again",
    "over": "the cause is gone",
    "asked": "a test was asked for",
    "confirmed": "a person typed the digits and said that it sounded",
    "denied": "the test did not count",
}


def check_event(kind: str, piece: int, value: float | None, text: str) -> None:
    """Raise BadEntry unless this event can be noted."""
    known = KINDS.get(kind)
    if known is None:
        raise BadEntry(f'there is no event "{kind}"; the events are {", ".join(KINDS)}')
    if known.needs_piece and not piece:
        raise BadEntry(f'"{known.words}" is about a piece: say which')
    if value is None:
        if known.needs_value:
            raise BadEntry(
                text_of('"{words}" needs a value: {allowed}', words=known.words, allowed=_range(kind, known))
            )
    elif not known.value:
        raise BadEntry(f'"{known.words}" takes no value: leave {value:g} out')
    elif not known.low <= value <= known.high:  # refuses NaN too
        raise BadEntry(
            text_of(
                '"{words}" {value} is out of range: {allowed}',
                words=known.words, value=measure(kind, value), allowed=_range(kind, known),
            )
        )  # fmt: skip
    elif known.whole and value != int(value):
        raise BadEntry(
            text_of(
                '"{words}" {value} is not whole: {allowed}',
                words=known.words, value=f"{value:g}", allowed=_range(kind, known),
            )
        )  # fmt: skip
    if known.texts and text and text not in known.texts:
        raise BadEntry(f'"{known.words}" does not take "{text}": say {" or ".join(known.texts)}, or nothing')


def _range(kind: str, known: Kind) -> Said:
    """'give a whole number from 0 to 10 (shade, 0 raw to 10 black)', 'give -20 C to 150 C'."""
    if not isinstance(measure(kind, known.low), str):
        return text_of("give {low} to {high}", low=measure(kind, known.low), high=measure(kind, known.high))
    return f"give a {'whole ' * known.whole}number from {known.low:g} to {known.high:g} ({known.value})"


def measure(kind: str, value: float) -> Value:
    """The value of an event with its unit, for a reader of any units."""
    unit = KINDS[kind].value.split(",")[0].split()[0]
    if unit == "C":
        return Temperature(value, 0 if float(value).is_integer() else 1)
    return Mass(value) if unit == "kg" else f"{value:g}"


def words(kind: str) -> str:
    """The words for a kind of event, noted by a person or read from the board."""
    known = KINDS.get(kind) or BOARD_KINDS.get(kind)
    return known.words if known else kind.replace("_", " ")

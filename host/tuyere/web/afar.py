"""What may be done from the page. It is a closed list: all else is for a person at the pit.

Nothing here counts as having looked at the pit. A doubt stands until somebody looks, and a trip until somebody at the
pit acknowledges it. A higher band is refused while a doubt or an urgent alarm stands, or the pit is not live.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

import msgspec
from hearth.link.messages import ORDERS
from msgspec import Struct

from tuyere import measures
from tuyere.cook import say
from tuyere.cook.faults import RESUMED, URGENT
from tuyere.cook.snapshot import Snapshot
from tuyere.logbook.kinds import KINDS
from tuyere.measures import TEMPERATURE, Quantity
from tuyere.printable import printable
from tuyere.text import Said, as_said, text

Call = Callable[..., Awaitable[Any]]
# A division needs both pieces on the table, and their masses. A look at the fuel counts as a look at the pit.
NOTES = tuple(kind for kind in KINDS if kind not in ("divided", "fuel_looked"))
QUANTITIES = {"kg": measures.MASS, "C": TEMPERATURE}  # by the unit of a kind's value; a shade has none
LONGEST_AGO = 24 * 60  # min
LONGEST = 300  # letters of a note
SAME = 0.006  # C; the board keeps hundredths
TRIP = "trip_"
AT_THE_PIT = "That is for a person at the pit, on its screen."
LOOK_ONLY = "This device may only look."


class NotFromAfar(Exception):
    """It was not done; `said` is why."""

    def __init__(self, said: Said) -> None:
        super().__init__(str(said))
        self.said = said


class Wanted(Struct, forbid_unknown_fields=True):
    """What a device asks for. Measures are as they were typed, in `units` where they have none."""

    do: str
    units: str = "F"
    kind: str = ""  # of a note
    piece: int = 0
    value: str = ""
    words: str = ""
    ago: int = 0  # min
    low: str = ""  # of a band
    high: str = ""
    alarm: int = 0
    note: int = 0  # to take back


def read(body: bytes) -> Wanted:
    """From JSON. NotFromAfar if it is none of that shape."""
    try:
        return msgspec.json.decode(body, type=Wanted)
    except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
        raise NotFromAfar("The page and the program do not fit: load the page again.") from None


async def do(wanted: Wanted, call: Call, *, look: bool) -> Said:
    """Do it: what has then been done, in a sentence. `call` asks the engine. NotFromAfar if it may not be done."""
    if look:
        raise NotFromAfar(LOOK_ONLY)
    if wanted.do == "awake":
        return _words(await call("awake"))
    if wanted.do == "opened":
        return _words(await call("order", name="opened", seconds=0))
    if wanted.do == "stop":
        return _words(await call("order", name="stop"))
    if wanted.do not in ("note", "undo", "band", "seen"):
        raise NotFromAfar(AT_THE_PIT)
    shot = msgspec.convert(await call("snapshot"), Snapshot)  # as it stands now, not as the device saw it
    if wanted.do == "note":
        return await _note(wanted, shot, call)
    if wanted.do == "undo":
        return _words(await call("note_undo", id=wanted.note))
    if wanted.do == "band":
        return await _band(wanted, shot, call)
    return await _seen(wanted, shot, call)


def _words(answer: Any) -> Said:
    """The engine's own sentence; NotFromAfar if it says no."""
    said = as_said(answer.get("words") or "Done.") if isinstance(answer, dict) else "Done."
    if isinstance(answer, dict) and answer.get("ok") is False:
        raise NotFromAfar(said)
    return said


def quantity(kind: str) -> Quantity | None:
    """In what a note's value is measured; None for a bare number."""
    return QUANTITIES.get(KINDS[kind].value.split(",")[0].split(" ")[0])


async def _note(wanted: Wanted, shot: Snapshot, call: Call) -> Said:
    if wanted.kind not in NOTES:
        raise NotFromAfar(AT_THE_PIT)
    known = KINDS[wanted.kind]
    value = None
    if known.value and wanted.value.strip():
        measured = quantity(wanted.kind)
        value = measures.number(wanted.value) if measured is None else measures.read(
            wanted.value, measured, wanted.units
        )  # fmt: skip
        if value is None:
            raise NotFromAfar(f"{wanted.value[:40]!r} cannot be read: give a number, with its unit if you like.")
    if not 0 <= wanted.ago <= LONGEST_AGO:
        raise NotFromAfar("A note can be dated back by a day at most.")
    words = printable(" ".join(wanted.words.split()))[:LONGEST]
    if wanted.kind == "said" and not words:
        raise NotFromAfar("A note needs words.")
    await call(
        "note", kind=wanted.kind, piece=wanted.piece, value=value, text=words,
        at=shot.now - wanted.ago * say.MINUTE,
    )  # fmt: skip
    return "Noted." if wanted.kind == "said" else f"Noted: {known.words}."


async def _band(wanted: Wanted, shot: Snapshot, call: Call) -> Said:
    ends = [measures.read(typed, TEMPERATURE, wanted.units) for typed in (wanted.low, wanted.high)]
    if ends[0] is None or ends[1] is None:
        raise NotFromAfar("A band has two temperatures: from and to.")
    low, high = (round(end, 2) for end in ends if end is not None)
    limits = ORDERS["band"][1]
    for (name, least, most), given in zip(limits, (low, high), strict=False):
        if not least <= given * 100 <= most:
            ends_at = text("{low} to {high}", low=TEMPERATURE.said(least / 100), high=TEMPERATURE.said(most / 100))
            raise NotFromAfar(text("The {name} end of the band may be {range}.", name=name, range=ends_at))
    if trouble := not_higher(shot, low, high):
        raise NotFromAfar(trouble)
    return _words(await call("order", name="band", low=low, high=high))


def not_higher(shot: Snapshot, low: float, high: float) -> Said:
    """Why the band may not be moved there from afar, "" if it may."""
    cycle = shot.cycle
    if cycle is not None and low <= cycle.low + SAME and high <= cycle.high + SAME:
        return ""
    if cycle is None or shot.stale or shot.link.state != "open":
        return "Not higher: how the pit stands is not known just now. A lower band is taken."
    if shot.doubted or cycle.reason in ("probe_doubted", "still_open"):
        return "Not higher: the pit probe is in doubt until somebody has looked at it. A lower band is taken."
    if cycle.trip or any(a.level == URGENT and not a.cleared for a in shot.alarms):
        return "Not higher while an urgent alarm stands. A lower band is taken."
    return ""


def may_see(code: str) -> bool:
    """Whether an alarm of this cause may be acknowledged from afar: not where the board would take it as an answer."""
    return not code.startswith((TRIP, RESUMED.code))


async def _seen(wanted: Wanted, shot: Snapshot, call: Call) -> Said:
    alarm = next((one for one in shot.alarms if one.id == wanted.alarm and not one.cleared), None)
    if alarm is None:
        raise NotFromAfar("That alarm stands no more.")
    if not may_see(alarm.code):
        raise NotFromAfar(
            'A trip is acknowledged at the pit, by who has looked at the fire. "I\'m awake" silences the calls.'
        )
    return _words(await call("alarm_acknowledge", id=alarm.id))

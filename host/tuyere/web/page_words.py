"""Everything the page shows, in the words of one reader: plain data whose parts the browser puts in as text.

Parts are sent apart: a browser gets again only what has changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tuyere.cook import ahead, in_short, places, say, woken
from tuyere.cook.faults import URGENT
from tuyere.cook.food_safety import COOKING, HOT
from tuyere.cook.onlooker import Onlooker
from tuyere.cook.snapshot import Alarm, Piece, Prompt
from tuyere.cook.standing import headline
from tuyere.logbook.kinds import KINDS
from tuyere.measures import TEMPERATURE, percent
from tuyere.text import Range, Reader, render
from tuyere.web import afar

# What the engine's sentences name by a key of the screen: a button here, or the screen at the pit.
AT_THE_PIT = {
    "start": "s", "back": "g", "looked": "F3", "wake": "F7", "end": "e", "serving": "F8", "phase": "p",
    "acknowledge": "a", "engine": "F5",
}  # fmt: skip
BUTTONS = {"awake": "I'm awake", "note": "Note", "stop": "Stop", "summary": "the report"}
KEYS = tuple({**{name: f"{key} on the screen at the pit" for name, key in AT_THE_PIT.items()}, **BUTTONS}.items())
NONE_STARTED = "If none runs, start one on the computer at the pit: `tuyere watch`, or `tuyere keep`."
FINE = ("", COOKING, HOT)  # verdicts of food safety that ask for nothing
NOTED = 8  # newest events shown


@dataclass
class PageView(Onlooker):
    """An onlooker with a browser. look: the device may do nothing."""

    look: bool = False

    @property
    def reader(self) -> Reader:
        return Reader(self.units, self.zone, now=self.now, keys=KEYS)


def parts(view: PageView) -> dict[str, Any]:
    """Each part of the page by its name."""
    with say.in_zone(view.zone):
        return {
            "head": _head(view),
            "top": _top(view),
            "pit": _pit(view),
            "alarms": [_alarm(view, alarm) for alarm in [*view.alarms, *view.shelved]],
            "next": [_prompt(view, prompt) for prompt in (view.shot.prompts if view.shot else [])],
            "idle": in_short.idle(view),
            "pieces": [_piece(view, piece) for piece in (view.shot.pieces if view.shot else [])],
            "noted": _noted(view),
            "may": _may(view),
        }


def fresh(view: PageView) -> dict[str, Any]:
    """How old all that is: it goes with every message, and the browser counts on. live: it is of now; at: when the
    newest cycle was made, UTC ms."""
    return {
        "age": None if view.age is None else round(view.age, 1),
        "live": view.live,
        "at": view.cycle.at if view.cycle else 0,
    }


def _head(view: PageView) -> dict[str, Any]:
    words = [word[:1].upper() + word[1:] for word in headline(view) if word]
    if view.where == "looking" and not view.trouble:
        words[1:] = [NONE_STARTED]
    calm = view.live or view.where == "looking" or view.shot is None
    tone = "" if calm and not (view.cycle and view.cycle.trip) else "hand"
    if any(a.level == URGENT and not a.acknowledged for a in view.alarms):
        tone = "urgent"
    asleep = view.said(woken.why(view.shot.waking)) if view.shot else ""
    return {"words": words, "tone": tone, "asleep": asleep}


def _top(view: PageView) -> dict[str, Any]:
    shot = view.shot
    if shot is None:
        return {"cook": "", "clock": "--:--", "link": in_short.link_words(view)}
    cook = ""
    if shot.cook:
        end = ", ended" if shot.cook.ended else ""
        cook = f"{shot.cook.name}, {say.hours((shot.cook.ended or shot.now) - shot.cook.started)}{end}"
    found: dict[str, Any] = {"cook": cook, "clock": say.clock(shot.now), "link": in_short.link_words(view, brief=True)}
    if shot.serving.at:
        found["serving"] = view.said(shot.serving.words)
        found["late"] = shot.serving.late
    return found


def _pit(view: PageView) -> dict[str, Any]:
    cycle, shot = view.cycle, view.shot
    if cycle is None or shot is None:
        return {}
    found: dict[str, Any] = {
        "reading": view.degrees(cycle.pit) if cycle.pit is not None else "no reading",
        "band": view.band(cycle.low, cycle.high),
        "low": f"{TEMPERATURE.number(cycle.low, view.units):.0f}",
        "high": f"{TEMPERATURE.number(cycle.high, view.units):.0f}",
        "fan": percent(cycle.fan) if view.live else "-",
        "share": round(cycle.fan, 2) if view.live else 0.0,
        "at": None if cycle.pit is None else round((cycle.pit - cycle.low) / max(1.0, cycle.high - cycle.low), 3),
        "more": [],
    }
    if shot.cook and shot.cook.in_band is not None:
        found["inside"] = f"{percent(shot.cook.in_band)} of the time in it"
    if in_short.phase_matters(view):
        found["more"].append(", ".join(part for part in in_short.phase_words(view) if part))
    if fuel := ahead.fuel_words(shot, view.units):
        found["more"].append(f"fuel {fuel}")
    return found


def _alarm(view: PageView, alarm: Alarm) -> dict[str, Any]:
    state = alarm.level
    if alarm.acknowledged:
        state += f", seen {say.when(alarm.acknowledged, view.now)}"
    if alarm.shelved > view.now:
        state += f", shelved until {say.when(alarm.shelved, view.now)}"
    return {
        "id": alarm.id,
        "tone": "urgent" if alarm.level == URGENT and not alarm.acknowledged else "hand",
        "state": state,
        "since": say.when(alarm.raised, view.now),
        "what": view.said(alarm.what),
        "why": view.said(alarm.why),
        "checks": [view.said(check) for check in alarm.checks],
        "see": not alarm.acknowledged and afar.may_see(alarm.code) and not view.look,
        "trip": not afar.may_see(alarm.code),
    }


def _prompt(view: PageView, prompt: Prompt) -> dict[str, Any]:
    due = prompt.due <= view.now
    kind = "fuel_added" if prompt.kind == "fuel_looked" else prompt.kind  # who is away has not looked
    kind = kind if kind in afar.NOTES and not view.look else ""
    return {"when": say.due(prompt.due, view.now), "words": view.said(prompt.words), "now": due, "kind": kind,
            "piece": prompt.piece}  # fmt: skip


def _piece(view: PageView, piece: Piece) -> dict[str, Any]:
    read = view.degrees(piece.temperature)
    if not view.live and not piece.by_hand and piece.temperature is not None:
        read = f"({read})"
    state = ["" if piece.shade is None else f"shade {piece.shade}", *in_short.place_parts(piece, False, view.now)]
    more = [*ahead.full(piece, view.now, view.reader), piece.verdict, *piece.safe]
    decided = piece.decision.said[0] if piece.decision.said and piece.decision.verdict not in FINE else ""
    return {
        "id": piece.id,
        "name": piece.name,
        "line": piece.probe if 1 <= piece.probe <= 3 else 0,
        "now": read,
        "state": ", ".join(part for part in state if part),
        "ready": ", ".join(ahead.short(piece, view.now, view.reader)),
        "decide": view.said(decided),
        "more": [view.said(one) for one in more if one],
        "here": piece.place not in places.GONE,
    }


def _noted(view: PageView) -> list[dict[str, Any]]:
    """What happened last; the note that can be taken back has its number."""
    shot, last = view.shot, view.last_note
    found = []
    for event in shot.events[:NOTED] if shot else []:
        undo = event.id if last is not None and last.id == event.id and not view.look else 0
        found.append(
            {"when": say.when(event.at, view.now), "words": in_short.event_words(view, event), "undo": undo}
        )  # fmt: skip
    return found


def _may(view: PageView) -> dict[str, Any]:
    """What the buttons may do now."""
    shot, cycle = view.shot, view.cycle
    there = shot is not None and view.where == "open" and not view.look
    held = there and cycle is not None and cycle.state != "off"
    return {
        "look": view.look,
        "note": bool(there and shot and shot.cook and not shot.cook.ended),
        "opened": bool(held),
        "band": bool(there and cycle is not None),
        "stop": bool(held),
        "awake": bool(there and shot and shot.waking.calling),
        "report": bool(shot and shot.cook),
        "higher": view.said(afar.not_higher(shot, 999.0, 999.0)) if shot else "",
    }


def notes(units: str) -> list[dict[str, Any]]:
    """What can be noted, and what each note carries, for a form."""
    found = []
    for kind in afar.NOTES:
        known, measured = KINDS[kind], afar.quantity(kind)
        label, hint = "", ""
        if known.value and measured is not None:
            label = {"carved": "carved meat", "hold_oven": "oven set to", "hand_reading": "reading"}.get(kind, "amount")
            ends = Range(measured.said(known.low), measured.said(known.high))
            hint = render(ends, Reader(units))
        elif known.value:
            label, _, rest = known.value.partition(",")
            hint = rest.strip() or f"{known.low:g} to {known.high:g}"
        found.append(
            {"kind": kind, "words": known.words[:1].upper() + known.words[1:], "label": label, "hint": hint,
             "must": known.needs_value, "piece": known.needs_piece, "texts": list(known.texts),
             "free": kind == "said"}
        )  # fmt: skip
    return found

"""What the keys of the programme do. `programme` is the action; the rest answers its screen."""

from __future__ import annotations

import re
from typing import Any

import msgspec
from hearth.core import fields

from tuyere.cook import planned
from tuyere.cook import programme as programmes
from tuyere.cook.kept_programmes import NAME_MOST, from_plan, to_plan
from tuyere.cook.programme import AFTER, BY_HAND
from tuyere.cook.snapshot import Phase
from tuyere.measures import TEMPERATURE, count, read
from tuyere.text import Reader, render
from tuyere.tui.draft import Draft
from tuyere.tui.face import Face
from tuyere.tui.screens.ask import Ask, Menu
from tuyere.tui.screens.form import Field, Form, Values, measure
from tuyere.tui.screens.phases import ProgrammeScreen

_SPAN = re.compile(r"(?:(\d+(?:\.\d+)?)\s*h(?:ours?)?)?\s*(?:(\d+)\s*(?:min|m)?)?")
CLOCK = "clock"  # an end at a time of day; the others are the numbers of `hearth.core.fields`
KEEP, DROP = "\0keep", "\0drop"


async def programme(app: Face) -> None:
    """See the programme and change it."""
    draft = Draft()

    async def ask(what: str, at: int) -> str:
        return await STEPS[what](app, draft, at)

    await app.ask(ProgrammeScreen(draft, ask))


async def _add(app: Face, draft: Draft, at: int) -> str:
    """A phase after the selected one, with its band."""
    like = draft.phases[at] if draft.phases else programmes.phase("", programmes.LOW, programmes.HIGH)
    made = await _form(app, "A new phase", msgspec.structs.replace(like, name="", purpose="", end_kind=BY_HAND,
                                                                   end_value=0.0, clock=""))  # fmt: skip
    return draft.add(at + 1 if draft.phases else 0, made) if made else ""


async def _change(app: Face, draft: Draft, at: int) -> str:
    if not draft.phases:
        return await _add(app, draft, at)
    made = await _form(app, f"Change {draft.phases[at].name}", draft.phases[at])
    if made:
        draft.change(at, made)
    return ""


async def _remove(app: Face, draft: Draft, at: int) -> str:
    return draft.remove(at) if draft.phases else ""


async def _up(app: Face, draft: Draft, at: int) -> str:
    return _move(app, draft, at, -1)


async def _down(app: Face, draft: Draft, at: int) -> str:
    return _move(app, draft, at, 1)


def _move(app: Face, draft: Draft, at: int, by: int) -> str:
    to = draft.move(at, by)
    screen: Any = app.screen
    if isinstance(screen, ProgrammeScreen):
        screen.selected = to
    return ""


async def _go(app: Face, draft: Draft, at: int) -> str:
    """Jump to a phase: at once, or, with changes that are not sent, when they are sent."""
    if not draft.phases:
        return ""
    phase = draft.phases[at]
    if draft.changed:
        draft.begin(at)
        return f"{phase.name} begins when you send this."
    cycle = app.view.cycle
    if cycle and cycle.phase == at and cycle.state not in ("off", "burnout"):
        return f"{phase.name} is in force already."
    words = f"It begins now, with the band {app.view.band(phase.low, phase.high)}."
    if not await app.ask(Ask(f"Go to {phase.name}?", words, "go")):
        return ""
    return await app.order("phase", f"phase {phase.name}", row=at)


async def _kept(app: Face, draft: Draft, at: int) -> str:
    """Take a kept programme into the draft, keep this one, or drop one."""
    answer, trouble = await app.attempt("programmes")
    if trouble or not isinstance(answer, dict):
        return trouble
    kept = {name: [_phase(row) for row in rows] for name, rows in answer.items()}
    entries = [(name, str(i), f"{name} ({_brief(app, phases)})") for i, (name, phases) in enumerate(kept.items(), 1)]
    more = [(KEEP, "k", "keep what is shown here by a name")] if draft.phases else []
    chosen = await app.ask(Menu("Kept programmes", [*entries, *more, (DROP, "d", "drop a kept one")]))
    if chosen == KEEP:
        return await _keep(app, draft)
    if chosen == DROP:
        gone = await app.ask(Menu("Drop which?", entries))
        return (await app.attempt("programme_drop", name=gone))[1] if gone else ""
    if chosen:
        draft.take(kept[chosen])
    return ""


def _brief(app: Face, phases: list[Phase]) -> str:
    """'225-250 F, 250-275 F'."""
    return ", ".join(app.view.band(one.low, one.high) for one in phases)


async def _keep(app: Face, draft: Draft) -> str:
    async def give(values: Values) -> str:
        return (await app.attempt("programme_keep", name=values["name"], phases=sent(draft.phases)))[1]

    fields_ = [Field("name", "name", value=draft.phases[0].name)]
    words = f"{count(len(draft.phases), 'phase')}, for any cook; at most {NAME_MOST} characters. It is not sent."
    await app.ask(Form("Keep the programme", words, fields_, give=give))
    return ""


async def _send(app: Face, draft: Draft, at: int) -> str:
    """All of it to the board, as one. The engine checks it against the board's limits first."""
    if not draft.changed:
        return "The board has this already."
    row, afresh = draft.standing(app.view.cycle.phase if app.view.cycle else 0)
    trouble = await app.order(
        "programme", "another programme", phases=sent(draft.phases), row=row, afresh=afresh, who=app.who
    )
    if not trouble:
        draft.changed = False  # what is shown from now on is what the board says that it has
    return trouble


def sent(phases: list[Phase]) -> list[dict[str, Any]]:
    """Phases as the engine takes them."""
    return [msgspec.to_builtins(to_plan(one)) for one in phases]


def _phase(row: Any) -> Phase:
    """A phase that came as JSON."""
    known = {name: row[name] for name in planned.Phase.__struct_fields__ if name in row}
    return from_plan(msgspec.convert(known, planned.Phase))


STEPS = {"add": _add, "change": _change, "remove": _remove, "up": _up, "down": _down, "go": _go, "kept": _kept,
         "send": _send}  # fmt: skip


# -- a phase as a form ---------------------------------------------------------------------------


async def _form(app: Face, title: str, phase: Phase) -> Phase | None:
    """The phase that a person makes of this one; None if the form was left."""
    units, shot = app.view.units, app.view.shot
    low = measure("low", "band from", phase.low, TEMPERATURE, units, low=40.0, high=200.0)
    high = measure("high", "band to", phase.high, TEMPERATURE, units, low=42.0, high=200.0)
    pieces = {piece.probe: piece.name for piece in (shot.pieces if shot else []) if piece.place == "pit"}
    probes = [(str(AFTER + n), f"{pieces[n]} reads" if n in pieces else f"probe {n} reads") for n in (1, 2, 3)]
    choices = [(str(BY_HAND), "by hand"), (str(AFTER), "after"), (CLOCK, "at"), *probes]
    kind = CLOCK if phase.clock else str(phase.end_kind)
    fields_ = [
        Field("name", "name", value=phase.name),
        low,
        high,
        Field("kind", "ends", "choice", kind, choices=choices),
        Field("value", "that is", value=shown(phase, units), empty=True),
        Field("purpose", "for", "choice", phase.purpose, choices=list(programmes.PURPOSES.items())),
    ]
    made: list[Phase] = []

    def check(values: Values) -> str:
        bottom, top = low.read(values["low"]) or 0.0, high.read(values["high"]) or 0.0
        found = ended(values["kind"], values["value"], units)
        if isinstance(found, str):
            return found
        new = programmes.phase(" ".join(values["name"].split()), bottom, top, *found[:2],
                               purpose=values["purpose"], clock=found[2])  # fmt: skip
        timed = msgspec.structs.replace(new, end_value=1.0) if new.clock else new
        if trouble := programmes.wrong([timed]):
            said = app.view.said(trouble)
            return said[:1].upper() + said[1:] + "."
        made[:] = [new]
        return ""

    reads = TEMPERATURE.example(units)
    words = f"The pit is held in the band until the phase ends; that is: 2 h, 06:00 or {reads}, by how it ends."
    return made[0] if await app.ask(Form(title, words, fields_, check)) is not None and made else None


def shown(phase: Phase, units: str) -> str:
    """What stands in the field beside the kind of end."""
    if phase.clock:
        return phase.clock
    if phase.end_kind == AFTER:
        hours, minutes = divmod(round(phase.end_value), 60)
        return " ".join([*([f"{hours} h"] if hours else []), *([f"{minutes} min"] if minutes or not hours else [])])
    if phase.end_kind > AFTER:
        return render(TEMPERATURE.said(phase.end_value), Reader(units))
    return ""


def ended(kind: str, typed: str, units: str) -> tuple[int, float, str] | str:
    """(end kind, end value, time of day) of what was chosen and typed, or what is wrong with it."""
    if kind == CLOCK:
        clock = programmes.read_clock(typed)
        return (fields.END_AFTER, 0.0, clock) if clock else "It ends at a time of day: type it as 06:00."
    number = int(kind)
    if number == BY_HAND:
        return number, 0.0, ""
    if number == AFTER:
        minutes = read_span(typed)
        return (number, minutes, "") if minutes else "It ends after a time: type it as 2 h, 90 min or 1 h 30 min."
    degrees = read(typed, TEMPERATURE, units)
    if degrees is None:
        return f"It ends when the piece reads a temperature: type it as {TEMPERATURE.example(units)}."
    return number, round(degrees, 2), ""


def read_span(typed: str) -> float:
    """'2 h', '1 h 30 min', '90 min', '90' (minutes) -> minutes, 0 for what is none of these."""
    found = _SPAN.fullmatch(typed.strip().lower())
    if found is None or not any(found.groups()):
        return 0.0
    return round(float(found[1] or 0) * 60 + int(found[2] or 0))

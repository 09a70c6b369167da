"""Notes of what was done, and to which piece. One function an action, with its name."""

from __future__ import annotations

from tuyere import measures
from tuyere.cook import places, say
from tuyere.cook.in_short import LETTERS, event_words
from tuyere.cook.snapshot import Piece
from tuyere.logbook.kinds import KINDS, TWIN_ALWAYS
from tuyere.measures import number
from tuyere.meat.cuts import CUTS
from tuyere.tui.face import Face
from tuyere.tui.screens.ask import Ask, Menu
from tuyere.tui.screens.form import Field, Form, Values, measure

TWIN = "The simulated cook does this by itself. Your note changes the log and the forecast, not the simulated pit."
MEASURED = {  # the notes with a measure, and what it is called in the form
    "fuel_added": ("amount", measures.MASS),
    "carved": ("carved meat", measures.MASS),
    "hand_reading": ("reading", measures.TEMPERATURE),
    "hold_oven": ("oven set to", measures.TEMPERATURE),
}
ASKED = {"fuel_added": "how", "tender": "it is"}  # what the texts of a note are called in its form
USUAL_HOLD = 75.0  # C, of an oven that holds: common practice, no source
ABOUT = {"carved": "Weighed, it teaches the next plan your yield. Leave it empty if it was not weighed."}
OF_THE_PIT = ("pan_filled", "fuel_added", "fuel_looked", "ash_knocked", "wood_added", "opened")  # no piece has these


async def note(app: Face) -> None:
    entries = [(kind, LETTERS.get(kind, "?"), KINDS[kind].words) for kind in LETTERS if kind in KINDS]
    kind = await app.ask(Menu("What was done?", entries))
    if kind:
        await note_of(app, kind)


async def note_of(app: Face, kind: str, piece: int = 0) -> None:
    """Ask for piece, value, text and how long ago, as the kind needs them, then note it. piece: the one to begin with,
    0: one that is asked about."""
    if kind == "divided":
        await divide(app, piece)
        return
    shot, known, units = app.view.shot, KINDS[kind], app.view.units
    if shot is None:
        return
    pieces = [p for p in shot.pieces if p.place not in places.GONE] or shot.pieces
    if known.needs_piece and not pieces:
        app.say(f"A note of this kind is about a piece: {app.view.key('pieces')} adds one first.", "warning")
        return
    fields = []
    if known.value:
        if kind in MEASURED:
            label, quantity = MEASURED[kind]
            was = _oven(shot.pieces) if kind == "hold_oven" else None
            fields.append(measure("value", label, was, quantity, units, low=known.low, high=known.high,
                                  empty=not known.needs_value))  # fmt: skip
        else:
            label, _, hint = known.value.partition(", ")
            fields.append(Field("value", label, "number", "", "", hint or f"{known.low:g} to {known.high:g}",
                                known.low, known.high, not known.needs_value, known.whole))  # fmt: skip
    if known.texts:
        fields.append(Field("text", ASKED.get(kind, "in"), "choice", choices=[(t, t) for t in known.texts]))
    elif kind == "said":
        fields.append(Field("text", "words"))
    choices = [(str(p.id), p.name) for p in pieces]
    if kind in OF_THE_PIT:
        choices = []
    if not known.needs_piece:
        choices.insert(0, ("0", "the pit" if kind in (*OF_THE_PIT, "said") else "all"))
    if len(choices) > 1:
        first = str(piece) if piece else _first_piece(app, kind)
        fields.append(Field("piece", "piece", "choice", first, choices=choices))
    fields.append(Field("ago", "how long ago", "ago"))

    async def give(values: Values) -> str:
        typed = values.get("value", "")
        value = fields[0].read(typed) if kind in MEASURED else number(typed)
        when = shot.now - int(values["ago"]) * say.MINUTE
        return (await app.attempt("note", kind=kind, piece=int(values.get("piece", choices[0][0])), value=value,
                                  text=values.get("text", "").strip(), at=when))[1]  # fmt: skip

    twin = shot.link.simulated and kind in TWIN_ALWAYS
    about = TWIN if twin else ABOUT.get(kind, "")
    await app.ask(Form(known.words[:1].upper() + known.words[1:], about, fields, give=give))


def _oven(pieces: list[Piece]) -> float:
    """What the oven that holds was last said to be set to, C: it is asked once."""
    return next((piece.oven for piece in reversed(pieces) if piece.oven is not None), USUAL_HOLD)


async def divide(app: Face, piece: int = 0) -> None:
    """Divide a piece, such as the point from the flat."""
    shot = app.view.shot
    left = [p for p in shot.pieces if p.place not in places.GONE] if shot else []
    if not left:
        app.say(f"There is no piece to divide: {app.view.key('pieces')} adds one.", "warning")
        return
    chosen: str | None = str(piece or left[0].id)
    if len(left) > 1 and not piece:
        entries = [(str(p.id), str(i), p.name) for i, p in enumerate(left, 1)]
        chosen = await app.ask(Menu("Divide which piece?", entries))
    whole = next((p for p in left if str(p.id) == chosen), None)
    if whole is None:
        return
    mass = measure("mass", "it weighs", None, measures.MASS, app.view.units, low=0.05, high=30, empty=True)
    fields = [
        Field("name", "its name", value=f"{whole.name} point"),
        Field("cut", "its cut", "choice", "point", choices=[(cut, cut) for cut in CUTS]),
        mass,
    ]

    async def give(values: Values) -> str:
        given = {"name": values["name"].strip(), "cut": values["cut"], "mass": mass.read(values["mass"])}
        return (await app.attempt("piece_divide", id=whole.id, **given))[1]

    words = "The new piece has no probe. It has the past of the whole, and from now on a place of its own."
    await app.ask(Form(f"Divide {whole.name}: the new piece", words, fields, give=give))


def _first_piece(app: Face, kind: str) -> str:
    """The piece a standing prompt is about, if any."""
    prompts = app.view.shot.prompts if app.view.shot else []
    return next((str(p.piece) for p in prompts if p.kind == kind and p.piece), "")


async def spritz(app: Face) -> None:
    await note_of(app, "spritzed")


async def shade(app: Face) -> None:
    await note_of(app, "shade")


async def wrap(app: Face) -> None:
    await note_of(app, "wrapped")


async def undo(app: Face) -> None:
    """Take back the note that was written down last, whenever it happened."""
    view = app.view
    last = view.last_note
    if last is None:
        return
    happened, noted = say.when(last.at, view.now), say.when(last.noted, view.now)
    words = f"{event_words(view, last)}, at {happened}{'' if happened == noted else f', noted at {noted}'}."
    if await app.ask(Ask("Take this note back?", words[:1].upper() + words[1:], "take it back", keys=app.keys["undo"])):
        _, trouble = await app.attempt("note_undo", id=last.id)
        if "note_undo" in trouble:  # there is no such method
            trouble = "This engine cannot take notes back yet: end it and start it again with the program you have now."
        app.tell(trouble)

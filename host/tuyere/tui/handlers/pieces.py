"""The pieces and what a forecast must know of them, asked in forms. One function an action, named like it."""

from __future__ import annotations

from typing import Any

from tuyere.cook import kitchen as kitchens
from tuyere.cook import say
from tuyere.cook.snapshot import Piece
from tuyere.cook.units import celsius, number, shown
from tuyere.logbook.kinds import PLANNED_WRAPS
from tuyere.meat import safety
from tuyere.meat.cuts import CUTS
from tuyere.meat.hold import PLACES
from tuyere.tui.face import Face
from tuyere.tui.screens.ask import Menu
from tuyere.tui.screens.form import Field, Form, Values

BARE = "stays bare"
USES = ("home", "a place that sells it")  # as kitchens.USES
REGIONS = ("of the US", "of the UK", "elsewhere")  # as kitchens.REGIONS


def _entries(found: list[Piece]) -> list[tuple[str, str, str]]:
    return [(str(p.id), str(i), p.name + (f", {p.mass:g} kg" if p.mass else "")) for i, p in enumerate(found, 1)]


async def pieces(app: Face) -> None:
    """Add a piece or change one; a new one's details are asked for at once."""
    shot = app.view.shot
    if shot is None:
        return
    chosen = await app.ask(Menu("Pieces of meat", [*_entries(shot.pieces), ("new", "n", "a new piece")]))
    if not chosen:
        return
    piece = next((p for p in shot.pieces if str(p.id) == chosen), None)
    used = {p.probe for p in shot.pieces if p is not piece}
    free = next((n for n in (1, 2, 3) if n not in used), 0)
    cut = piece.cut if piece else "packer"
    cuts = [*CUTS, *([cut] if cut not in CUTS else [])]
    fields = [
        Field("name", "name", value=piece.name if piece else ""),
        Field("cut", "cut", "choice", cut, choices=[(name, name or "not told") for name in cuts]),
        Field("mass", "mass", "number", f"{piece.mass:g}" if piece and piece.mass else "", "kg", "", 0.1, 50, True),
        Field("probe", "probe", "choice", str(piece.probe if piece else free),
              choices=[("0", "none"), ("1", "1"), ("2", "2"), ("3", "3")]),
    ]  # fmt: skip
    made: dict[str, Any] = {}

    async def give(values: Values) -> str:
        given: dict[str, Any] = {"name": values["name"].strip(), "cut": values["cut"]}
        given.update(mass=number(values["mass"]), probe=int(values["probe"]))
        if piece:
            return (await app.attempt("piece_change", id=piece.id, **given))[1]
        answer, trouble = await app.attempt("piece_add", **given)
        if not trouble and isinstance(answer, dict) and "id" in answer:
            made.update(given, id=answer["id"])
        return trouble

    await app.ask(Form(piece.name if piece else "A new piece", "", fields, give=give))
    if made:
        await details(
            app, Piece(id=made["id"], name=made["name"], cut=made["cut"], mass=made["mass"], probe=made["probe"])
        )


async def piece(app: Face) -> None:
    """The details of a piece."""
    shot = app.view.shot
    if shot is None:
        return
    if not shot.pieces:
        app.say(f"There is no piece yet: {app.view.key('pieces')} adds one.", "warning")
        return
    chosen: str | None = str(shot.pieces[0].id)
    if len(shot.pieces) > 1:
        chosen = await app.ask(Menu("Details of which piece?", _entries(shot.pieces)))
    if found := next((p for p in shot.pieces if str(p.id) == chosen), None):
        await details(app, found)


async def details(app: Face, piece: Piece) -> None:
    """What the forecast draws on; what is left empty it takes as usual for the cut."""
    units = app.view.units
    parts = CUTS[piece.cut].parts if piece.cut in CUTS else ()
    thick = [part.name for part in parts] or ["piece"]

    def degrees(value: float | None) -> str:
        return "" if value is None else f"{shown(value, units):.3g}"

    fields = [
        Field(
            key,
            f"{name} thick",
            "number",
            "" if had is None else f"{had * 100:.3g}",
            "cm",
            low=0.5,
            high=30,
            empty=True,
        )
        for key, had, name in zip(("flat", "point"), (piece.flat, piece.point), thick, strict=False)
    ]
    fields += [
        Field("start", "at start", "number", degrees(piece.start), units, "", shown(-2, units), shown(40, units), True),
        Field("intact", "meat is", "choice", "yes" if piece.intact else "no",
              choices=[("yes", "whole"), ("no", "rolled, injected or needled")]),
        Field("target", "done at", "number", degrees(piece.target), units, "", shown(50, units), shown(110, units)),
        Field("shade", "shade wanted", "number", f"{piece.wanted_shade:g}", "", "1 to 10", 1, 10),
        Field("wrap", "wrap in", "choice", piece.wrap_with, choices=[(w, w or BARE) for w in PLANNED_WRAPS]),
    ]  # fmt: skip

    def typed(text: str, was: float | None) -> float | None:
        """C; a number left as it was shown keeps its hidden digits."""
        value = number(text)
        return was if value is None or text.strip() == degrees(was) else round(celsius(value, units), 2)

    async def give(values: Values) -> str:
        given: dict[str, Any] = {}
        for key in ("flat", "point"):
            if key in values:
                value = number(values[key])
                given[key] = None if value is None else round(value / 100.0, 4)
        given.update(
            start=typed(values["start"], piece.start) if values["start"].strip() else None,
            intact=values["intact"] == "yes", target=typed(values["target"], piece.target),
            wanted_shade=number(values["shade"]), wrap_with=values["wrap"],
        )  # fmt: skip
        return (await app.attempt("piece_change", id=piece.id, **given))[1]

    words = "Measured thickness counts most. Escape leaves all as usual for the cut."
    await app.ask(Form(f"{piece.name}: details", words, fields, give=give))


def _kept(name: str) -> str:
    """A place of the hot hold, and that nothing is kept hot where it lies open."""
    return f"{name}, where it cools" if PLACES[name].open else name


async def kitchen(app: Face) -> None:
    """Cooker, charcoal, altitude, and where it is held hot, by which rule."""
    shot = app.view.shot
    if shot is None:
        return
    had, view, units = shot.kitchen, app.view, app.view.units
    rule = kitchens.limit(had)
    fields = [
        Field(
            "cooker", "cooker", "choice", had.cooker, choices=[("", "not told"), *((k, k) for k in kitchens.COOKERS)]
        ),
        Field(
            "fuel", "charcoal", "number", "" if had.fuel is None else f"{had.fuel:g}", "kg", "at start", 0.1, 60, True
        ),
        Field("altitude", "altitude", "number", f"{had.altitude:g}", "m", low=-400, high=4500),
        Field("hold", "hot hold", "choice", had.hold, choices=[(name, _kept(name)) for name in PLACES]),
        Field("vented", "vented", "number", f"{had.vented:g}", "min", "before box", 0, 120),
        Field(
            "room",
            "the room has",
            "number",
            f"{shown(had.room, units):.3g}",
            units,
            low=shown(-30, units),
            high=shown(50, units),
        ),
        Field("use", "eaten at", "choice", had.use, choices=list(zip(kitchens.USES, USES, strict=True))),
        Field("region", "rules", "choice", had.region, choices=list(zip(kitchens.REGIONS, REGIONS, strict=True))),
        Field("lead", "wrap", "number", f"{had.lead:g}", "min", "before shade", *kitchens.LEADS),
    ]

    async def give(values: Values) -> str:
        numbers = {name: number(values[name]) for name in ("fuel", "altitude", "vented", "lead")}
        room = had.room if values["room"].strip() == f"{shown(had.room, units):.3g}" else None
        if room is None:
            room = round(celsius(number(values["room"]) or 0.0, units), 1)
        chosen = {name: values[name] for name in ("cooker", "hold", "use", "region")}
        trouble = (await app.attempt("kitchen_change", **numbers, **chosen, room=room))[1]
        place = PLACES[values["hold"]]
        if not trouble and place.open:
            limit = view.degrees(safety.hold_limit(values["use"], values["region"]).c)
            words = f"Nothing keeps meat hot {place.words}: eat it while it is above {limit}. {safety.LOCAL}"
            app.say(words, "warning")
        return trouble

    words = say.joined([app.view.said(rule.said), safety.LOCAL])
    await app.ask(Form("Cooker, fuel and hot hold", words, fields, give=give))

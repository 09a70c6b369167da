"""Forms for the pieces and what a forecast needs of them. One function an action, with its name."""

from __future__ import annotations

from typing import Any

from tuyere.codes import COOKERS
from tuyere.cook import kitchen as kitchens
from tuyere.cook.snapshot import Piece
from tuyere.logbook.kinds import PLANNED_WRAPS
from tuyere.measures import ALTITUDE, MASS, TEMPERATURE, THICKNESS, number
from tuyere.meat import safety
from tuyere.meat.cuts import CUTS
from tuyere.meat.hold import PLACES
from tuyere.meat.regions import REGIONS, rules
from tuyere.text import Mass, Reader, Temperature, render, text
from tuyere.tui.face import Face
from tuyere.tui.screens.ask import Menu
from tuyere.tui.screens.form import Field, Form, Values, measure

BARE = "stays bare"
USES = ("home", "a place that sells it")  # as kitchens.USES


def _entries(found: list[Piece], reader: Reader) -> list[tuple[str, str, str]]:
    weighs = [f", {render(Mass(piece.mass), reader)}" if piece.mass else "" for piece in found]
    return [(str(p.id), str(i), p.name + mass) for i, (p, mass) in enumerate(zip(found, weighs, strict=True), 1)]


async def pieces(app: Face) -> None:
    """Add a piece or change one; the details of a new one are asked for at once."""
    shot = app.view.shot
    if shot is None:
        return
    chosen = await app.ask(
        Menu("Pieces of meat", [*_entries(shot.pieces, app.view.reader), ("new", "n", "a new piece")])
    )
    if not chosen:
        return
    piece = next((p for p in shot.pieces if str(p.id) == chosen), None)
    used = {p.probe for p in shot.pieces if p is not piece}
    free = next((n for n in (1, 2, 3) if n not in used), 0)
    cut = piece.cut if piece else "packer"
    cuts = [*CUTS, *([cut] if cut not in CUTS else [])]
    weight = measure("mass", "mass", piece.mass if piece else None, MASS, app.view.units, low=0.1, high=50, empty=True)
    fields = [
        Field("name", "name", value=piece.name if piece else ""),
        Field("cut", "cut", "choice", cut, choices=[(name, name or "not told") for name in cuts]),
        weight,
        Field("probe", "probe", "choice", str(piece.probe if piece else free),
              choices=[("0", "none"), ("1", "1"), ("2", "2"), ("3", "3")]),
    ]  # fmt: skip
    made: dict[str, Any] = {}

    async def give(values: Values) -> str:
        given: dict[str, Any] = {"name": values["name"].strip(), "cut": values["cut"]}
        given.update(mass=weight.read(values["mass"]), probe=int(values["probe"]))
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
        chosen = await app.ask(Menu("Details of which piece?", _entries(shot.pieces, app.view.reader)))
    if found := next((p for p in shot.pieces if str(p.id) == chosen), None):
        await details(app, found)


async def details(app: Face, piece: Piece) -> None:
    """What the forecast uses. An empty field means: as usual for the cut."""
    units = app.view.units
    parts = CUTS[piece.cut].parts if piece.cut in CUTS else ()
    thick = [part.name for part in parts] or ["piece"]
    measured = [
        measure(key, f"{name} thick", had, THICKNESS, units, low=0.005, high=0.3, empty=True)
        for key, had, name in zip(("flat", "point"), (piece.flat, piece.point), thick, strict=False)
    ]
    start = measure("start", "at start", piece.start, TEMPERATURE, units, low=-2, high=40, empty=True)
    target = measure("target", "done at", piece.target, TEMPERATURE, units, low=50, high=110)
    fields = [
        *measured,
        start,
        Field("intact", "meat is", "choice", "yes" if piece.intact else "no",
              choices=[("yes", "whole"), ("no", "rolled, injected or needled")]),
        target,
        Field("shade", "shade wanted", "number", f"{piece.wanted_shade:g}", "", "1 to 10", 1, 10),
        Field("wrap", "wrap in", "choice", piece.wrap_with, choices=[(w, w or BARE) for w in PLANNED_WRAPS]),
    ]  # fmt: skip

    async def give(values: Values) -> str:
        given: dict[str, Any] = {field.name: field.read(values[field.name]) for field in (*measured, start, target)}
        given.update(
            intact=values["intact"] == "yes",
            wanted_shade=number(values["shade"]), wrap_with=values["wrap"],
        )  # fmt: skip
        return (await app.attempt("piece_change", id=piece.id, **given))[1]

    words = "A measured thickness helps most. Escape leaves everything as usual for the cut."
    await app.ask(Form(f"{piece.name}: details", words, fields, give=give))


def _kept(name: str) -> str:
    """A place of the hot hold. On an open counter nothing stays hot, and the words say so."""
    return f"{name}, where it cools" if PLACES[name].open else name


async def kitchen(app: Face) -> None:
    """Cooker, charcoal, altitude, and where it is held hot, by which rule."""
    shot = app.view.shot
    if shot is None:
        return
    had, view, units = shot.kitchen, app.view, app.view.units
    rule = kitchens.limit(had)
    measured = [
        measure("fuel", "charcoal", had.fuel, MASS, units, "at start", low=0.1, high=60, empty=True),
        measure("altitude", "altitude", had.altitude, ALTITUDE, units, low=-400, high=4500),
        measure("room", "the room has", had.room, TEMPERATURE, units, low=-30, high=50),
    ]
    fuel, altitude, room = measured
    fields = [
        Field("cooker", "cooker", "choice", had.cooker, choices=[("", "not told"), *((k, k) for k in COOKERS)]),
        fuel,
        altitude,
        Field("hold", "hot hold", "choice", had.hold, choices=[(name, _kept(name)) for name in PLACES]),
        Field("vented", "vented", "number", f"{had.vented:g}", "min", "before box", 0, 120),
        room,
        Field("use", "eaten at", "choice", had.use, choices=list(zip(kitchens.USES, USES, strict=True))),
        Field("region", "rules", "choice", had.region, choices=list(REGIONS.items())),
        Field("lead", "wrap", "number", f"{had.lead:g}", "min", "before shade", *kitchens.LEADS),
    ]

    async def give(values: Values) -> str:
        numbers = {name: number(values[name]) for name in ("vented", "lead")}
        numbers.update({field.name: field.read(values[field.name]) for field in measured})
        chosen = {name: values[name] for name in ("cooker", "hold", "use", "region")}
        trouble = (await app.attempt("kitchen_change", **numbers, **chosen))[1]
        place = PLACES[values["hold"]]
        if not trouble and place.open:
            limit = Temperature(rules(values["use"], values["region"]).limit)
            words = text("Nothing keeps meat hot {place}: eat it while it is above {limit}. {local}",
                         place=place.words, limit=limit, local=safety.LOCAL)  # fmt: skip
            app.say(view.said(words), "warning")
        return trouble

    words = f"{app.view.said(rule.said)} {safety.LOCAL}"
    await app.ask(Form("Cooker, fuel and hot hold", words, fields, give=give))

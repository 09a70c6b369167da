"""What people note: events, and the pieces that follow from them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tuyere import measures
from tuyere.cook import arguments, follows
from tuyere.cook.errors import Refusal
from tuyere.engine.night.current import Cooking
from tuyere.engine.night.twin_events import Done
from tuyere.logbook import Logbook, rows
from tuyere.logbook.checks import PIECE_FIELDS
from tuyere.logbook.kinds import KINDS
from tuyere.logbook.rows import Cook
from tuyere.meat.cuts import CUTS
from tuyere.meat.piece import PieceOfMeat
from tuyere.text import Clock, said_of
from tuyere.text import text as text_of

MINUTE = 60_000
LATEST = 2 * MINUTE  # ms a note may lie ahead of the cook's clock: a screen shows it a moment late
LEAST_TIME = 1 << 40  # ms; a smaller number is no UTC time (it would be before 2005)


class Notes:
    """Notes and pieces of the open cook."""

    def __init__(self, logbook: Logbook, cooking: Cooking, now: Callable[[], int]) -> None:
        self._logbook, self._cooking, self._now = logbook, cooking, now

    async def note(
        self, kind: str, piece: int = 0, value: float | None = None, text: str = "", at: int | None = None
    ) -> dict[str, Any]:
        """Note an event; `at` (UTC ms of the cook's clock) dates it back, None or 0 is now."""
        self._open()
        if not isinstance(kind, str) or not isinstance(text, str):
            raise Refusal("kind and text of a note must be text")
        if value is not None:
            value = arguments.number("a value", value, -1e6, 1e6)
        if piece:
            self._own_piece(piece)
        return {"id": self.write(kind, arguments.instant("at", at or 0), piece, value, text[:2000])}

    async def note_undo(self, id: int = 0) -> dict[str, Any]:
        """Withdraw a person's note of this cook, by default the last one. It is marked, never deleted."""
        cook = self._open()
        last = self._cooking.last_note
        if id == 0 and last is None:
            raise Refusal("there is no note to withdraw")
        number = arguments.whole("id", id) or (last.id if last is not None else 0)
        event = next((e for e in self._cooking.events if e.id == number), None)
        if event is None or event.by:
            raise Refusal(f"this cook has no note {number} by a person; it may have been withdrawn already")
        with self._logbook.together():
            self._logbook.events.withdraw(number, self._now())
            rest = self._logbook.events.of(cook.id)
            for row in self._logbook.pieces.of(cook.id):
                if event.piece in (0, row.id):
                    undone = follows.piece_undone(event.kind)
                    its = follows.own_events(row, self._cooking.pieces, rest)
                    self._logbook.pieces.change(row.id, **{**undone, **follows.piece_by_events(row.id, its)})
            meat_on = min((e.at for e in rest if e.kind == "meat_on"), default=0)
            if event.kind == "meat_on" and meat_on != cook.meat_on:
                self._logbook.cooks.set_meat_on(cook.id, meat_on)
        if event.kind == "meat_on":
            self._cooking.score.meat_on(meat_on)
        self._cooking.refresh()
        name = next((f" of {p.name}" for p in self._cooking.pieces if p.id == event.piece), "")
        what = f"{KINDS[event.kind].words}{name}"
        words = text_of("Withdrawn: {what}, {at}.", what=what, at=Clock(event.at, day=True))
        return {"ok": True, "id": number, "words": words}

    def write(self, kind: str, at: int, piece: int = 0, value: float | None = None, text: str = "") -> int:
        """Store an event and update the pieces and the cook from it, all or nothing."""
        cook = self._open()
        now = self._now()
        when = _dated(at, cook, now)
        meat_on = kind == "meat_on" and (piece == 0 or not cook.meat_on)
        with self._logbook.together():
            number = self._logbook.events.note(cook.id, kind, when, now, piece, value, text)
            self._follow(cook, piece, when if meat_on else 0)
        if meat_on:
            self._cooking.score.meat_on(when)
        self._cooking.refresh()
        return number

    def twins(self, done: Done) -> None:
        """Store what the twin's cook did; no person noted it."""
        cook = self._open()
        meat_on = done.kind == "meat_on" and not cook.meat_on
        with self._logbook.together():
            self._logbook.events.note_once(
                cook.id, done.kind, done.at, self._now(), done.source, done.value, done.text, done.piece
            )
            self._follow(cook, done.piece, done.at if meat_on else 0)
        if meat_on:
            self._cooking.score.meat_on(done.at)
        self._cooking.refresh()

    def _follow(self, cook: Cook, piece: int, meat_on: int) -> None:
        if meat_on:
            self._logbook.cooks.set_meat_on(cook.id, meat_on)
        events = self._logbook.events.of(cook.id)
        rows = self._logbook.pieces.of(cook.id)
        for row in rows:
            its = follows.own_events(row, rows, events)
            changed = follows.piece_by_events(row.id, its) if piece in (0, row.id) else {}
            if changed:
                self._logbook.pieces.change(row.id, **changed)

    # -- pieces ------------------------------------------------------------------------

    async def piece_add(self, **given: Any) -> dict[str, Any]:
        """Add a piece to the open cook."""
        cook = self._open()
        _sound(rows.PieceRow(id=0, cook=cook.id, name=""), _piece_fields(given))
        number = self._logbook.pieces.add(cook.id, **given)
        self._cooking.refresh()
        return {"id": number}

    async def piece_divide(self, id: int, name: str, mass: float | None = None, cut: str = "") -> dict[str, Any]:
        """Divide a piece, such as the point from the flat: the new one has its own name, its mass (kg) if it was
        weighed, and no probe. It has the history of the whole up to now."""
        cook = self._open()
        self._own_piece(id)
        whole = next(piece for piece in self._cooking.pieces if piece.id == id)
        if not isinstance(name, str) or not name.strip():
            raise Refusal("the new piece needs a name")
        if mass is not None:
            most = whole.mass or 30.0
            mass = arguments.measure("the new piece's mass", mass, measures.MASS, 0.05, most)
        if cut != "" and not (isinstance(cut, str) and cut in CUTS):
            raise Refusal(f"there is no cut {cut!r}; the cuts are {', '.join(CUTS)}")
        now = self._now()
        fields = {field: getattr(whole, field) for field in KEPT}
        with self._logbook.together():
            self._logbook.events.note(cook.id, "divided", now, now, id, mass, name.strip()[:200])
            number = self._logbook.pieces.add(
                cook.id, name=name.strip()[:200], mass=mass, **{**fields, "cut": cut or whole.cut}, part_of=id,
                parted_at=now,
            )  # fmt: skip
            if mass is not None and whole.mass:
                self._logbook.pieces.change(id, mass=max(whole.mass - mass, 0.01))
        self._cooking.refresh()
        return {"id": number}

    async def piece_change(self, id: int, **given: Any) -> dict[str, Any]:
        """Change some fields of a piece of the open cook."""
        self._own_piece(id)
        was = next(piece for piece in self._cooking.pieces if piece.id == id)
        if given.get("cut") in CUTS and len(CUTS[given["cut"]].parts) < 2:
            given.setdefault("point", None)  # the other cut had a second part
        _sound(was, _piece_fields(given))
        self._logbook.pieces.change(id, **given)
        self._cooking.refresh()
        return {"ok": True}

    async def kitchen_change(self, **given: Any) -> dict[str, Any]:
        """Change the cooker, its fuel, its place and the hot hold."""
        self._cooking.change_kitchen(given)
        return {"ok": True}

    async def serve_change(self, at: int) -> dict[str, Any]:
        """Serve at another time (UTC ms); 0: at no time that is known."""
        when, now = arguments.instant("at", at), self._now()
        self._open()
        if when and when <= now:
            said = text_of("serving at {at} has passed: give a later time", at=Clock(when, day=True))
            raise Refusal(said)
        self._cooking.change_serve(when)
        told = text_of("{at}", at=Clock(when, day=True)) if when else "no time"
        self._cooking.note_once("serving_moved", f"serve/{now}", told)
        return {"ok": True}

    def _open(self) -> Cook:
        cook = self._cooking.open
        if cook is None:
            raise Refusal("no cook is open: start one first")
        return cook

    def _own_piece(self, id: Any) -> None:
        self._open()
        if all(piece.id != id for piece in self._cooking.pieces):
            raise Refusal(f"this cook has no piece {id}")


def _dated(at: int, cook: Cook, now: int) -> int:
    """When a note happened: within the cook and not ahead."""
    if not at:
        return now
    if at < LEAST_TIME:
        raise Refusal(f"at of {at} is no time: give UTC in ms, or leave it out for now")
    if at > now + LATEST:
        raise Refusal(
            text_of(
                "a note has a time that has passed: {at} is still to come, it is {now} now",
                at=Clock(at, day=True),
                now=Clock(now, day=True),
            )
        )
    if at < cook.started - MINUTE:
        raise Refusal(
            text_of(
                "{at} is before this cook began ({start}): give a later time, or tell it in words",
                at=Clock(at, day=True),
                start=Clock(cook.started, day=True),
            )
        )
    return min(max(at, cook.started), now)


def _piece_fields(given: dict[str, Any]) -> dict[str, Any]:
    for name in given:
        if name not in PIECE_FIELDS:
            raise Refusal(f"a piece has no {name!r}; it has {', '.join(PIECE_FIELDS)}")
    return given


# Of the whole, what a piece that is divided off has, too: all but its name, mass, thickness and probe.
KEPT = (
    "place", "shade", "shade_at", "wrap", "on_at", "hand", "hand_at", "start", "intact", "target", "wanted_shade",
    "wrap_with", "held", "oven", "tender_at", "not_tender_at",
)  # fmt: skip
SHAPE = frozenset(("cut", "flat", "point", "start"))


def _sound(was: rows.PieceRow, given: dict[str, Any]) -> None:
    """Refuse an impossible piece, such as a flat of 20 cm. A cut that is not in the table is not judged."""
    fields = {name: PIECE_FIELDS[name](value) for name, value in given.items()}
    cut = fields.get("cut", was.cut) or "packer"
    if cut not in CUTS or not SHAPE & fields.keys():
        return
    flat, point, start = (fields.get(name, getattr(was, name)) for name in ("flat", "point", "start"))
    try:
        PieceOfMeat(fields.get("name", was.name), cut, CUTS[cut].kg[1], flat, point, 5.0 if start is None else start)
    except ValueError as error:
        raise Refusal(said_of(error)) from None

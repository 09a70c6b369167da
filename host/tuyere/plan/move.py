"""Serving has moved during a cook: what can be done, each choice with its odds."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import tzinfo

import msgspec
from msgspec import Struct, field

from tuyere.forecast import model
from tuyere.meat.cuts import CUTS
from tuyere.meat.hold import PLACES

from .asked import Own, check_piece
from .box import MOST_H, OVEN, hold_hours
from .drawing import forecaster, holder
from .page import degrees
from .start import carve_begins, must_be_done
from .times import HOUR, MINUTE, BadPlan, local, moment, share
from .together import all_done, chance, waves
from .trade import PRACTICE

Ahead = Callable[[model.Known], list[model.PieceAhead]]
Until = Callable[[model.Known, model.Piece], int]
UPPER = (129.4, 135.0)  # C, 265-275 F: the upper part of the usual band
OVEN_C = (121.1, 135.0)
BETWEEN = 90 * MINUTE  # from the first wave to the second
DONE = ("box", "out", "carved")
LATEST = 10  # min in which a probe's reading is of now


class Choice(Struct):
    """A thing to do. odds: ready in time; likely: when the last piece is done, 0 if that is not known."""

    name: str
    odds: float
    likely: int
    words: str


class Moved(Struct):
    """serve: the new time; done_by: when all pieces must be out, to rest and to be carved; hold: what is not hot until
    then; best odds first."""

    cook: str
    now: int
    serve: int
    done_by: int
    hold: list[str] = field(default_factory=list)
    choices: list[Choice] = field(default_factory=list)


def choices(
    cook: str, known: model.Known, serve: str, oven: bool, ahead: Ahead | None = None, zone: tzinfo | None = None,
    until: Until | None = None,
) -> Moved:  # fmt: skip
    """What can be done in a cook that runs. ahead, until: as those of `tuyere.forecast.finish` and `holding`, and these
    unless given."""
    at = moment(serve, known.now, zone)
    known = msgspec.structs.replace(known, pieces=[p for p in known.pieces if p.place != "carved"])
    own = [_own(p) for p in known.pieces]
    if not own:
        raise BadPlan(f"All pieces of {cook} are carved: there is nothing left to move.")
    if not any(p.on_at for p in known.pieces):
        raise BadPlan(f"The meat of {cook} is not on yet: plan anew with `tuyere plan --serve ...`.")
    found = Moved(cook, known.now, at, must_be_done(own, at))
    run: Ahead = ahead or forecaster().ahead
    base = run(known)
    carve = carve_begins(own, at)
    boxed = Boxed.of(known, carve, until or holder().until)
    found.hold = boxed.words(known, zone)
    found.choices = [_as_it_is(known, base, found, carve, boxed, oven)]
    if boxed.short and not boxed.passed:
        found.choices.append(_choice("keep it hot", known, base, found.done_by, boxed.words(known, zone)[0]))
    for name, changed, words in _ways(known, oven):
        found.choices.append(_choice(name, known, run(changed), found.done_by, words))
    if len(own) > 1:
        found.choices.append(_waves(known, base, found, own))
    found.choices[1:] = sorted(found.choices[1:], key=lambda one: -one.odds)
    return found


def _own(piece: model.Piece) -> Own:
    """The piece as a plan has it. BadPlan where no cut is like it."""
    if piece.cut not in CUTS:
        raise BadPlan(
            f'{piece.name} is a "{piece.cut}" in the logbook, and there is no such cut: give it one of '
            f"{', '.join(CUTS)} on the screen (`tuyere watch`)."
        )
    start = 5.0 if piece.start is None else piece.start
    own = Own(piece.name, piece.mass or CUTS[piece.cut].kg[1], piece.cut, piece.flat, piece.point, start, piece.intact)
    try:
        check_piece(own)
    except BadPlan as wrong:
        raise BadPlan(f"{wrong} Correct it on the screen (`tuyere watch`).") from None
    return own


def _each(known: model.Known, found: Sequence[model.PieceAhead], by: int) -> list[float]:
    """By piece; one that is out already, or at its target, is done."""
    told = {one.id: one.finish for one in found}
    return [1.0 if _done(known, piece) else chance(told.get(piece.id), by) for piece in known.pieces]


def _done(known: model.Known, piece: model.Piece) -> bool:
    """Whether it is out, or its probe (or the last reading by hand) stands at its target."""
    if piece.place in DONE:
        return True
    read: list[float | None] = [note.value for note in piece.notes if note.kind == "hand_reading"][-1:]
    if 1 <= piece.probe <= len(known.columns.meats):
        read += [c for c in known.columns.meats[piece.probe - 1][-LATEST:] if c is not None][-1:]
    return any(c is not None and c >= piece.target for c in read)


def _likely(known: model.Known, found: Sequence[model.PieceAhead]) -> int:
    still = {piece.id for piece in known.pieces if not _done(known, piece)}
    times = [one.finish.likely if one.finish else 0 for one in found if one.id in still]
    return 0 if 0 in times else max(times, default=known.now)


def _choice(name: str, known: model.Known, found: Sequence[model.PieceAhead], by: int, words: str) -> Choice:
    """All pieces by then, with what is in the box kept hot."""
    return Choice(name, all_done(_each(known, found, by)), _likely(known, found), words)


@dataclass(frozen=True)
class Boxed:
    """The pieces whose hold ends before they are carved: it has passed, or it will."""

    passed: list[model.Piece]
    short: list[model.Piece]
    until: int  # when the first of `short` is at the limit, UTC ms

    @classmethod
    def of(cls, known: model.Known, carve: int, until: Until) -> Boxed:
        """until: as `tuyere.forecast.holding.until`, 0 where a hold has no end."""
        ends = {p.id: until(known, p) for p in known.pieces if p.place == "box"}
        passed = [p for p in known.pieces if 0 < ends.get(p.id, 0) <= known.now]
        short = [p for p in known.pieces if known.now < ends.get(p.id, 0) < carve]
        return cls(passed, short, min((ends[p.id] for p in short), default=0))

    def words(self, known: model.Known, zone: tzinfo | None) -> list[str]:
        """What to do about them."""
        said = []
        if self.passed:
            said.append(
                f"{_names(self.passed)} should be below {known.limit:g} C by now, as the hold goes: take the "
                "temperature now; what is below it is reheated before it is served."
            )
        if self.short:
            said.append(
                f"{_names(self.short)} will be at {known.limit:g} C by {local(self.until, zone):%a %H:%M}, before it "
                "is carved: move it by then, wrapped, to a low oven or to the pit at 70-80 C."
            )
        return said


def _as_it_is(
    known: model.Known, base: Sequence[model.PieceAhead], moved: Moved, carve: int, boxed: Boxed, oven: bool
) -> Choice:
    """Nothing is changed: what is no more hot when it is carved is not ready."""
    words = "Change nothing."
    cold = {piece.id for piece in (*boxed.passed, *boxed.short)}
    each = _each(known, base, moved.done_by)
    odds = all_done([0.0 if p.id in cold else one for p, one in zip(known.pieces, each, strict=True)])
    to_come = {piece.id for piece in known.pieces if piece.place not in DONE}
    first = min((one.finish.likely for one in base if one.finish and one.id in to_come), default=carve)
    hours = (carve - first) / HOUR
    if hours > 0.5:
        place = OVEN if oven else known.hold
        still = [_own(p) for p in known.pieces if p.id in to_come]
        hold_h = hold_hours(still, place, known.limit, known.altitude)
        hot = f"{hold_h:.1f} h or so" if hold_h < MOST_H else "as long as that"
        words = f"Change nothing, and hold the first piece {hours:.1f} h: {PLACES[place].words} it keeps hot {hot}."
        if hours > hold_h < MOST_H:
            words += " That is too long: leave it wrapped in the pit at 70-80 C first."
    if cold:
        words += " What is in the box is not hot by then."
    return Choice("as it is", odds, _likely(known, base), words)


def _ways(known: model.Known, oven: bool) -> Iterator[tuple[str, model.Known, str]]:
    bare = [p for p in known.pieces if p.place == "pit" and p.on_at and not _wrapped(p)]
    pit = [p for p in known.pieces if p.place == "pit" and p.on_at]
    up = pit and known.low < UPPER[0] - 1.0
    if bare:
        words = f"Wrap {_names(bare)} now: quicker through the plateau; the bark stays as it is."
        yield "wrap now", _wrap(known), words
    if up:
        raised = msgspec.structs.replace(known, low=UPPER[0], high=UPPER[1])
        yield "band up", raised, "Order the band to 129-135 C (265-275 F), no higher: above it the bark burns."
        if bare:
            yield "wrap now, band up", _wrap(raised), "Both."
    if oven and pit:
        yield "oven", _move(known), "Wrap, and finish in an oven at 130 C: no fire, no fuel, but no smoke either."


def _wrapped(piece: model.Piece) -> bool:
    wraps = [note for note in piece.notes if note.kind == "wrapped"]
    return bool(wraps and wraps[-1].text)


def _wrap(known: model.Known) -> model.Known:
    """As if all that lies bare in the pit were wrapped now."""
    pieces = []
    for piece in known.pieces:
        one = piece
        if piece.place == "pit" and piece.on_at and not _wrapped(piece):
            note = model.Note(known.now, "wrapped", None, piece.wrap_with or "paper")
            one = msgspec.structs.replace(piece, notes=[*piece.notes, note], wrap_with=note.text)
        pieces.append(one)
    return msgspec.structs.replace(known, pieces=pieces)


def _move(known: model.Known) -> model.Known:
    """As if all that is in the pit went wrapped into an oven now."""
    wrapped = _wrap(known)
    pieces = [
        msgspec.structs.replace(p, place="oven", notes=[*p.notes, model.Note(known.now, "in_oven")])
        if p.place == "pit"
        else p
        for p in wrapped.pieces
    ]
    return msgspec.structs.replace(wrapped, pieces=pieces, low=OVEN_C[0], high=OVEN_C[1])


def _waves(known: model.Known, base: Sequence[model.PieceAhead], moved: Moved, own: Sequence[Own]) -> Choice:
    """Half of the pieces at serving, the others 90 min later."""
    half = (len(own) + 1) // 2
    by = moved.serve - sum(PRACTICE[o.cut].carve_min for o in own[:half]) * MINUTE
    by -= max(PRACTICE[o.cut].rest_min for o in own) * MINUTE
    odds = waves(_each(known, base, by), _each(known, base, by + BETWEEN), half)
    words = (
        f"{half} of {len(own)} pieces at the table in time, the others within 90 min after; first done, first carved."
    )
    return Choice("in waves", odds, _likely(known, base), words)


def _names(pieces: Sequence[model.Piece]) -> str:
    return ", ".join(piece.name for piece in pieces)


def page(found: Moved, units: str = "C", zone: tzinfo | None = None) -> list[str]:
    """The choices as lines of at most 80 columns. units: F or C."""
    when = f"{local(found.serve, zone):%a %d %b %H:%M}"
    lines = textwrap.wrap(
        f"{found.cook}: serving moves to {when}. All pieces must be out by {local(found.done_by, zone):%a %H:%M}, to "
        f"rest and to be carved; it is {local(found.now, zone):%a %H:%M}.",
        80,
    )
    for words in (*found.hold, *(["All but the first choice take that as done."] if found.hold else [])):
        lines += textwrap.wrap(degrees(words, units), 80)
    lines += ["", f"  {'choice':20}{'ready':>7}   {'last done':12}"]
    for one in found.choices:
        likely = f"{local(one.likely, zone):%a %H:%M}" if one.likely else "may not come"
        lines.append(f"  {one.name:20}{share(one.odds):>7}   {likely:12}".rstrip())
        lines += textwrap.wrap(degrees(one.words, units), 80, initial_indent="      ", subsequent_indent="      ")
    return lines

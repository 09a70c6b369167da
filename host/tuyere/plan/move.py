"""Serving has moved during a cook: what can be done, each choice with its odds."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Iterator, Sequence
from datetime import tzinfo
from statistics import NormalDist

import msgspec
from msgspec import Struct, field

from tuyere.forecast import model
from tuyere.meat.cuts import CUTS

from .asked import Own, check_piece
from .drawing import forecaster
from .start import carve_begins, must_be_done
from .supper import BOX, OVEN, hold_hours
from .times import HOUR, MINUTE, BadPlan, local, moment, share
from .trade import PRACTICE

Ahead = Callable[[model.Known], list[model.PieceAhead]]
UPPER = (129.4, 135.0)  # C, 265-275 F: the upper part of the usual band
OVEN_C = (121.1, 135.0)
BETWEEN = 90 * MINUTE  # from the first wave to the second
DONE = ("box", "out", "carved")
LATEST = 10  # min in which a probe's reading is of now
Z10 = NormalDist().inv_cdf(0.9)


class Choice(Struct):
    """A thing to do. odds: ready in time; likely: when the last piece is done, 0 if that is not known."""

    name: str
    odds: float
    likely: int
    words: str


class Moved(Struct):
    """serve: the new time; done_by: when all pieces must be out, to rest and to be carved; best odds first."""

    cook: str
    now: int
    serve: int
    done_by: int
    choices: list[Choice] = field(default_factory=list)


def choices(
    cook: str, known: model.Known, serve: str, oven: bool, ahead: Ahead | None = None, zone: tzinfo | None = None
) -> Moved:
    """What can be done in a cook that runs. ahead: as `tuyere.forecast.finish.ahead`, which it is unless given."""
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
    hold_h = hold_hours(own, OVEN if oven else BOX, known.limit, known.altitude)
    found.choices = [_as_it_is(known, base, found, carve_begins(own, at), hold_h, oven)]
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


def chance(finish: model.Range | None, by: int) -> float:
    """The odds of a finish by then: half a normal curve on each side of the middle, through its 10 and 90 %."""
    if finish is None:
        return 0.0
    side = finish.likely - finish.early if by < finish.likely else finish.late - finish.likely
    return NormalDist().cdf((by - finish.likely) / max(side / Z10, 1.0))


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
    """All pieces by then; each meat is its own, so their odds are multiplied."""
    return Choice(name, math.prod(_each(known, found, by)), _likely(known, found), words)


def _as_it_is(
    known: model.Known, base: Sequence[model.PieceAhead], moved: Moved, carve: int, hold_h: float, oven: bool
) -> Choice:
    finishes = [one.finish.likely for one in base if one.finish]
    first = min(finishes, default=known.now)
    hours = (carve - first) / HOUR
    words = "Change nothing."
    if hours > 0.5:
        where = "a low oven" if oven else "the box with towels"
        words = f"Change nothing, and hold the first piece {hours:.1f} h: {where} keeps it hot {hold_h:.1f} h or so."
        if hours > hold_h:
            words += " That is too long: leave it wrapped in the pit at 70-80 C first."
    return _choice("as it is", known, base, moved.done_by, words)


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
    now, later = _each(known, base, by), _each(known, base, by + BETWEEN)
    counts = {(0, 0): 1.0}  # (done now, done later) -> odds
    for early, late in zip(now, later, strict=True):
        grown: dict[tuple[int, int], float] = {}
        for (a, b), odds in counts.items():
            for add, part in (((1, 0), early), ((0, 1), max(late - early, 0.0)), ((0, 0), 1.0 - max(late, early))):
                key = (a + add[0], b + add[1])
                grown[key] = grown.get(key, 0.0) + odds * part
        counts = grown
    odds = sum(part for (a, b), part in counts.items() if a >= half and a + b == len(own))
    words = (
        f"{half} of {len(own)} pieces at the table in time, the others within 90 min after; first done, first carved."
    )
    return Choice("in waves", min(odds, 1.0), _likely(known, base), words)


def _names(pieces: Sequence[model.Piece]) -> str:
    return ", ".join(piece.name for piece in pieces)


def page(found: Moved, zone: tzinfo | None = None) -> list[str]:
    """The choices as lines of at most 80 columns."""
    when = f"{local(found.serve, zone):%a %d %b %H:%M}"
    lines = textwrap.wrap(
        f"{found.cook}: serving moves to {when}. All pieces must be out by {local(found.done_by, zone):%a %H:%M}, to "
        f"rest and to be carved; it is {local(found.now, zone):%a %H:%M}.",
        80,
    )
    lines += ["", f"  {'choice':20}{'ready':>7}   {'last done':12}"]
    for one in found.choices:
        likely = f"{local(one.likely, zone):%a %H:%M}" if one.likely else "may not come"
        lines.append(f"  {one.name:20}{share(one.odds):>7}   {likely:12}".rstrip())
        lines += textwrap.wrap(one.words, 80, initial_indent="      ", subsequent_indent="      ")
    return lines

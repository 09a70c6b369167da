"""The pieces of a cook that runs: what is done, what is awaited, and the same cook as if something were done now."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from tuyere.cook.follows import NOT_YET
from tuyere.forecast import exchange
from tuyere.meat import safety
from tuyere.meat.cuts import CUTS
from tuyere.plan.hot import names
from tuyere.plan.request import Own, check_piece
from tuyere.plan.times import BadPlan
from tuyere.text import Said, Temperature, sentences, text

OVEN_C = (121.1, 135.0)  # of an oven that finishes what the pit began
DONE = ("box", "out")
LATEST = 10  # min for which a probe's reading counts as present


def own_of(piece: exchange.KnownPiece) -> Own:
    """The piece as a plan has it. BadPlan for an unknown cut."""
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
        raise BadPlan(sentences([wrong.said, "Correct it on the screen (`tuyere watch`)."])) from None
    return own


def read(known: exchange.Known, piece: exchange.KnownPiece) -> list[float]:
    """What its last reading by hand and its probe say of its middle, C."""
    read: list[float | None] = [note.value for note in piece.notes if note.kind == "hand_reading"][-1:]
    if 1 <= piece.probe <= len(known.columns.meats):
        read += [c for c in known.columns.meats[piece.probe - 1][-LATEST:] if c is not None][-1:]
    return [c for c in read if c is not None]


def is_done(known: exchange.Known, piece: exchange.KnownPiece) -> bool:
    """Whether it is out or held hot, or its probe (or the last reading by hand) stands at its target and nobody has
    felt since that it is not tender."""
    if piece.held or piece.place in DONE:
        return True
    felt = [note.text for note in piece.notes if note.kind == "tender"][-1:]
    return felt != [NOT_YET] and any(c >= piece.target for c in read(known, piece))


def awaited(known: exchange.Known) -> list[exchange.KnownPiece]:
    """What lies in the pit and is still to be done."""
    return [p for p in known.pieces if p.place == "pit" and p.on_at and not p.held]


def aside(known: exchange.Known) -> list[Said]:
    """What happens to the pieces that the pit only keeps hot, when its heat changes."""
    kept = [p for p in known.pieces if p.place == "pit" and p.held]
    return [f"Take {names(kept)} out first and keep it hot elsewhere."] if kept else []


def left_out(chilled: Sequence[exchange.KnownPiece]) -> list[Said]:
    """What is cold or gets cold on purpose is no part of a hot serving."""
    if not chilled:
        return []
    return [
        text(
            "{names} is chilled and not counted here: to serve it hot, heat it through to {through}.",
            names=names(chilled), through=Temperature(safety.REHEATED_C),
        )
    ]  # fmt: skip


def is_wrapped(piece: exchange.KnownPiece) -> bool:
    wraps = [note for note in piece.notes if note.kind == "wrapped"]
    return bool(wraps and wraps[-1].text)


def wrapped_now(known: exchange.Known) -> exchange.Known:
    """As if all that lies bare in the pit were wrapped now."""
    pieces = []
    for piece in known.pieces:
        one = piece
        if piece in awaited(known) and not is_wrapped(piece):
            note = exchange.Note(known.now, "wrapped", None, piece.wrap_with or "paper")
            one = msgspec.structs.replace(piece, notes=[*piece.notes, note], wrap_with=note.text)
        pieces.append(one)
    return msgspec.structs.replace(known, pieces=pieces)


def in_an_oven(known: exchange.Known) -> exchange.Known:
    """As if all that is in the pit went wrapped into an oven now."""
    wrapped = wrapped_now(known)
    pieces = [
        msgspec.structs.replace(p, place="oven", notes=[*p.notes, exchange.Note(known.now, "in_oven")])
        if p.place == "pit" and not p.held
        else p
        for p in wrapped.pieces
    ]
    return msgspec.structs.replace(wrapped, pieces=pieces, low=OVEN_C[0], high=OVEN_C[1])

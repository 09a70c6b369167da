"""What is expected, in words: when a piece is ready, when to wrap it, how long it and the fuel last.

Unknown values (0) are left out. A range is the 10, 50 and 90 % of the forecast: one time in ten it
comes before the first, one time in ten after the last.
"""

from __future__ import annotations

from itertools import pairwise

from tuyere.cook import say
from tuyere.cook.care import ending_probe
from tuyere.cook.piece_prompts import wrap_ends
from tuyere.cook.programme import AFTER, BY_HAND
from tuyere.cook.snapshot import Phase, Piece, Snapshot
from tuyere.text import Mass, Reader, Said, Temperature, render

AT_REST = ("off", "tripped", "burnout")
Range = tuple[int, int, int]  # UTC ms: early, likely, late
Point = tuple[int, float, float, float]  # of a forecast: UTC ms; low, mid, high in C (10, 50, 90 %)


def _range(early: int, likely: int, late: int) -> Range | None:
    return (early or likely, likely, late or likely) if likely else None


def finish(piece: Piece) -> Range | None:
    """When it is ready, while it is in the heat."""
    found = _range(piece.finish_early, piece.finish_likely, piece.finish_late)
    return found if piece.place in ("pit", "oven") and not felt(piece) else None


def fuel(shot: Snapshot) -> Range | None:
    """When the fuel ends."""
    return _range(shot.fuel_early, shot.fuel_likely, shot.fuel_late)


def span_words(when: Range, now: int) -> str:
    """'11:40 (10:50-12:50)'; on another day 'Thu 07:01 (04:50-11:22)'."""
    early, likely, late = say.range_words(*when, now)
    return f"{likely} ({early}-{late})"


def fuel_words(shot: Snapshot, units: str) -> str:
    """'3.2 kg, at least until 04:59, likely 05:59', "" where nothing is known."""
    ends = fuel(shot)
    left = render(Mass(shot.fuel_left), Reader(units)) if shot.fuel_left is not None else ""
    until = ""
    if ends:
        early, likely, _ = ends
        same_day = say.day(early) == say.day(likely)
        until = f"at least until {say.when(early, shot.now)}, likely "
        until += say.clock(likely) if same_day else say.when(likely, shot.now)
    return ", ".join(part for part in (left, until) if part)


def hot(piece: Piece, now: int) -> str:
    """'hot until 14:20, 3 h', or that it is over."""
    if not piece.hold_until or piece.place != "box":
        return ""
    if piece.hold_until <= now:
        return f"hot until {say.when(piece.hold_until, now)}, over"
    return f"hot until {say.when(piece.hold_until, now)}, {say.span(piece.hold_until - now)}"


def felt(piece: Piece) -> str:
    """'held' or 'tender' in place of a time to be ready at."""
    if piece.place not in ("pit", "oven"):
        return ""
    return "held" if piece.held else "tender" if piece.tender_at else ""


def brief(piece: Piece, now: int, bare: bool) -> str:
    """'ready 11:40', 'hot to 14:20', 'no fire' where that is what it depends on; `bare` under a heading that says
    ready: '11:40', 'to 14:20'."""
    if piece.unlit:
        return "no fire"
    if state := felt(piece):
        return state
    ready = finish(piece)
    if ready:
        return f"{'' if bare else 'ready '}{say.when(ready[1], now)}"
    return f"{'' if bare else 'hot '}to {say.when(piece.hold_until, now)}" if hot(piece, now) else ""


def wrap(piece: Piece, now: int) -> str:
    """'wrap 02:39-03:39', 'wrap by 03:39' once that has begun, while it lies bare in the pit and is not done."""
    if not (piece.wrap_from and piece.wrap_until) or piece.wrap or piece.place != "pit" or felt(piece):
        return ""
    ends = wrap_ends(piece)
    if ends <= now:
        return "wrap now"
    if piece.wrap_from <= now:
        return f"wrap by {say.when(ends, now)}"
    return f"wrap {say.when(piece.wrap_from, now)}-{say.when(ends, now)}"


def kept(piece: Piece, reader: Reader) -> str:
    """'held hot, oven at 160 F', 'tender: take it out'; "" for a piece that is awaited or elsewhere."""
    state = felt(piece)
    if state != "held":
        return "tender: take it out" if state else ""
    at = f", oven at {render(Temperature(piece.oven), reader)}" if piece.place == "oven" and piece.oven else ""
    return f"held hot{at}"


def short(piece: Piece, now: int, reader: Reader) -> list[str]:
    """The window of the wrap, the finish and the hold, in few words each."""
    ready = finish(piece)
    if piece.unlit:
        return ["ready: needs a fire"]
    found = [wrap(piece, now), f"ready {span_words(ready, now)}" if ready else "", kept(piece, reader), hot(piece, now)]
    return [words for words in found if words]


def full(piece: Piece, now: int, reader: Reader) -> list[Said]:
    """In sentences, with what a range means, and why."""
    out: list[Said] = [
        words[:1].upper() + words[1:] for words in short(piece, now, reader) if not words.startswith("ready")
    ]
    ready = finish(piece)
    if ready:
        early, likely, late = say.range_words(*ready, now)
        out.append(f"Ready about {likely}: one time in ten before {early}, one in ten after {late}")
    return out + piece.expected


def bands(shot: Snapshot | None) -> list[tuple[int, float, float]]:
    """The bands to come as (from UTC ms, low, high), the present one first; none where no other band is foreseen. A
    phase that a person ends ends the list; one that a piece ends lasts until its forecast reads that."""
    cycle = shot.cycle if shot else None
    if shot is None or cycle is None or cycle.state in AT_REST or cycle.phase >= len(shot.phases):
        return []
    found = [(cycle.at, cycle.low, cycle.high)]
    at = shot.phase_since
    for phase, new in pairwise(shot.phases[cycle.phase :]):
        at = at + round(phase.end_value * say.MINUTE) if phase.end_kind == AFTER else _read_at(shot, phase, cycle.at)
        if not at or phase.end_kind == BY_HAND:
            break
        found.append((max(at, cycle.at), new.low, new.high))
    return found if any(one[1:] != found[0][1:] for one in found) else []


def _read_at(shot: Snapshot, phase: Phase, now: int) -> int:
    """When the piece that ends the phase is likely to read what ends it, 0 if that is not foreseen."""
    piece = next((p for p in shot.pieces if p.probe and p.probe == ending_probe(phase) and p.place == "pit"), None)
    for one in shot.forecasts:
        if piece and one.piece == piece.id:
            return next((max(at, now) for at, heat in zip(one.at, one.mid, strict=True) if heat >= phase.end_value), 0)
    return 0


def points(shot: Snapshot | None) -> list[Point]:
    """The forecasts of the pieces' temperatures, one after the other, each in order of time."""
    return [
        point
        for one in (shot.forecasts if shot else [])
        for point in zip(one.at, one.low, one.mid, one.high, strict=True)
    ]

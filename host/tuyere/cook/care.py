"""Meat in a pit whose fire nothing holds: which pieces, how long food safety gives them, and the choices.

When the fan is off, after a trip (also an acknowledged one), after the programme and with a fading fire, the meat in
the pit cools, and somebody must hear of it. A piece that is done and still hot is not in need: it may stay in a dying
pit as in any other hot hold. Pure functions of what is known; times are UTC ms, temperatures degrees C.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

from hearth.core import fields
from msgspec import Struct

from tuyere.codes import AT_REST
from tuyere.cook import food_safety, programme
from tuyere.cook.places import GONE
from tuyere.cook.snapshot import Cycle, Event, Phase, Piece, Snapshot
from tuyere.meat import safety
from tuyere.text import Clock, Count, Duration, Key, Listed, Said, Temperature, Value, band, sentences, text

MINUTE, HOUR = 60_000, 3_600_000
FEEL_AHEAD = 2.0  # C below its target, from which a piece is felt: it is done if it is tender
SAME = 0.5  # C; bands that are the same on a screen
READ_FOR = HOUR  # how long a hand reading counts as proof that a piece is hot; common practice, no source
NAMED = 3  # pieces named beside the most pressing one
NOT_YET = 1 << 62  # sorts a piece without a time after those that have one

UNKEPT, PAST, SPOILT = "meat_unkept", "meat_past", "meat_spoilt"  # codes of alarms
FIRST = (PAST, SPOILT, UNKEPT)  # they come before every other urgent alarm, as in the headline
WHAT = "Meat in the pit, and its fire is not being held"
LOST_TIME = "Meat in the pit was too long at an unsafe temperature"
SPOILT_WHAT = "Meat out of the pit was too long at an unsafe temperature"
AWAY = ("out", "box", "oven", "cooling")  # places out of the pit where meat still waits to be eaten
START, NOTE = Key("start", "s"), Key("note", "n")
LIGHT = text("Light again: fresh lit charcoal, start ({key})", key=START)
AFTER_TRIP = text("When the fire is right: acknowledge and start ({key})", key=START)
OVEN = band(121.1, 135.0)  # common practice, no source


class Open(Protocol):
    """What is needed of a cook."""

    @property
    def meat_on(self) -> int:
        """UTC ms, 0 not yet."""

    @property
    def ended(self) -> int:
        """UTC ms, 0 not yet."""


class Need(Struct):
    """A piece in the pit about which somebody has to decide."""

    piece: int  # 0: meat without any piece in the list
    name: str
    heat: float | None  # its last reading
    by: int = 0  # until when food safety asks for a decision, UTC ms; 0 not known
    past: bool = False  # that time is over


class Care(Struct):
    """What the meat of a cook needs from its fire; used in everything said of the pit (the engine's `Cooking.care`)."""

    needs: list[Need] = []  # the most pressing first
    spoilt: list[str] = []  # names of pieces out of the pit that food safety says to throw away
    empty: bool = False  # the meat went on, and every piece is out of the pit
    probe_out: bool = False  # the piece whose probe ends this phase is out of the pit: its missing reading is no fault
    changes: bool = True  # a phase still to come has another band
    limit: float = 60.0  # of hot holding, C
    allowed: float = safety.LEFT_OUT_H  # hours that meat which was hot may be below it
    now: int = 0


def inside(cook: Open | None, pieces: Iterable[Piece]) -> list[Piece]:
    """The pieces that lie in the pit; one in the list that never went on does not."""
    if cook is None or not cook.meat_on:
        return []
    return [piece for piece in pieces if piece.place == "pit" and piece.on_at]


def emptied(cook: Open | None, pieces: Sequence[Piece]) -> bool:
    """The meat went on, and every piece is out of the pit."""
    return bool(cook is not None and cook.meat_on and pieces) and all(piece.place != "pit" for piece in pieces)


def carved(pieces: Sequence[Piece]) -> bool:
    """Nothing is left to look after."""
    return all(piece.place in GONE for piece in pieces)


def at_rest(cycle: Cycle | None) -> bool:
    """Whether the board gives the fire no air, and will not start to by itself. A restart that is still undecided (five
    minutes at most) does not count."""
    return cycle is not None and cycle.resume != "waiting" and (bool(cycle.trip) or cycle.state in AT_REST)


def unkept(cycle: Cycle | None) -> bool:
    """Whether the board is at rest, or the fire does not answer it. A doubted probe alone is neither."""
    fading = cycle is not None and cycle.state == "fading" and cycle.reason != "probe_doubted"
    return fading or at_rest(cycle)


def needs(
    cook: Open | None,
    cycle: Cycle | None,
    pieces: Sequence[Piece],
    events: Sequence[Event],
    highest: Mapping[int, float],
    *,
    limit: float,
    now: int,
) -> list[Need]:
    """The pieces in the pit that nobody keeps warm, and those whose time is over (no fire saves them). The most
    pressing first: past its time, not read, by its time. Each piece has the decision of food safety.

    highest: reading of its probe so far, by the number of the piece. limit: of hot holding, C.
    """
    if cook is None or cook.ended or not cook.meat_on:
        return []
    cold = unkept(cycle)
    found = []
    for piece in inside(cook, pieces):
        heat, verdict = piece.temperature, piece.decision.verdict
        past = verdict == food_safety.THROW_AWAY
        if past or (cold and not _done_and_hot(piece, highest.get(piece.id), events, limit, now)):
            if verdict == food_safety.MEASURE:
                heat = None  # the reading is too old
            found.append(Need(piece.id, piece.name, heat, piece.decision.by, past))
    if cold and not pieces:
        read = [heat for heat in (cycle.meats if cycle is not None else ()) if heat is not None]
        found.append(Need(0, "the meat", min(read, default=None)))
    return sorted(found, key=lambda need: (not need.past, need.heat is not None, need.by or NOT_YET))


def _done_and_hot(piece: Piece, highest: float | None, events: Sequence[Event], limit: float, now: int) -> bool:
    heat = piece.temperature
    if heat is None or heat < limit or max(heat, highest or heat) < piece.target - FEEL_AHEAD:
        return False
    return not piece.by_hand or now - _read_at(piece, events) <= READ_FOR


def _read_at(piece: Piece, events: Sequence[Event]) -> int:
    return max((e.at for e in events if e.kind == "hand_reading" and e.piece == piece.id), default=0)


def rank(code: str) -> int:
    """The order of an urgent alarm of this cause among those of its level."""
    return FIRST.index(code) if code in FIRST else len(FIRST)


# -- in words ---------------------------------------------------------------------------------


def said(need: Need, care: Care) -> Said:
    """What stands for one piece, and how long food safety gives it."""
    name = need.name[:1].upper() + need.name[1:]
    if need.past:
        last: Said | Temperature = Temperature(need.heat) if need.heat is not None else "no reading"
        return text("{name} ({heat}) is past its time: throw it away.", name=name, heat=last)
    if need.heat is None:
        return text("{name} has no reading: measure it now.", name=name)
    heat = Temperature(need.heat)
    if need.by > care.now:
        left = Duration((need.by - care.now) / 1000)
        return text(
            "{name}, {heat}: food safety asks for a decision by {by}, in {left}.",
            name=name,
            heat=heat,
            by=Clock(need.by),
            left=left,
        )
    if need.by or need.heat < care.limit:
        return text("{name}, {heat}: food safety asks for a decision now.", name=name, heat=heat)
    time = Duration(care.allowed * 3600)
    return text(
        "{name}, {heat}: still hot; {time} to decide from when it is below {limit}.",
        name=name,
        heat=heat,
        time=time,
        limit=Temperature(care.limit),
    )


def headline(found: Sequence[Need]) -> str:
    """Words for the headline and for the list of alarms alike."""
    return LOST_TIME if any(need.past for need in found) else WHAT


def why(care: Care) -> Said:
    """How long food safety gives the most pressing piece, and how warm the others are."""
    if not care.needs:
        return ""
    first, *others = care.needs
    out = [said(first, care)]
    if others:
        shown: list[Value] = [
            text(
                "{name} {heat}",
                name=one.name,
                heat=Temperature(one.heat) if one.heat is not None else "without reading",
            )
            for one in others[:NAMED]
        ]
        if len(others) > NAMED:
            shown.append(Count(len(others) - NAMED, "piece more", "pieces more"))
        out.append(text("Also: {others}.", others=Listed(tuple(shown))))
    return sentences(out)


def choices(found: Sequence[Need], again: Said = LIGHT) -> list[Said]:
    """What can be done, in the order in which to think of it. `again`: how to get the fire back, "" where that has been
    said."""
    out: list[Said] = []
    if any(need.heat is None and not need.past for need in found):
        out.append("Measure what has no reading, in its middle")
    if any(not need.past for need in found):
        oven = text("Or an oven at {oven}: move it there, and note that ({key})", oven=OVEN, key=NOTE)
        out += [one for one in (again, oven) if one != ""]
    out.append("Or throw it away" if out else "Throw it away")
    return [*out, "Local rules go first"]


def do(found: Sequence[Need], tripped: bool = False) -> Said:
    """The choices in one sentence, "" where only one is left."""
    if all(need.past for need in found):
        return ""
    again = "See to the fire, acknowledge and start" if tripped else "Light again and start"
    return text("{again} ({key}), use an oven, or throw it away.", again=again, key=START)


def depends(shot: Snapshot, needs: Sequence[Need], rests: bool) -> None:
    """While the board is at rest, forecasts of the pit, its pieces and its fuel do not hold. Say what they depend on
    instead. A piece whose time is over has no forecast."""
    past = {need.piece for need in needs if need.past}
    cold = {need.piece for need in needs} - past
    in_pit = {piece.id for piece in shot.pieces if piece.place == "pit" and (rests or piece.id in past)}
    for piece in shot.pieces:
        if piece.id in in_pit:
            piece.finish_early = piece.finish_likely = piece.finish_late = 0
            piece.wrap_from = piece.wrap_best = piece.wrap_until = 0
            piece.unlit = rests and piece.id in cold
            piece.expected = ["When it is ready depends on the fire, which is not being held"] if piece.unlit else []
    shot.forecasts = [one for one in shot.forecasts if one.piece not in in_pit]
    if rests:
        shot.fuel_early = shot.fuel_likely = shot.fuel_late = 0
        shot.fuel_words = ""


# -- the programme ----------------------------------------------------------------------------


def changes_ahead(phases: Sequence[Phase], cycle: Cycle) -> bool:
    """Whether a phase still to come has another band than the pit has now."""
    ahead = phases[cycle.phase + 1 :]
    return any(abs(p.low - cycle.low) >= SAME or abs(p.high - cycle.high) >= SAME for p in ahead)


def ending_probe(phase: Phase) -> int:
    """The number of the meat probe that ends a phase, 0 if none does."""
    kind = phase.end_kind
    return kind - fields.END_MEAT_1 + 1 if fields.END_MEAT_1 <= kind <= fields.END_MEAT_3 else 0


def out_by_probe(phase: Phase, pieces: Sequence[Piece]) -> Piece | None:
    """The piece whose probe ends the phase, once it is out of the pit; None while one with that probe is in it."""
    probe = ending_probe(phase)
    its = [piece for piece in pieces if probe and piece.probe == probe]
    return None if not its or any(piece.place == "pit" for piece in its) else its[-1]


def followed(phases: Sequence[Phase], cycle: Cycle, pieces: Sequence[Piece]) -> list[Phase]:
    """The programme with the present phase ended by another probe, where its own reads nothing and no piece in the pit
    has it any more: the piece was given another probe, or it is out and others are still in. The coolest one decides.
    Empty where nothing is to be changed. The band stays as it is now, also one that was set by hand."""
    row = cycle.phase
    if not cycle.lost or row >= len(phases) or ending_probe(phases[row]) != cycle.lost:
        return []
    if not changes_ahead(phases, cycle) or any(p.place == "pit" and p.probe == cycle.lost for p in pieces):
        return []
    read = {piece.probe: piece.temperature for piece in pieces if piece.place == "pit" and not piece.by_hand}
    rest = [(heat, probe) for probe, heat in read.items() if probe and heat is not None]
    if not rest:
        return []
    was, kind = phases[row], fields.END_MEAT_1 + min(rest)[1] - 1
    new = programme.phase(was.name, cycle.low, cycle.high, kind, was.end_value, purpose=was.purpose)
    return [*phases[:row], new, *phases[row + 1 :]]

"""The rounds: what the hands must do next, and when. A pure function of what is known.

Hours and intervals are those of the job (open smoke: damp from hour 3, a bark note hourly
from hour 4; wrap 45-105 min ahead of the wanted shade, because colour deepens under
paper); those marked so are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

from hearth.core import fields

from .model import Cook, Cycle, Event, Phase, Piece, Prompt

MINUTE = 60_000
HOUR = 60 * MINUTE
DAMP_FROM, BARK_FROM = 3 * HOUR, 4 * HOUR  # after the meat went on
EVERY = HOUR
PAN_EVERY, FUEL_EVERY = 3 * HOUR, 4 * HOUR  # common practice, no source
WANTED = 8.0  # shade, 0 raw to 10 black
AHEAD_MOST, AHEAD_LEAST = 105 * MINUTE, 45 * MINUTE
FEEL_FROM, DONE = 93.0, 95.0  # C
VENT_FOR = 10 * MINUTE  # out of the pit before the box; common practice, no source
WARM_LEAST = 60.0  # C, the home limit for hot holding (140 F); local rules go first
LOOK_FOR = 15 * MINUTE  # a thing to look at, at the start, is shown for so long


def prompts(
    cook: Cook | None,
    pieces: Sequence[Piece],
    events: Sequence[Event],
    now: int,
    cycle: Cycle | None = None,
    phases: Sequence[Phase] = (),
    phase_since: int = 0,
) -> list[Prompt]:
    """What the hands must do, soonest first; due 0 means now. `events` are all of the cook, in any order."""
    if cook is None or cook.ended:
        return []
    found: list[Prompt] = []
    if cycle is not None and cycle.state == "opened":
        found.append(Prompt("look", "Shut the lid as soon as you can", 0))
    if cycle is not None and cycle.state == "fading":
        found.append(
            Prompt("fuel_added", "The fire is fading: look at the fuel, knock the ash off, add lit charcoal", 0)
        )
    if not cook.meat_on:
        found += _setup(cook, events, now, cycle)
    else:
        inside = [p for p in pieces if p.place == "pit"]
        found += _fire(cook, inside, pieces, events)
        for piece in pieces:
            found += _piece(cook, piece, events, now)
        if cycle is not None:
            found += _next_phase(cycle, inside, events, phases, phase_since)
        if pieces and not inside:
            found.append(Prompt("look", "The pit is empty: end the cook and close every vent", 0))
    return sorted(found, key=lambda p: p.due)


def _last(events: Sequence[Event], kind: str, piece: int | None = None) -> int:
    """When such an event last happened, 0 if never; an event of the whole pit counts for every piece."""
    return max((e.at for e in events if e.kind == kind and (piece is None or e.piece in (0, piece))), default=0)


def _setup(cook: Cook, events: Sequence[Event], now: int, cycle: Cycle | None) -> list[Prompt]:
    found = []
    if now - cook.started < LOOK_FOR:
        found.append(Prompt("look", "Set the vents: the top one half open, the lower ones shut but for the fan", 0))
    if not _last(events, "probe_seated"):
        found.append(Prompt(
            "probe_seated",
            "Seat the probes: the pit's at grate height, 5 cm from the meat and not over the pan; "
            "the meat's mid-thickness in the flat",
            0,
        ))  # fmt: skip
    if not _last(events, "pan_filled"):
        found.append(Prompt("pan_filled", "Fill the water pan", 0))
    ready = cycle is not None and cycle.state == "holding"
    due = 0 if ready else max(cook.started + HOUR, now + 10 * MINUTE)
    words = "The pit is ready: put the meat on" if ready else "Put the meat on once the pit holds its band"
    found.append(Prompt("meat_on", words, due))
    return found


def _fire(cook: Cook, inside: Sequence[Piece], pieces: Sequence[Piece], events: Sequence[Event]) -> list[Prompt]:
    if pieces and not inside:
        return []
    found = []
    pan = max(_last(events, "pan_filled"), cook.meat_on)
    found.append(Prompt("pan_filled", "Look at the water pan and fill it up", pan + PAN_EVERY))
    fuel = max(_last(events, "fuel_added"), cook.meat_on)
    found.append(Prompt("fuel_added", "Look at the fuel: add charcoal if less than a third is left", fuel + FUEL_EVERY))
    if any(not piece.wrap for piece in inside):
        damp = max(cook.meat_on + DAMP_FROM, _last(events, "spritzed") + EVERY)
        found.append(Prompt("spritzed", "Damp the places that are dry or too dark (spritz)", damp))
    return found


def _piece(cook: Cook, piece: Piece, events: Sequence[Event], now: int) -> list[Prompt]:
    on = piece.on_at or cook.meat_on
    heat = piece.temperature
    if piece.place in ("pit", "oven"):
        found = []
        if heat is not None and heat >= FEEL_FROM:
            words = f"Feel {piece.name}: done when a skewer goes in without a push, at 95-97 C"
            found.append(Prompt("out", words, 0 if heat >= DONE else now + 15 * MINUTE, piece.id))
        if piece.place == "pit" and not piece.wrap:
            bark = max(on + BARK_FROM, _last(events, "shade", piece.id) + EVERY)
            found.append(Prompt("shade", f"Note the shade of {piece.name}, 0 raw to 10 black", bark, piece.id))
            found += _wrap(piece, on, events, now)
        elif not piece.probe:
            read = max(
                _last(events, "wrapped", piece.id),
                _last(events, "in_oven", piece.id),
                _last(events, "hand_reading", piece.id),
            )
            found.append(
                Prompt("hand_reading", f"Take the temperature of {piece.name} by hand", read + EVERY, piece.id)
            )
        return found
    if piece.place == "out":
        vented = _last(events, "out", piece.id) + VENT_FOR
        return [
            Prompt(
                "in_box",
                f"Let {piece.name} vent, then box it hot; held above 60 C until it is carved",
                vented,
                piece.id,
            )
        ]
    if piece.place == "box":
        if heat is not None and heat < WARM_LEAST + 2:
            return [
                Prompt(
                    "carved",
                    f"{piece.name} is near the 60 C limit of hot holding: carve it, or warm it up",
                    0,
                    piece.id,
                )
            ]
        if not piece.probe:
            read = max(_last(events, "in_box", piece.id), _last(events, "hand_reading", piece.id))
            return [Prompt("hand_reading", f"Take the temperature of {piece.name} in the box", read + EVERY, piece.id)]
    return []


def _next_phase(
    cycle: Cycle, inside: Sequence[Piece], events: Sequence[Event], phases: Sequence[Phase], since: int
) -> list[Prompt]:
    """A phase that the hands end at the wrap is over once all that lies in the pit was wrapped in it."""
    row = cycle.phase
    if row + 1 >= len(phases) or phases[row].end_kind != fields.END_BY_HAND:
        return []
    wrapped = [_last(events, "wrapped", piece.id) for piece in inside if piece.wrap]
    if not wrapped or len(wrapped) < len(inside) or max(wrapped) < since:
        return []
    new = phases[row + 1]
    words = f"The pieces are wrapped: go on to the next phase, {new.name} ({new.low:.0f}-{new.high:.0f} C)?"
    return [Prompt("phase", words, 0)]


def _wrap(piece: Piece, on: int, events: Sequence[Event], now: int) -> list[Prompt]:
    reached = shade_at(piece.id, on, events, WANTED)
    if reached is None:
        return []
    due = reached - AHEAD_MOST
    if reached - AHEAD_LEAST <= now:
        words = f"Wrap {piece.name} in paper now: its shade is nearly there, and deepens under paper"
        return [Prompt("wrapped", words, 0, piece.id)]
    words = (
        f"Wrap {piece.name} in paper within the hour after this: shade {WANTED:.0f} lies ahead, and deepens under paper"
    )
    return [Prompt("wrapped", words, due, piece.id)]


def shade_at(piece: int, on: int, events: Sequence[Event], wanted: float) -> int | None:
    """When the bark will have the wanted shade: a line through its last three notes, and raw (0) when it went on.

    None without a note, or while the notes do not darken.
    """
    notes = sorted((e.at, e.value) for e in events if e.kind == "shade" and e.piece == piece and e.value is not None)
    if not notes:
        return None
    if notes[-1][1] >= wanted:
        return notes[-1][0]
    points = ([(on, 0.0), *notes])[-3:]
    middle = sum(at for at, _ in points) / len(points)
    mean = sum(shade for _, shade in points) / len(points)
    spread = sum((at - middle) ** 2 for at, _ in points)
    if not spread:
        return None
    slope = sum((at - middle) * (shade - mean) for at, shade in points) / spread
    if slope <= 0:
        return None
    return max(round(middle + (wanted - mean) / slope), notes[-1][0])

"""The rounds: what the hands must do next, and when. A pure function of what is known.

Hours and intervals are those of the job (open smoke: damp from hour 3, a bark note hourly
from hour 4; wrap 45-105 min ahead of the wanted shade, because colour deepens under
paper); those marked so are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from hearth.core import fields

from tuyere.cook.snapshot import Cook, Cycle, Event, Phase, Piece, Prompt
from tuyere.meat import safety

MINUTE = 60_000
HOUR = 60 * MINUTE
DAMP_FROM, BARK_FROM = 3 * HOUR, 4 * HOUR  # after the meat went on
EVERY = HOUR
PAN_EVERY, FUEL_EVERY = 3 * HOUR, 4 * HOUR  # common practice, no source
FEEL_AHEAD = 2.0  # C below its target, from where on a piece is felt; it is done at its target if it is tender
SAME = 0.5  # C; bands that are the same on a screen
VENT_FOR = 10 * MINUTE  # out of the pit before the box; common practice, no source
OUT_FOR = HOUR  # lying out for longer, it must show that it is still hot; common practice, no source
LIMIT = 60.0  # C, the home limit for hot holding (140 F); local rules go first
HOLD_AHEAD, FUEL_AHEAD = 30 * MINUTE, 45 * MINUTE  # a warning comes so far before what it warns of
LOOK_FOR = 15 * MINUTE  # a thing to look at, at the start, is shown for so long


def prompts(
    cook: Cook | None,
    pieces: Sequence[Piece],
    events: Sequence[Event],
    now: int,
    cycle: Cycle | None = None,
    phases: Sequence[Phase] = (),
    phase_since: int = 0,
    *,
    fuel_ends: int = 0,
    limit: float = LIMIT,
) -> list[Prompt]:
    """What the hands must do, soonest first; due 0 means now, and an empty pit comes after all else that is due.
    `events` are all of the cook, in any order.

    fuel_ends: when it may end, one time in ten before that (0: not known); limit: of hot holding, C.
    """
    if cook is None or cook.ended:
        return []
    found: list[Prompt] = []
    if cycle is not None and cycle.state == "opened":
        found.append(Prompt("look", "Shut the lid as soon as you can", 0))
    emptied = bool(cook.meat_on and pieces) and all(piece.place != "pit" for piece in pieces)
    doubted = cycle is not None and cycle.reason == "probe_doubted"
    if doubted and not emptied:
        found.append(Prompt("look", "Look at the pit probe before you feed the fire; open slowly, from the side", 0))
    elif cycle is not None and cycle.state == "fading" and not emptied:
        found.append(
            Prompt("fuel_added", "The fire is fading: look at the fuel, knock the ash off, add lit charcoal", 0)
        )
    if not cook.meat_on:
        found += _setup(cook, events, now, cycle)
    else:
        inside = [p for p in pieces if p.place == "pit"]
        found += _fire(cook, inside, pieces, events, fuel_ends, now)
        for piece in pieces:
            found += _piece(cook, piece, events, now, limit)
        if cycle is not None:
            found += _next_phase(cycle, inside, events, phases, phase_since)
    found.sort(key=lambda p: p.due)
    if emptied:  # a fire that burns for nothing can wait, meat that grows cold cannot
        due = sum(prompt.due <= now for prompt in found)
        found.insert(due, Prompt("look", "The pit is empty: end the cook and close every vent", 0))
    return found


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


def _fire(
    cook: Cook, inside: Sequence[Piece], pieces: Sequence[Piece], events: Sequence[Event], fuel_ends: int, now: int
) -> list[Prompt]:
    if pieces and not inside:
        return []
    found = []
    pan = max(_last(events, "pan_filled"), cook.meat_on)
    found.append(Prompt("pan_filled", "Look at the water pan and fill it up", pan + PAN_EVERY))
    fuel = max(_last(events, "fuel_added"), cook.meat_on)
    if fuel_ends and fuel_ends - FUEL_AHEAD < max(now, fuel + FUEL_EVERY):
        ends = f"from {_clock(fuel_ends)} on" if fuel_ends > now else "any moment"
        words = f"Add charcoal: what is there may end {ends}"
        found.append(Prompt("fuel_added", words, max(0, fuel_ends - FUEL_AHEAD)))
    else:
        words = "Look at the fuel: add charcoal if less than a third is left"
        found.append(Prompt("fuel_added", words, fuel + FUEL_EVERY))
    if any(not piece.wrap for piece in inside):
        damp = max(cook.meat_on + DAMP_FROM, _last(events, "spritzed") + EVERY)
        found.append(Prompt("spritzed", "Damp the places that are dry or too dark (spritz)", damp))
    return found


def _piece(cook: Cook, piece: Piece, events: Sequence[Event], now: int, limit: float) -> list[Prompt]:
    on = piece.on_at or cook.meat_on
    heat = piece.temperature
    if piece.place in ("pit", "oven"):
        found = []
        if heat is not None and heat >= piece.target - FEEL_AHEAD:
            there = heat >= piece.target - 0.05  # as it is shown
            words = f"Feel {piece.name}: done when a skewer goes in without a push, about {piece.target:.0f} C"
            found.append(Prompt("out", words, 0 if there else now + 15 * MINUTE, piece.id))
        elif piece.finish_early > now:
            words = f"Feel {piece.name}: it may be done from then on, most likely about {_clock(piece.finish_likely)}"
            found.append(Prompt("out", words, piece.finish_early, piece.id))
        if piece.place == "pit" and not piece.wrap:
            bark = max(on + BARK_FROM, _last(events, "shade", piece.id) + EVERY)
            found.append(Prompt("shade", f"Note the shade of {piece.name}, 0 raw to 10 black", bark, piece.id))
            found += _wrap(piece, now)
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
        return [_out(piece, events, now, limit)]
    if piece.place == "box":
        found = _hold(piece, limit, now)
        if found and not found[0].due:
            return found
        if not piece.probe:
            read = max(_last(events, "in_box", piece.id), _last(events, "hand_reading", piece.id))
            words = f"Take the temperature of {piece.name} in the box"
            found.append(Prompt("hand_reading", words, read + EVERY, piece.id))
        return found
    return []


def _out(piece: Piece, events: Sequence[Event], now: int, limit: float) -> Prompt:
    """Box it while it is hot; when it has lain out for long, only a reading by hand tells whether it is."""
    readings = [
        (event.at, event.value)
        for event in events
        if event.kind == "hand_reading" and event.piece == piece.id and event.value is not None
    ]
    at, heat = max((one for one in readings if one[0] >= piece.place_since), default=(0, None))
    since = max(at, piece.place_since)
    if heat is not None and heat < limit:
        words = (
            f"{piece.name} was at {heat:.0f} C at {_clock(at)}, below {limit:.0f} C: reheat it at once, or throw it "
            f"away if it has been so for more than {safety.LEFT_OUT_H:.0f} h"
        )
        return Prompt("carved", words, 0, piece.id)
    if now - since >= OUT_FOR:
        what = f"{piece.name} again, hot at" if at else f"{piece.name}, out since"
        words = (
            f"Take the temperature of {what} {_clock(since)}: above {limit:.0f} C box it, "
            "below that reheat it or throw it away"
        )
        return Prompt("hand_reading", words, 0, piece.id)
    vented = piece.place_since + VENT_FOR
    what = f"Let {piece.name} vent, then box it hot" if now < vented else f"Box {piece.name} while it is hot"
    return Prompt("in_box", f"{what}; held above {limit:.0f} C until it is carved", vented, piece.id)


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
    same = abs(new.low - cycle.low) < SAME and abs(new.high - cycle.high) < SAME
    band = "the band stays" if same else f"the band becomes {new.low:.0f}-{new.high:.0f} C"
    words = f"The pieces are wrapped: go on to the next phase, {new.name} ({band})?"
    return [Prompt("phase", words, 0)]


def _wrap(piece: Piece, now: int) -> list[Prompt]:
    """The forecast's window to wrap it in (`tuyere.forecast.shade`)."""
    if not piece.wrap_until or not piece.wrap_with:
        return []
    until = f"{piece.name} in {piece.wrap_with}"
    if now >= piece.wrap_until:
        words = f"Wrap {until} now: its shade is nearly there, and deepens under {piece.wrap_with}"
        return [Prompt("wrapped", words, 0, piece.id)]
    words = (
        f"Wrap {until}, from {_clock(piece.wrap_from)} to {_clock(piece.wrap_until)}: "
        f"shade {piece.wanted_shade:g} lies ahead, and deepens under {piece.wrap_with}"
    )
    return [Prompt("wrapped", words, max(piece.wrap_best, piece.wrap_from), piece.id)]


def _hold(piece: Piece, limit: float, now: int) -> list[Prompt]:
    """Eat or reheat it before it is below the limit of hot holding."""
    heat = piece.temperature
    if heat is not None and heat < limit + 2:
        words = f"{piece.name} is near the {limit:.0f} C limit of hot holding: carve it, or warm it up"
        return [Prompt("carved", words, 0, piece.id)]
    if not piece.hold_until:
        return []
    if now >= piece.hold_until:
        words = (
            f"{piece.name} should be below {limit:.0f} C by now: take its temperature; reheat it before it is served"
        )
        return [Prompt("carved", words, 0, piece.id)]
    words = f"Eat {piece.name} by {_clock(piece.hold_until)} or reheat it: then its coldest spot is at {limit:.0f} C"
    return [Prompt("carved", words, max(0, piece.hold_until - HOLD_AHEAD), piece.id)]


def _clock(at: int) -> str:
    """'03:12'."""
    return f"{datetime.fromtimestamp(at / 1000):%H:%M}"

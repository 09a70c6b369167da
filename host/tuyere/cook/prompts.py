"""The rounds: what the hands must do next, and when. A pure function of what is known.

This file has the fire, the setup and the programme; `piece_prompts` has the pieces, `serving` the way to the table.
The hours and intervals are those of the job: damp from hour 3, a bark note hourly from hour 4,
wrap 45-105 min ahead of the wanted shade, because colour deepens under paper. Others are marked
"common practice, no source".
"""

from __future__ import annotations

from collections.abc import Sequence

from hearth.core import fields

from tuyere.cook import care, piece_prompts, programme, ranks
from tuyere.cook import serving as table
from tuyere.cook.care import SAME, Care
from tuyere.cook.piece_prompts import HOUR, MINUTE, last
from tuyere.cook.snapshot import Breath, Cook, Cycle, Event, Phase, Piece, Prompt, Serving
from tuyere.meat import safety
from tuyere.text import Clock, Key, Length, Said, band, sentences, text

DAMP_FROM = 3 * HOUR  # after a piece went on
EVERY = HOUR
PAN_EVERY, FUEL_EVERY = 3 * HOUR, 4 * HOUR  # common practice, no source
LIMIT = 60.0  # C, the home limit for hot holding (140 F); local rules go first
FUEL_AHEAD = 45 * MINUTE  # how long ahead a warning comes
LOOK_FOR = 15 * MINUTE  # how long something to look at is shown at the start
TOGETHER = 10 * MINUTE  # pieces whose planned times differ by less go on together
COLD = 60.0  # C, a pit below it has no fire to speak of


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
    oven_error: float = safety.KEEPS_BY,
    meat: Care | None = None,
    serving: Serving | None = None,
    breath: Breath | None = None,
) -> list[Prompt]:
    """What the hands must do, in the order of `ranks`. Due 0 means now. `events` are all of the cook, in any order.

    fuel_ends: when it may end, one time in ten before that (0: not known); limit: of hot holding, C; oven_error: as in
    `piece_prompts`; meat: what it needs from the fire; serving: what the serving time leaves; breath: how the fire
    answers its air. Meat that nobody keeps warm, or that is past its time, comes first.
    """
    if cook is None or cook.ended:
        return []
    found: list[Prompt] = []
    meat, serving = meat or Care(), serving or Serving()
    emptied, rests = care.emptied(cook, pieces), care.at_rest(cycle)
    state = cycle.state if cycle is not None else ""
    if meat.needs and (rests or meat.needs[0].past):
        ask = sentences([care.do(meat.needs, state == "tripped"), care.said(meat.needs[0], meat)])
        found.append(Prompt("look", ask, 0, 0, ranks.DANGER))
    if state == "opened":
        found.append(Prompt("look", "Shut the lid as soon as you can", 0, 0, ranks.DANGER))
    doubted = cycle is not None and cycle.reason == "probe_doubted"
    if doubted and not emptied:
        look = "Look at the pit probe before you feed the fire; open slowly, from the side"
        found.append(Prompt("look", look, 0, 0, ranks.DANGER))
        if not pieces or any(piece.place == "pit" and not piece.on_at for piece in pieces):
            found.append(Prompt("meat_on", "If cold meat went on, note it: it holds the pit down", 0, 0, ranks.DANGER))
    elif state == "fading" and not emptied:
        mend: Said = "The fire is fading: look at the fuel, knock the ash off, add lit charcoal"
        if meat.needs:
            mend = sentences([text("{mend}.", mend=mend), care.said(meat.needs[0], meat)])
        found.append(Prompt("fuel_added", mend, 0, 0, ranks.DANGER))
    elif breath is not None and breath.words and not emptied:
        found.append(Prompt("ash_knocked", breath.words, breath.knock_by, 0, ranks.FUEL))
    if not cook.meat_on:
        found += _setup(cook, pieces, events, now, cycle)
    else:
        inside = [p for p in pieces if p.place == "pit" and p.on_at] if pieces else []
        if not rests and (inside or not pieces):
            found += _fire(cook, inside, events, fuel_ends, now)
        for piece in pieces:
            if piece.on_at or piece.place != "pit":
                found += piece_prompts.prompts(piece, cook.meat_on, events, now, limit, rests, oven_error)
            else:
                found += _not_on(piece, now, rests)
        found += table.prompts(serving, pieces, events, limit, now)
        if cycle is not None and not rests:
            found += _next_phase(cycle, inside, pieces, events, phases, phase_since)
    if emptied and (unneeded := _unneeded(pieces, cycle, rests)):
        found.append(unneeded)  # a fire without meat can wait; meat that cools cannot
    return ranks.ordered(found, now)


def _unneeded(pieces: Sequence[Piece], cycle: Cycle | None, rests: bool) -> Prompt | None:
    """The pit is empty: put the fire out. The cook goes on until all is carved, since meat in an oven or a box still
    needs care. A cold pit needs no prompt."""
    if care.carved(pieces):
        over = text("All is carved: close every vent, and end the cook ({key})", key=Key("end", "e"))
        return Prompt("look", over, 0, 0, ranks.LAST)
    if rests:
        if cycle is not None and cycle.pit is not None and cycle.pit < COLD:
            return None
        words: Said = "close every vent to put it out"
    else:
        words = text("stop it ({key}) and close every vent", key=Key("stop", "x"))
    said = text("The fire is no longer needed: {words}; the cook stays open until all is carved", words=words)
    return Prompt("look", said, 0, 0, ranks.LAST)


def _not_on(piece: Piece, now: int, rests: bool) -> list[Prompt]:
    """A piece that goes on later than the others, or was forgotten; it stays until it is noted as on. rests: the board
    leaves the fire alone."""
    if not piece.goes_on:
        return [] if rests else [Prompt("meat_on", f"{piece.name} is not on yet", 0, piece.id, ranks.LAST)]
    template = "Put {name} on at {at}, as planned"
    if piece.goes_on <= now:
        template = "Put {name} on now: it was planned for {at}"
        if rests:
            template = "Put {name} on once the pit holds its band again: it was planned for {at}"
    words = text(template, name=piece.name, at=Clock(piece.goes_on))
    return [Prompt("meat_on", words, piece.goes_on, piece.id, ranks.MEAT_ON)]


def _setup(
    cook: Cook, pieces: Sequence[Piece], events: Sequence[Event], now: int, cycle: Cycle | None
) -> list[Prompt]:  # fmt: skip
    found = []
    if now - cook.started < LOOK_FOR:
        vents = "Set the vents: the top one half open, the lower ones shut except where the fan blows in"
        found.append(Prompt("look", vents, 0, 0, ranks.MEAT_ON))
    if not last(events, "probe_seated"):
        seat = text(
            "Seat the probes: the pit's at grate height, {apart} from the meat and not over the pan; "
            "the meat's mid-thickness in the flat",
            apart=Length(0.05),
        )
        found.append(Prompt("probe_seated", seat, 0, 0, ranks.MEAT_ON))
    if not last(events, "pan_filled"):
        found.append(Prompt("pan_filled", "Fill the water pan", 0, 0, ranks.MEAT_ON))
    ready = cycle is not None and cycle.state == "holding"
    due = 0 if ready else max(cook.started + HOUR, now + 10 * MINUTE)
    first = min((piece.goes_on for piece in pieces), default=0)
    later = [piece for piece in pieces if piece.goes_on > first + TOGETHER]
    for who in [piece for piece in pieces if piece not in later] if later else [None]:
        name = who.name if who is not None else "the meat"
        words: Said = f"The pit is ready: put {name} on" if ready else f"Put {name} on once the pit holds its band"
        at = who.goes_on if who is not None else first
        early = ready and at > now  # the odds are those of the plan's time
        if early:
            words = text("Put {name} on at {at}, as planned: the pit is ready", name=name, at=Clock(at))
        number = who.id if who is not None else 0
        found.append(Prompt("meat_on", words, at if early else due, number, ranks.MEAT_ON))
    return [*found, *(one for piece in later for one in _not_on(piece, now, False))]


def _fire(cook: Cook, inside: Sequence[Piece], events: Sequence[Event], fuel_ends: int, now: int) -> list[Prompt]:
    found = []
    pan = max(last(events, "pan_filled"), cook.meat_on)
    found.append(Prompt("pan_filled", "Look at the water pan and fill it up", pan + PAN_EVERY, 0, ranks.PAN))
    fuel = max(last(events, "fuel_added"), last(events, "fuel_looked"), cook.meat_on)
    if fuel_ends and fuel_ends - FUEL_AHEAD < max(now, fuel + FUEL_EVERY):
        ends: Said = text("from {time} on", time=Clock(fuel_ends)) if fuel_ends > now else "any moment"
        words = text("Add charcoal: what is there may end {ends}", ends=ends)
        found.append(Prompt("fuel_added", words, max(0, fuel_ends - FUEL_AHEAD), 0, ranks.FUEL))
    else:
        look = "Look at the fuel: add charcoal if less than a third is left"
        found.append(Prompt("fuel_looked", look, fuel + FUEL_EVERY, 0, ranks.FUEL))
    bare = [piece for piece in inside if not piece.wrap and not piece.held]
    if bare:
        damp = min(
            max((piece.on_at or cook.meat_on) + DAMP_FROM, last(events, "spritzed", piece.id) + EVERY) for piece in bare
        )
        spritz = "Damp the places that are dry or too dark (spritz)"
        found.append(Prompt("spritzed", spritz, damp, 0, ranks.SPRITZ))
    return found


def _next_phase(
    cycle: Cycle,
    inside: Sequence[Piece],
    pieces: Sequence[Piece],
    events: Sequence[Event],
    phases: Sequence[Phase],
    since: int,
) -> list[Prompt]:
    """A phase that ends by hand is over when everything in the pit was wrapped during it, unless it is for the finish
    or to hold. A phase that ends by a piece's probe is over when that piece is out and no other in the pit has a probe.
    If all bands ahead are the same, nothing depends on the phase and there is no prompt."""
    row = cycle.phase
    if row + 1 >= len(phases) or not inside or not care.changes_ahead(phases, cycle):
        return []
    if phases[row].end_kind == fields.END_BY_HAND:
        if phases[row].purpose in (programme.FINISH, programme.HOLD):
            return []
        wrapped = [last(events, "wrapped", piece.id) for piece in inside if piece.wrap]
        if len(wrapped) < len(inside) or max(wrapped) < since:
            return []
        over = "The pieces are wrapped"
    else:
        gone = care.out_by_probe(phases[row], pieces)
        if gone is None or any(piece.probe for piece in inside):
            return []
        over = f"{gone.name} is out, whose probe ends this phase"
    new = phases[row + 1]
    same = abs(new.low - cycle.low) < SAME and abs(new.high - cycle.high) < SAME
    becomes: Said = "the band stays" if same else text("the band becomes {band}", band=band(new.low, new.high))
    words = text("{over}: go on to the next phase, {name} ({becomes})?", over=over, name=new.name, becomes=becomes)
    return [Prompt("phase", words, 0, 0, ranks.WRAP)]

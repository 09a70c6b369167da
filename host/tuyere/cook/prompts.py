"""The rounds: what the hands must do next, and when. A pure function of what is known.

The hours and intervals are those of the job: damp from hour 3, a bark note hourly from hour 4,
wrap 45-105 min ahead of the wanted shade, because colour deepens under paper. Others are marked
"common practice, no source".
"""

from __future__ import annotations

from collections.abc import Sequence

from hearth.core import fields

from tuyere.cook import care, food_safety, programme
from tuyere.cook.care import FEEL_AHEAD, SAME, Care
from tuyere.cook.snapshot import Cook, Cycle, Event, Phase, Piece, Prompt
from tuyere.text import Clock, Key, Length, Number, Said, Temperature, band, sentences, text

MINUTE = 60_000
HOUR = 60 * MINUTE
DAMP_FROM, BARK_FROM = 3 * HOUR, 4 * HOUR  # after the meat went on
EVERY = HOUR
PAN_EVERY, FUEL_EVERY = 3 * HOUR, 4 * HOUR  # common practice, no source
VENT_FOR = 10 * MINUTE  # out of the pit before the box; common practice, no source
UNREAD_FOR = HOUR  # out of the heat and unread for longer, it must be read again; common practice, no source
LIMIT = 60.0  # C, the home limit for hot holding (140 F); local rules go first
HOLD_AHEAD, FUEL_AHEAD = 30 * MINUTE, 45 * MINUTE  # how long ahead a warning comes
LOOK_FOR = 15 * MINUTE  # how long something to look at is shown at the start
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
    meat: Care | None = None,
) -> list[Prompt]:
    """What the hands must do, soonest first. Due 0 means now. An empty pit comes last of what is due.
    `events` are all of the cook, in any order.

    fuel_ends: when it may end, one time in ten before that (0: not known); limit: of hot holding, C; meat: what it
    needs from the fire. Meat that nobody keeps warm, or that is past its time, comes first.
    """
    if cook is None or cook.ended:
        return []
    found: list[Prompt] = []
    meat = meat or Care()
    emptied, rests = care.emptied(cook, pieces), care.at_rest(cycle)
    state = cycle.state if cycle is not None else ""
    first = []
    if meat.needs and (rests or meat.needs[0].past):
        ask = sentences([care.do(meat.needs, state == "tripped"), care.said(meat.needs[0], meat)])
        first.append(Prompt("look", ask, 0))
    if state == "opened":
        found.append(Prompt("look", "Shut the lid as soon as you can", 0))
    doubted = cycle is not None and cycle.reason == "probe_doubted"
    if doubted and not emptied:
        found.append(Prompt("look", "Look at the pit probe before you feed the fire; open slowly, from the side", 0))
    elif state == "fading" and not emptied:
        mend: Said = "The fire is fading: look at the fuel, knock the ash off, add lit charcoal"
        if meat.needs:
            mend = sentences([text("{mend}.", mend=mend), care.said(meat.needs[0], meat)])
        found.append(Prompt("fuel_added", mend, 0))
    if not cook.meat_on:
        found += _setup(cook, events, now, cycle)
    else:
        inside = [p for p in pieces if p.place == "pit"]
        if not rests and (inside or not pieces):
            found += _fire(cook, inside, events, fuel_ends, now)
        for piece in pieces:
            found += _piece(cook, piece, events, now, limit, rests)
        if cycle is not None and not rests:
            found += _next_phase(cycle, inside, pieces, events, phases, phase_since)
    found.sort(key=lambda p: p.due)
    if emptied and (unneeded := _unneeded(pieces, cycle, rests)):
        due = sum(prompt.due <= now for prompt in found)
        found.insert(due, unneeded)  # a fire without meat can wait; meat that cools cannot
    return first + found


def _unneeded(pieces: Sequence[Piece], cycle: Cycle | None, rests: bool) -> Prompt | None:
    """The pit is empty: put the fire out. The cook goes on until all is carved, since meat in an oven or a box still
    needs care. A cold pit needs no prompt."""
    if care.carved(pieces):
        return Prompt("look", text("All is carved: close every vent, and end the cook ({key})", key=Key("end", "e")), 0)
    if rests:
        if cycle is not None and cycle.pit is not None and cycle.pit < COLD:
            return None
        words: Said = "close every vent to put it out"
    else:
        words = text("stop it ({key}) and close every vent", key=Key("stop", "x"))
    said = text("The fire is no longer needed: {words}; the cook stays open until all is carved", words=words)
    return Prompt("look", said, 0)


def _last(events: Sequence[Event], kind: str, piece: int | None = None) -> int:
    """When such an event last happened, 0 if never; an event of the whole pit counts for every piece."""
    return max((e.at for e in events if e.kind == kind and (piece is None or e.piece in (0, piece))), default=0)


def _setup(cook: Cook, events: Sequence[Event], now: int, cycle: Cycle | None) -> list[Prompt]:
    found = []
    if now - cook.started < LOOK_FOR:
        found.append(Prompt("look", "Set the vents: the top one half open, the lower ones shut but for the fan", 0))
    if not _last(events, "probe_seated"):
        seat = text(
            "Seat the probes: the pit's at grate height, {apart} from the meat and not over the pan; "
            "the meat's mid-thickness in the flat",
            apart=Length(0.05),
        )
        found.append(Prompt("probe_seated", seat, 0))
    if not _last(events, "pan_filled"):
        found.append(Prompt("pan_filled", "Fill the water pan", 0))
    ready = cycle is not None and cycle.state == "holding"
    due = 0 if ready else max(cook.started + HOUR, now + 10 * MINUTE)
    words = "The pit is ready: put the meat on" if ready else "Put the meat on once the pit holds its band"
    found.append(Prompt("meat_on", words, due))
    return found


def _fire(cook: Cook, inside: Sequence[Piece], events: Sequence[Event], fuel_ends: int, now: int) -> list[Prompt]:
    found = []
    pan = max(_last(events, "pan_filled"), cook.meat_on)
    found.append(Prompt("pan_filled", "Look at the water pan and fill it up", pan + PAN_EVERY))
    fuel = max(_last(events, "fuel_added"), cook.meat_on)
    if fuel_ends and fuel_ends - FUEL_AHEAD < max(now, fuel + FUEL_EVERY):
        ends: Said = text("from {time} on", time=Clock(fuel_ends)) if fuel_ends > now else "any moment"
        words = text("Add charcoal: what is there may end {ends}", ends=ends)
        found.append(Prompt("fuel_added", words, max(0, fuel_ends - FUEL_AHEAD)))
    else:
        look = "Look at the fuel: add charcoal if less than a third is left"
        found.append(Prompt("fuel_added", look, fuel + FUEL_EVERY))
    if any(not piece.wrap for piece in inside):
        damp = max(cook.meat_on + DAMP_FROM, _last(events, "spritzed") + EVERY)
        found.append(Prompt("spritzed", "Damp the places that are dry or too dark (spritz)", damp))
    return found


def _piece(cook: Cook, piece: Piece, events: Sequence[Event], now: int, limit: float, rests: bool) -> list[Prompt]:
    """rests: the board leaves the fire alone; bark and wrap wait until it burns again."""
    on = piece.on_at or cook.meat_on
    heat = piece.temperature
    if piece.place in ("pit", "oven"):
        found = []
        if heat is not None and heat >= piece.target - FEEL_AHEAD:
            there = heat >= piece.target - 0.05  # as it is shown
            words = text(
                "Feel {name}: done when a skewer goes in without a push, about {target}",
                name=piece.name,
                target=Temperature(piece.target),
            )
            found.append(Prompt("out", words, 0 if there else now + 15 * MINUTE, piece.id))
        elif piece.finish_early > now:
            words = text(
                "Feel {name}: it may be done from {early}, most likely about {likely}",
                name=piece.name,
                early=Clock(piece.finish_early),
                likely=Clock(piece.finish_likely),
            )
            found.append(Prompt("out", words, piece.finish_early, piece.id))
        if piece.place == "pit" and not piece.wrap and not rests:
            bark = max(on + BARK_FROM, _last(events, "shade", piece.id) + EVERY)
            found.append(Prompt("shade", f"Note the shade of {piece.name}, 0 raw to 10 black", bark, piece.id))
            found += _wrap(piece, now)
        elif not piece.probe or (piece.place == "oven" and _unread(piece)):
            read = max(
                on,
                _last(events, "wrapped", piece.id),
                _last(events, "in_oven", piece.id),
                _last(events, "hand_reading", piece.id),
            )
            found.append(
                Prompt("hand_reading", f"Take the temperature of {piece.name} by hand", read + EVERY, piece.id)
            )
        return found
    if piece.place == "out":
        return [_out(piece, now, limit)]
    if piece.place == "box":
        found = _hold(piece, limit, now)
        if found and not found[0].due:
            return found
        if _unread(piece):
            read = max(_last(events, "in_box", piece.id), _last(events, "hand_reading", piece.id))
            measure = f"Take the temperature of {piece.name} in the box"
            found.append(Prompt("hand_reading", measure, read + EVERY, piece.id))
        return found
    return []


def _unread(piece: Piece) -> bool:
    """Whether no probe of the board reads it. It has none, or its probe stayed in the pit when it moved."""
    return not piece.probe or piece.temperature is None or piece.by_hand


def _out(piece: Piece, now: int, limit: float) -> Prompt:
    """Box it while it is hot; food safety goes first."""
    if asked := _safe(piece, now):
        return asked
    vented = piece.place_since + VENT_FOR
    template = "Let {name} vent, then box it hot" if now < vented else "Box {name} while it is hot"
    template += "; held above {limit} until it is carved"
    return Prompt("in_box", text(template, name=piece.name, limit=Temperature(limit)), vented, piece.id)


def _safe(piece: Piece, now: int) -> Prompt | None:
    """What food safety asks of a piece out of the heat: throw it away, heat it again, or read it."""
    asked = piece.decision
    if asked.verdict == food_safety.THROW_AWAY:
        return Prompt("carved", asked.said[0], 0, piece.id)
    if asked.verdict == food_safety.HEAT:
        return Prompt("in_oven", asked.said[0], 0, piece.id)
    if asked.verdict == food_safety.MEASURE and now - asked.since >= UNREAD_FOR:
        return Prompt("hand_reading", asked.said[0], 0, piece.id)
    return None


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
        wrapped = [_last(events, "wrapped", piece.id) for piece in inside if piece.wrap]
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
    return [Prompt("phase", words, 0)]


def _wrap(piece: Piece, now: int) -> list[Prompt]:
    """The forecast's window to wrap it in (`tuyere.forecast.shade`)."""
    if not piece.wrap_until or not piece.wrap_with:
        return []
    until = f"{piece.name} in {piece.wrap_with}"
    if now >= piece.wrap_until:
        words = f"Wrap {until} now: its shade is nearly there, and deepens under {piece.wrap_with}"
        return [Prompt("wrapped", words, 0, piece.id)]
    ahead = text(
        "Wrap {until}, from {first} to {last}: shade {shade} lies ahead, and deepens under {wrap}",
        until=until,
        first=Clock(piece.wrap_from),
        last=Clock(piece.wrap_until),
        shade=Number(piece.wanted_shade, 0 if piece.wanted_shade.is_integer() else 1),
        wrap=piece.wrap_with,
    )
    return [Prompt("wrapped", ahead, max(piece.wrap_best, piece.wrap_from), piece.id)]


def _hold(piece: Piece, limit: float, now: int) -> list[Prompt]:
    """Eat or reheat it before it is below the limit of hot holding; food safety goes first."""
    if asked := _safe(piece, now):
        return [asked]
    heat, at_limit = piece.temperature, Temperature(limit)
    if heat is not None and heat < limit + 2:
        template = "{name} is near the {limit} limit of hot holding: carve it, or warm it up"
        return [Prompt("carved", text(template, name=piece.name, limit=at_limit), 0, piece.id)]
    if not piece.hold_until:
        return []
    if now >= piece.hold_until:
        template = "The outside of {name} should be below {limit} by now: take its temperature there, and carve it or "
        words = text(template + "warm it up", name=piece.name, limit=at_limit)
        return [Prompt("hand_reading", words, 0, piece.id)]
    words = text(
        "Eat {name} by {until} or reheat it: then its coldest spot is at {limit}",
        name=piece.name, until=Clock(piece.hold_until), limit=at_limit,
    )  # fmt: skip
    return [Prompt("carved", words, max(0, piece.hold_until - HOLD_AHEAD), piece.id)]

"""What the hands must do for one piece, from the pit to the plate. Pure functions of what is known.

Hours and intervals are those of the job; others are marked "common practice, no source".
"""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.cook import food_safety, ranks
from tuyere.cook.care import FEEL_AHEAD
from tuyere.cook.snapshot import Event, Piece, Prompt
from tuyere.meat import safety
from tuyere.text import Clock, Number, Said, Temperature, Value, text

MINUTE = 60_000
HOUR = 60 * MINUTE
BARK_FROM = 4 * HOUR  # after the piece went on
EVERY = HOUR
FEEL_FROM = 20.0  # K below its target: what is colder is felt when it is likely done; common practice, no source
FEEL_SOON = 10 * MINUTE  # a range that begins within this is a reason to feel now
FEEL_AGAIN = 25 * MINUTE  # after "not yet": 20-30 min, common practice, no source
VENT_FOR = 10 * MINUTE  # out of the pit before the box; common practice, no source
UNREAD_FOR = HOUR  # out of the heat and unread for longer, it must be read again; common practice, no source
ROUNDED = 0.3  # K; a setting in whole degrees F is that near to what was asked for
HOLD_AHEAD = 30 * MINUTE  # how long ahead a warning comes


def last(events: Sequence[Event], kind: str, piece: int | None = None) -> int:
    """When such an event last happened, 0 if never; an event of the whole pit counts for every piece."""
    return max((e.at for e in events if e.kind == kind and (piece is None or e.piece in (0, piece))), default=0)


def prompts(
    piece: Piece, meat_on: int, events: Sequence[Event], now: int, limit: float, rests: bool,
    oven_error: float = safety.KEEPS_BY,
) -> list[Prompt]:  # fmt: skip
    """What one piece needs. meat_on: of the cook; limit: of hot holding, C; rests: the board leaves the fire alone, and
    bark and wrap wait until it burns again; oven_error: K by which an oven may be colder than it is set to."""
    if piece.place in ("pit", "oven"):
        return (
            _held(piece, events, now, limit, oven_error) if piece.held else _in_heat(piece, meat_on, events, now, rests)
        )
    if piece.place == "out":
        return [_out(piece, now, limit)]
    if piece.place == "cooling" and piece.decision.said:
        kind = "thrown_away" if piece.decision.verdict == food_safety.THROW_AWAY else "in_fridge"
        return [Prompt(kind, piece.decision.said[0], max(0, piece.decision.by - HOUR), piece.id, ranks.DANGER)]
    if piece.place == "box":
        found = _hold(piece, limit, now)
        if found and not found[0].due:
            return found
        if _unread(piece):
            read = max(last(events, "in_box", piece.id), last(events, "hand_reading", piece.id))
            measure = f"Take the temperature of {piece.name} in the box"
            found.append(Prompt("hand_reading", measure, read + EVERY, piece.id, ranks.PAN))
        return found
    return []


def _in_heat(piece: Piece, meat_on: int, events: Sequence[Event], now: int, rests: bool) -> list[Prompt]:
    on = piece.on_at or meat_on
    found = _feel(piece, now)
    if piece.place == "pit" and not piece.wrap and not rests:
        bark = max(on + BARK_FROM, last(events, "shade", piece.id) + EVERY)
        words = f"Note the shade of {piece.name}, 0 raw to 10 black"
        found.append(Prompt("shade", words, bark, piece.id, ranks.SHADE))
        found += _wrap(piece, now)
    elif not piece.probe or (piece.place == "oven" and _unread(piece)):
        read = max(on, *(last(events, kind, piece.id) for kind in ("wrapped", "in_oven", "hand_reading")))
        words = f"Take the temperature of {piece.name} by hand"
        found.append(Prompt("hand_reading", words, read + EVERY, piece.id, ranks.PAN))
    return found


def _feel(piece: Piece, now: int) -> list[Prompt]:
    """Feel it when its probe is near the target or its range begins, whether it has a probe or not; take it out once it
    is tender, at whatever temperature. While it reads far too cold the wide range of its forecast wakes nobody."""
    heat, out = piece.temperature, "the oven" if piece.place == "oven" else "the pit"
    if piece.tender_at:
        words = text("{name} is tender: take it out of {out}, or note that it is held", name=piece.name, out=out)
        return [Prompt("out", words, 0, piece.id, ranks.FEEL)]
    near = heat is not None and heat >= piece.target - FEEL_AHEAD
    if not near and not piece.finish_early:
        return []
    again = piece.not_tender_at + FEEL_AGAIN if piece.not_tender_at else 0
    if near:
        template = "Feel {name}: done when a skewer goes in without a push, about {target}"
        words = text(template, name=piece.name, target=Temperature(piece.target))
        there = heat is not None and heat >= piece.target - 0.05  # as it is shown
        due = 0 if there else now + 15 * MINUTE
    else:
        far = heat is not None and heat < piece.target - FEEL_FROM
        first, likely = piece.finish_likely if far else piece.finish_early, Clock(piece.finish_likely)
        due = first if first > now + FEEL_SOON else 0
        if piece.finish_likely <= now + FEEL_SOON:
            words = text("Feel {name}: by its forecast it is done about now", name=piece.name)
        elif far:
            words = text("Feel {name}: by its forecast it is done then", name=piece.name)
        else:
            template = "Feel {name}: it may be done from {early}, most likely about {likely}"
            words = text(template, name=piece.name, early=Clock(piece.finish_early), likely=likely)
    if again:
        words = text("Feel {name} again: it was not tender at {at}", name=piece.name, at=Clock(piece.not_tender_at))
        due = max(again, due)
    return [Prompt("tender", words, due, piece.id, ranks.FEEL)]


def _unread(piece: Piece) -> bool:
    """Whether no probe of the board reads it. It has none, or its probe stayed in the pit when it moved."""
    return not piece.probe or piece.temperature is None or piece.by_hand


def _held(piece: Piece, events: Sequence[Event], now: int, limit: float, oven_error: float) -> list[Prompt]:
    """Held in the pit or an oven: that must be hotter than the limit, and somebody must read it."""
    if asked := _safe(piece, now):
        return [asked]
    if piece.oven is not None and piece.place == "oven" and piece.oven < limit + oven_error - ROUNDED:
        words = text(
            "Set the oven to {set} or more: at {oven} it may not keep {name} above {limit}",
            set=Temperature(limit + oven_error), oven=Temperature(piece.oven), name=piece.name,
            limit=Temperature(limit),
        )  # fmt: skip
        return [Prompt("hold_oven", words, 0, piece.id, ranks.DANGER)]
    if near := _near_limit(piece, limit):
        return [near]
    if not _unread(piece):
        return []
    read = max(piece.place_since, last(events, "hand_reading", piece.id))
    words = text("Take the temperature of {name} where it is held", name=piece.name)
    return [Prompt("hand_reading", words, read + EVERY, piece.id, ranks.PAN)]


def _out(piece: Piece, now: int, limit: float) -> Prompt:
    """Box it hot, and until when it must be read: a note of the box is no reading. Food safety goes first."""
    if asked := _safe(piece, now):
        return asked
    vented = piece.place_since + VENT_FOR
    template = "Let {name} vent, then box it hot" if now < vented else "Box {name} while it is hot"
    template += " and note it; held above {limit} until it is carved"
    values: dict[str, Value] = {"name": piece.name, "limit": Temperature(limit)}
    if piece.decision.by > now:
        template += ". Read it by {by}: unread past that, it must be thrown away"
        values["by"] = Clock(piece.decision.by)
    return Prompt("in_box", text(template, **values), vented, piece.id, ranks.FEEL)


def _safe(piece: Piece, now: int) -> Prompt | None:
    """What food safety asks of a piece out of the heat: throw it away, heat it again, or read it."""
    asked = piece.decision
    kind = {food_safety.THROW_AWAY: "thrown_away", food_safety.HEAT: "in_oven"}.get(asked.verdict)
    if kind is not None:
        return Prompt(kind, asked.said[0], 0, piece.id, ranks.DANGER)
    if asked.verdict == food_safety.MEASURE and now - asked.since >= UNREAD_FOR:
        return Prompt("hand_reading", asked.said[0], 0, piece.id, ranks.DANGER)
    return None


def wrap_ends(piece: Piece) -> int:
    """When the window of its wrap ends: at the latest when it is likely done."""
    return min(piece.wrap_until, piece.finish_likely or piece.wrap_until)


def _wrap(piece: Piece, now: int) -> list[Prompt]:
    """Wrap it within the forecast's window (`tuyere.forecast.shade`), and at once when its shade is there."""
    if not piece.wrap_with:
        return []
    into = f"{piece.name} in {piece.wrap_with}"
    if piece.shade is not None and piece.shade >= piece.wanted_shade:
        words: Said = text(
            "Wrap {into} now: its shade {shade} is there, and deepens under {wrap}",
            into=into, shade=Number(piece.shade, 0), wrap=piece.wrap_with,
        )  # fmt: skip
        return [Prompt("wrapped", words, 0, piece.id, ranks.WRAP)]
    if not piece.wrap_until:
        return []
    if now >= wrap_ends(piece):
        words = f"Wrap {into} now: its shade is nearly there, and deepens under {piece.wrap_with}"
        return [Prompt("wrapped", words, 0, piece.id, ranks.WRAP)]
    ends = Clock(wrap_ends(piece))
    when = text("from {first} to {last}", first=Clock(piece.wrap_from), last=ends)
    if now >= piece.wrap_from:
        when = text("by {last}", last=ends)
    words = text(
        "Wrap {into} {when}: so it comes to shade {shade} under the {wrap}",
        into=into, when=when, shade=Number(piece.wanted_shade, 0 if piece.wanted_shade.is_integer() else 1),
        wrap=piece.wrap_with,
    )  # fmt: skip
    best = min(max(piece.wrap_best, piece.wrap_from), wrap_ends(piece))
    return [Prompt("wrapped", words, best, piece.id, ranks.WRAP)]


def _near_limit(piece: Piece, limit: float) -> Prompt | None:
    heat = piece.temperature
    if heat is None or heat >= limit + 2:
        return None
    template = "{name} is near the {limit} limit of hot holding: carve it, or warm it up"
    words = text(template, name=piece.name, limit=Temperature(limit))
    return Prompt("carved", words, 0, piece.id, ranks.DANGER)


def _hold(piece: Piece, limit: float, now: int) -> list[Prompt]:
    """Eat or reheat it before it is below the limit of hot holding; food safety goes first."""
    if asked := _safe(piece, now):
        return [asked]
    if near := _near_limit(piece, limit):
        return [near]
    if not piece.hold_until:
        return []
    at_limit = Temperature(limit)
    if now >= piece.hold_until:
        template = "The outside of {name} should be below {limit} by now: take its temperature there, and carve it or "
        words = text(template + "warm it up", name=piece.name, limit=at_limit)
        return [Prompt("hand_reading", words, 0, piece.id, ranks.DANGER)]
    words = text(
        "Eat {name} by {until} or reheat it: then its coldest spot is at {limit}",
        name=piece.name, until=Clock(piece.hold_until), limit=at_limit,
    )  # fmt: skip
    return [Prompt("carved", words, max(0, piece.hold_until - HOLD_AHEAD), piece.id, ranks.CARVE)]

"""A cook summed up: times, yield, band, how the forecasts went, and what the next plan takes from it.

Pure functions of the logbook's rows. Times are UTC ms, masses kg.
"""

from __future__ import annotations

from collections.abc import Sequence

from tuyere.cook import follows, yields
from tuyere.cook.noted import Noted
from tuyere.cook.snapshot import Cook, Event, Piece
from tuyere.logbook.rows import Forecast
from tuyere.text import Clock, Count, Duration, Listed, Mass, Said, Share, Temperature, Value, text

HOUR = 3_600_000
AHEAD = (8, 4, 2, 1)  # hours before a piece was done at which its forecast is compared with what came
NEAR = HOUR // 2  # a forecast shown within this of such a time is compared
DONE = ("tender", "out", "in_box", "hold_pit", "hold_oven", "cooling")  # notes that say that a piece was done
STEPS = {  # notes that are listed with their time, in the order in which they came
    "wrapped": "wrapped", "tender": "tender", "out": "out", "in_oven": "in the oven", "hold_pit": "held in the pit",
    "hold_oven": "held in the oven", "in_box": "in the box", "divided": "divided", "cooling": "set out to cool",
    "in_fridge": "in the fridge", "carved": "carved", "thrown_away": "thrown away",
}  # fmt: skip


def summary(
    cook: Cook, pieces: Sequence[Piece], events: Sequence[Event], forecasts: Sequence[Forecast], now: int
) -> list[Said]:
    """Sentences; one that ends with a colon is a heading. `events` are all of the cook, in any order."""
    end = cook.ended or now
    lines: list[Said] = [
        text(
            "{name}: {start} to {end}, {time}",
            name=cook.name, start=Clock(cook.started, day=True), end=Clock(end, day=True),
            time=_hours(end - cook.started),
        )
    ]  # fmt: skip
    if cook.in_band is not None:
        since = "the meat went on" if cook.meat_on else "the first climb"  # as `tuyere.score` counts
        lines.append(
            text("In the band for {share} of the time since {since}", share=Share(cook.in_band, 1), since=since)
        )
    openings = sum(event.kind in ("opened_told", "opened_felt") for event in events)
    fuel = sum(event.value or 0.0 for event in events if event.kind == "fuel_added")
    if openings:
        lines.append(text("Opened {count}", count=Count(openings, "time")))
    if fuel:
        lines.append(text("Charcoal added: {mass}", mass=Mass(fuel)))
    for piece in pieces:
        its = sorted(
            (e for e in follows.own_events(piece, pieces, events) if e.piece == piece.id or e.kind == "meat_on"),
            key=lambda event: (event.at, event.id),
        )
        lines += _piece(piece, its, [one for one in forecasts if one.piece == piece.id and one.kind == "finish"])
        lines += _yield(piece, pieces, events)
    lines += ["For the next cook:", *learnt(cook, pieces, events)]
    return lines


def done_at(events: Sequence[Noted], on_at: int) -> int:
    """When a piece was done, by its events oldest first: the first note that says so; 0: none does."""
    found = (e.at for e in events if e.kind in DONE and e.at > on_at and e.text != follows.NOT_YET)
    return next(found, 0)


def _piece(piece: Piece, events: Sequence[Event], forecasts: Sequence[Forecast]) -> list[Said]:
    lines: list[Said] = [f"{piece.name}:"]
    if not piece.on_at:
        return [*lines, "It never went on"]
    steps: list[Value] = [text("on {at}", at=Clock(piece.on_at))]
    since = [e for e in events if e.kind in STEPS and e.at >= piece.on_at and e.text != follows.NOT_YET]
    last = {event.kind: event for event in since}
    steps += [
        text("{name} {at}", name=STEPS[event.kind], at=Clock(event.at)) for event in since if last[event.kind] is event
    ]
    lines.append(text("{steps}", steps=Listed(tuple(steps))))
    done = done_at(events, piece.on_at)
    if done:
        lines.append(text("Done after {time}", time=_hours(done - piece.on_at)))
        lines += compared(done, piece.on_at, forecasts)
    if (carved := yields.carved([piece], events)) is not None:
        lines.append(text("Carved {meat}", meat=Mass(carved)))
    coolest = [e.value for e in events if e.kind == "hand_reading" and e.value is not None and done and e.at > done]
    if coolest:
        lines.append(text("Lowest reading while it was held: {heat}", heat=Temperature(min(coolest))))
    return lines


def _yield(piece: Piece, pieces: Sequence[Piece], events: Sequence[Event]) -> list[Said]:
    """Of a piece that went on as a whole, with all that was divided off it."""
    if piece not in yields.wholes(pieces):
        return []
    its = yields.parts(piece, pieces)
    carved, raw = yields.carved(its, events), yields.raw(its)
    if not (carved and raw):
        return []
    with_parts = " with its parts" if len(its) > 1 else ""
    return [
        text(
            "A yield of {share}{parts}: {meat} of {raw}",
            share=Share(carved / raw), parts=with_parts, meat=Mass(carved), raw=Mass(raw),
        )
    ]  # fmt: skip


def compared(done: int, on_at: int, forecasts: Sequence[Forecast]) -> list[Said]:
    """Every forecast that was shown, judged: how many held what came, and those of some hours before one by one."""
    found: list[Said] = []
    for hours in AHEAD:
        when = done - hours * HOUR
        near = [one for one in forecasts if abs(one.at - when) <= NEAR and one.at >= on_at]
        if not near:
            continue
        shown = min(near, key=lambda one: abs(one.at - when))
        off = done - shown.likely
        how = "as forecast" if abs(off) < 5 * 60_000 else ("later" if off > 0 else "earlier")
        told: Said = how if how == "as forecast" else text("{time} {how}", time=_hours(abs(off)), how=how)
        inside = "inside" if shown.early <= done <= shown.late else "outside"
        found.append(
            text(
                "At {at}, {ahead} ahead, the forecast said {likely} ({early} to {late}); it was {done}, {told}, "
                "{inside} the range",
                at=Clock(shown.at), ahead=Duration(hours * 3600.0), likely=Clock(shown.likely),
                early=Clock(shown.early), late=Clock(shown.late), done=Clock(done), told=told, inside=inside,
            )
        )  # fmt: skip
    asked = [one for one in forecasts if on_at <= one.at < done]
    if found:
        held = sum(one.early <= done <= one.late for one in asked) / len(asked)
        said = "Of all {count} shown, {share} held it in their range; about 80 % should, over many cooks"
        found.append(text(said, count=Count(len(asked), "forecast"), share=Share(held)))
    return found


def learnt(cook: Cook, pieces: Sequence[Piece], events: Sequence[Event]) -> list[Said]:
    """What `tuyere plan` takes from it (`tuyere.plan.learnt`)."""
    if cook.simulated:
        return ["A simulated cook teaches nothing"]
    taken = []
    if any(_yield(piece, pieces, events) for piece in pieces):
        taken.append("its yield")
    by_time = sorted(events, key=lambda e: e.at)
    whole = [piece for piece in yields.wholes(pieces) if piece.mass and piece.on_at]
    if any(done_at([e for e in by_time if e.piece == piece.id], piece.on_at) for piece in whole):
        taken.append("its pace")
    if any(event.kind == "shade" for event in events):
        taken.append("its bark")
    if not taken:
        return ["Nothing can be learned: weigh the raw and the carved meat, and note shades and when a piece comes out"]
    return [text("The next plan counts with {taken}", taken=Listed(tuple(taken), last=" and "))]


def _hours(ms: int) -> Duration:
    return Duration(round(ms / 60_000) * 60.0)

"""A night as one HTML file: no script, nothing loaded, no address, no name of a machine; two A4 pages when printed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import tzinfo
from pathlib import Path

from tuyere.chart import svg
from tuyere.chart.colours import LIGHT
from tuyere.chart.frame import Picture
from tuyere.chart.history import History
from tuyere.cook import follows, in_short, say, summary, yields
from tuyere.cook.onlooker import Onlooker
from tuyere.cook.programme import PURPOSES
from tuyere.cook.snapshot import Event, Piece
from tuyere.logbook.kinds import KINDS
from tuyere.report.forecast_svg import narrowed
from tuyere.report.gathered import Night
from tuyere.text import Clock, Mass, Reader, Said, Share, Temperature, band, render, span

WIDE, TALL = 720, 300  # pixels of the trend: an A4 page less its margins
# Of what the board and the engine tell, what a reader of the night wants; others name ports, files or people.
TOLD = (
    "started", "stopped", "band_changed", "phase_changed", "opened_told", "opened_felt", "looked", "tripped",
    "trip_acknowledged", "learned", "board_restarted", "resumed", "not_resumed", "serving_moved", "experimenting",
)  # fmt: skip
MOST = 36  # events and alarms in the list; the trend has all
STYLE = Path(__file__).with_name("report.css").read_text(encoding="utf-8")


def page(night: Night, units: str, zone: tzinfo | None = None) -> str:
    """The whole file, in the reader's units and zone."""
    view = Onlooker(units=units, zone=zone)
    reader = Reader(units, zone, now=night.end)
    with say.in_zone(zone):
        first = "".join(_first(night, reader, view))
        second = "".join(_second(night, reader))
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        "<meta http-equiv=\"content-security-policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{svg.escape(night.cook.name)}</title>"
        f"<style>:root{{{svg.variables(LIGHT)}}}{svg.rules()}{STYLE}</style></head>"
        f'<body><section class="sheet">{first}</section><section class="sheet">{second}</section></body></html>\n'
    )


def _p(words: str, kind: str = "") -> str:
    return f"<p{f' class={kind}' if kind else ''}>{svg.escape(words)}</p>"


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    rows = list(rows)
    kept = [i for i in range(len(heads)) if any(row[i] for row in rows)]  # a column without any entry says nothing
    head = "".join(f'<th scope="col">{svg.escape(heads[i])}</th>' for i in kept)
    body = "".join("<tr>" + "".join(f"<td>{svg.escape(row[i])}</td>" for i in kept) + "</tr>" for row in rows)
    return f"<table><tr>{head}</tr>{body}</table>"


def _first(night: Night, reader: Reader, view: Onlooker) -> Iterable[str]:
    cook = night.cook
    yield f"<h1>{svg.escape(cook.name)}</h1>"
    began = f"{say.day(cook.started)} {say.clock(cook.started)} to {say.day(night.end)} {say.clock(night.end)}"
    open_ = "" if cook.ended else ", still open"
    kind = "simulated cook: " if cook.simulated else ""
    yield _p(f"{kind}{began}{open_}, {span(night.end - cook.started)}", "muted")
    yield _p(" ".join(_summed(night, reader)))
    yield "<h2>The night</h2>" + _trend(night, reader)
    yield "<h2>The plan</h2>"
    if night.serve:
        yield _p(f"To serve {render(Clock(night.serve, day=True), reader)}.")
    rows = [
        (phase.name, render(band(phase.low, phase.high), reader), f"ends {render(phase.end, reader)}",
         PURPOSES.get(phase.purpose, ""))
        for phase in night.phases
    ]  # fmt: skip
    yield _table(("phase", "band", "until", "for"), rows) if rows else _p("No programme: one band.", "muted")
    yield "<h2>What happened</h2>" + _happened(night, reader, view)


def _summed(night: Night, reader: Reader) -> Iterable[str]:
    """The night in a few sentences."""
    if night.in_band is not None:
        since = "the meat went on" if night.cook.meat_on else "the first climb"  # as `tuyere.score` counts
        yield f"In the band for {render(Share(night.in_band, 1), reader)} of the time since {since}."
    opened = sum(event.kind in ("opened_told", "opened_felt") for event in night.events)
    yield f"Opened {opened} time{'' if opened == 1 else 's'}."
    fuel = sum(event.value or 0.0 for event in night.events if event.kind == "fuel_added")
    if fuel:
        yield f"Charcoal added: {render(Mass(fuel), reader)}."
    urgent = sum(alarm.level == "urgent" for alarm in night.alarms)
    if night.alarms:
        yield f"{len(night.alarms)} alarm{'' if len(night.alarms) == 1 else 's'}, {urgent} of them urgent."


def _trend(night: Night, reader: Reader) -> str:
    history = History()
    history.add(night.trend)
    lines = [(0, "pit")]
    for piece in night.pieces:
        if 1 <= piece.probe <= 3 and piece.probe not in [n for n, _ in lines]:
            lines.append((piece.probe, piece.name))
    marks = tuple((event.at, in_short.letter(event)) for event in _shown(night))
    return svg.svg(history, Picture(WIDE, TALL, LIGHT, reader.units, 0, tuple(lines), marks))


def _shown(night: Night) -> list[Event]:
    return [event for event in night.events if event.kind in KINDS or event.kind in TOLD]


def _happened(night: Night, reader: Reader, view: Onlooker) -> str:
    """Events and alarms in order of time; where there are too many, what needed nobody is left out first."""
    names = {piece.id: piece.name for piece in night.pieces}
    found = [(event.at, event.kind in KINDS and event.by != "twin", _event(event, names, view))
             for event in _shown(night)]  # fmt: skip
    found += [(alarm.raised, True, f"{alarm.level} alarm: {render(alarm.what, reader)}") for alarm in night.alarms]
    found.sort(key=lambda one: one[0])
    left = len(found) - MOST
    if left > 0:
        spare = [one for one in found if not one[1]][:left]
        found = [one for one in found if one not in spare]
        found = found[: MOST - 1] if len(found) > MOST else found
        left = len(night.alarms) + len(_shown(night)) - len(found)
    lines, day = [], ""
    for at, _, words in found:
        if say.day(at) != day:
            day = say.day(at)
            lines.append(f"<h3>{day}</h3>")
        lines.append(f'<p><span class="time">{svg.escape(say.clock(at))}</span>{svg.escape(words)}</p>')
    if left > 0:
        lines.append(_p(f"and {left} more, in the logbook.", "muted"))
    return f'<div class="two">{"".join(lines) or _p("Nothing was noted.", "muted")}</div>'


def _event(event: Event, names: dict[int, str], view: Onlooker) -> str:
    """'shade 6, Big flat'. Of what the board tells only its typed text: it may name nothing else."""
    words = in_short.event_words(view, event)
    return f"{words}, {names[event.piece]}" if event.piece in names else words


def _second(night: Night, reader: Reader) -> Iterable[str]:
    yield "<h2>Pieces</h2>" + _pieces(night, reader)
    drawn = "".join(_forecast(night, piece, reader) for piece in night.pieces)
    yield "<h2>The finish as it was forecast, and what came</h2>"
    yield f'<div class="side">{drawn}</div>' if drawn else _p("No forecast was kept.", "muted")
    yield "<h2>Food safety</h2>"
    for piece in night.pieces:
        seen = night.looked.get(piece.id)
        said = [*seen.safe, *([seen.done] if seen.done else [])] if seen else []
        yield _p(f"{piece.name}: {say.joined(_said(said, reader)) or 'nothing to say.'}")
    for rule in night.rules:
        yield _p(render(rule, reader), "muted")
    yield _p("An aid and no proof of safety; local rules go first.", "muted")
    yield "<h2>What was learned</h2>"
    for event in night.events:
        if event.kind == "learned" and event.text:
            yield _p(f"{say.clock(event.at)} {render(event.text, reader)}.")
    for words in night.learnt:
        yield _p(f"{render(words, reader)}.")


def _said(sentences: Iterable[Said], reader: Reader) -> list[str]:
    return [render(one, reader) for one in sentences]


def _own(night: Night, piece: Piece) -> list[Event]:
    """The events of a piece, oldest first."""
    its = follows.own_events(piece, night.pieces, night.events)
    return sorted((e for e in its if e.piece == piece.id or e.kind == "meat_on"), key=lambda e: (e.at, e.id))


def _pieces(night: Night, reader: Reader) -> str:
    rows = []
    for piece in night.pieces:
        its = _own(night, piece)
        done = summary.done_at(its, piece.on_at) if piece.on_at else 0
        at = {e.kind: e.at for e in its if e.at >= piece.on_at and e.text != follows.NOT_YET}
        shades = ", ".join(
            f"{e.value:g} at {say.clock(e.at)}" for e in its if e.kind == "shade" and e.value is not None
        )
        meat, parts = yields.carved([piece], night.events), yields.parts(piece, night.pieces)
        raw, all_meat = yields.raw(parts), yields.carved(parts, night.events)
        whole = piece in yields.wholes(night.pieces)  # a part counts with the whole that it was divided off
        share = f" ({render(Share(all_meat / raw), reader)})" if whole and raw and all_meat else ""
        hand = [e.value for e in its if e.kind == "hand_reading" and e.value is not None]
        rows.append(
            (
                piece.name,
                ", ".join(p for p in (piece.cut, render(Mass(piece.mass), reader) if piece.mass else "") if p),
                say.clock(piece.on_at) if piece.on_at else "never on",
                say.clock(at["wrapped"]) if "wrapped" in at else "bare",
                f"{say.clock(done)}, {span(done - piece.on_at)}" if done else "",
                say.clock(at["in_box"]) if "in_box" in at else "",
                shades,
                render(Temperature(hand[-1]), reader) if hand else "",
                f"{render(Mass(meat), reader)}{share}" if meat else "",
            )
        )
    heads = ("piece", "cut", "on", "wrapped", "done", "boxed", "shades", "last by hand", "carved (yield)")
    return _table(heads, rows) if rows else _p("No piece was noted.", "muted")


def _forecast(night: Night, piece: Piece, reader: Reader) -> str:
    its = sorted((one for one in night.forecasts if one.piece == piece.id and one.kind == "finish"), key=lambda o: o.at)
    done = summary.done_at(_own(night, piece), piece.on_at) if piece.on_at else 0
    drawn = narrowed(its, done)
    if not drawn:
        return ""
    said = _said(summary.compared(done, piece.on_at, its), reader) if done else ["it was not noted when it was done"]
    return f"<div><b>{svg.escape(piece.name)}</b>{drawn}{''.join(_p(words, 'muted') for words in said[:3])}</div>"

"""Everything the watch screen knows in words, with nothing left out."""

from __future__ import annotations

from rich.text import Text

from tuyere.cook import ahead, places, say, woken
from tuyere.cook.in_short import link_words, phase_words, recorded
from tuyere.cook.snapshot import Alarm, Piece
from tuyere.cook.standing import headline, sure
from tuyere.measures import percent
from tuyere.text import Length, Mass, render
from tuyere.tui.view import View
from tuyere.tui.widgets.detail import link_lines, noted_lines, why_lines
from tuyere.tui.widgets.prompts import prompt_lines


def read_text(view: View, width: int) -> Text:
    """How it stands, alarms with their checks, prompts, pieces, the parts of the fan demand, the link, the notes."""
    text = Text()
    shot = view.shot
    words = [w for w in headline(view) if w]
    fresh = sure(view)[0]
    rest = say.joined([*words[1:], fresh[:1].upper() + fresh[1:]])
    _part(text, "How it stands", [*say.wrap(words[0], width), *say.wrap(rest, width)])
    if shot is None:
        return text
    if shot.serving.at:
        _part(text, "Serving", say.wrap(view.said(shot.serving.words), width))
    if asleep := view.said(woken.why(shot.waking)):
        _part(text, "Who would be woken", say.wrap(asleep, width))
    alarms = [line for alarm in [*view.alarms, *view.shelved] for line in [*_alarm(view, alarm, width), ""]]
    _part(text, "Alarms", alarms[:-1] or ["none"])
    prompts = [line for prompt in shot.prompts for line in prompt_lines(view, prompt, width)]
    _part(text, "Next for the hands", ["".join(part for part, _ in line) for line in prompts] or ["nothing for now"])
    pieces = [line for piece in shot.pieces for line in _piece(view, piece, width)]
    _part(text, "Pieces", pieces or ["none"])
    if shot.rules:
        rules = [line for rule in shot.rules for line in say.hanging(view.said(rule), width)]
        _part(text, "Food safety", rules)
    _part(text, "The cook", [line for words in _cook(view) for line in say.hanging(words, width)])
    if view.cycle is not None:
        _part(text, "Why the fan", _texts(why_lines(view, view.cycle, width)))
    _part(text, "Link", _texts(link_lines(view, width)))
    noted = [line for event in shot.events for line in noted_lines(view, event, width)]
    _part(text, "Noted, newest first", _texts(noted) or ["nothing yet"])
    return text


def _part(text: Text, title: str, lines: list[str]) -> None:
    text.append(("\n" if text else "") + title + "\n", "bold")
    text.append("\n".join(lines) + "\n")


def _texts(lines: list[list[tuple[str, str]]]) -> list[str]:
    return ["".join(part for part, _ in line) for line in lines]


def _alarm(view: View, alarm: Alarm, width: int) -> list[str]:
    """What, since when and what became of it; why; the checks in their order."""
    since = f"{alarm.level}, since {say.when(alarm.raised, view.now)}"
    if alarm.acknowledged:
        since += f", seen {say.when(alarm.acknowledged, view.now)}"
    if alarm.shelved > view.now:
        since += f", shelved until {say.when(alarm.shelved, view.now)}"
    out = say.hanging(f"{view.said(alarm.what)} ({since})", width)
    out += say.wrap(say.joined([view.said(alarm.why)]), width)
    for i, check in enumerate(alarm.checks, 1):
        out += say.hanging(f"{i} {view.said(check)}", width)
    return out


def _piece(view: View, piece: Piece, width: int) -> list[str]:
    """Name and what is known of it; then what is expected."""
    parts = [piece.cut]
    parts.append(render(Mass(piece.mass), view.reader) if piece.mass else "")
    parts.append(render(Length(piece.flat), view.reader) if piece.flat else "")
    parts.append("" if piece.intact else "not whole muscle")
    parts.append(f"probe {piece.probe}" if piece.probe else "no probe")
    if piece.temperature is not None:
        parts.append(view.degrees(piece.temperature) + (" by hand" if piece.by_hand else ""))
    if piece.shade is not None:
        seen = f" ({say.ago(piece.shade_at, view.now)})" if piece.shade_at else ""
        parts.append(f"shade {piece.shade}{seen}")
    parts.append(f"in {piece.wrap}" if piece.wrap else "bare")
    parts.append(view.said(places.words(piece)))
    if piece.place_since:
        parts[-1] += f" since {say.when(piece.place_since, view.now)}"
    if piece.place == "pit" and not piece.held:
        parts[-1] = f"in the pit since {say.when(piece.on_at, view.now)}" if piece.on_at else "not on yet"
    out = say.hanging(f"{piece.name}: {', '.join(part for part in parts if part)}", width)
    if expected := ahead.full(piece, view.now, view.reader):
        out += ["  " + line for line in say.wrap(say.joined([view.said(one) for one in expected]), width - 2)]
    if judged := [word for word in (piece.verdict, *piece.safe) if word]:
        out += ["  " + line for line in say.wrap(say.joined([view.said(one) for one in judged]), width - 2)]
    return out


def _cook(view: View) -> list[str]:
    shot, cycle = view.shot, view.cycle
    assert shot is not None
    out = []
    if shot.cook:
        begun = f"{shot.cook.name}, begun {say.day(shot.cook.started)} at {say.clock(shot.cook.started)}"
        meat = f", meat on at {say.when(shot.cook.meat_on, shot.now)}" if shot.cook.meat_on else ""
        share = f", {percent(shot.cook.in_band)} of the time in the band" if shot.cook.in_band is not None else ""
        out.append(begun + meat + share)
    if cycle:
        name, end = phase_words(view)
        out.append(f"Band {view.band(cycle.low, cycle.high)}; phase {name}{', ' + end if end else ''}")
    if shot.fuel_left is not None:
        out.append(f"About {render(Mass(shot.fuel_left), view.reader)} of charcoal is left")
    if left := ahead.fuel(shot):
        early, likely, late = say.range_words(*left, shot.now)
        out.append(
            f"The fuel lasts until about {likely}: one time in ten it ends before {early}, one in ten after {late}"
        )
    if shot.fuel_words:
        out.append(view.said(shot.fuel_words))
    out.append(f"{link_words(view)}; {recorded(view)}")
    return out + ([f"Logbook: {shot.logbook}"] if shot.logbook else [])

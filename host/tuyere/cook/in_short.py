"""State, phase, link, places and events in a few words, the same on every screen and page."""

from __future__ import annotations

from tuyere.cook import say
from tuyere.cook.care import changes_ahead, emptied, ending_probe
from tuyere.cook.onlooker import Onlooker, Past
from tuyere.cook.programme import AFTER, BY_HAND
from tuyere.cook.snapshot import Event, Piece
from tuyere.logbook import kinds
from tuyere.text import Key, Mass, render, text

# One letter a kind of event: the mark under the chart, in lists, and the key in the note menu.
LETTERS = {
    "opened": "o", "spritzed": "z", "shade": "k", "wrapped": "w", "fuel_added": "f", "wood_added": "l",
    "ash_knocked": "a", "pan_filled": "p", "meat_on": "m", "moved": "g", "probe_seated": "s", "hand_reading": "r",
    "out": "x", "tender": "t", "hold_pit": "h", "hold_oven": "j", "cooling": "u", "in_fridge": "i", "divided": "d",
    "in_oven": "v", "in_box": "b", "carved": "c", "said": "n",
    "fuel_looked": "e", "thrown_away": "y",
}  # fmt: skip
# Of what the board tells; "." for all else.
BOARD_LETTERS = {"opened_told": "o", "opened_felt": "o", "tripped": "!", "board_restarted": "^", "resumed": "^",
                 "not_resumed": "^"}  # fmt: skip
SHORT = 24  # columns for how the link stands, in the top line
START, PHASE, SUMMARY, ACKNOWLEDGE = (
    Key("start", "s"), Key("phase", "p"), Key("summary", "F9"), Key("acknowledge", "a")
)  # fmt: skip


def phase_end(view: Onlooker) -> str:
    """How the present phase ends: 'until you press p', 'until 04:10', 'until Big flat reads 203 F'."""
    phase = view.phase
    if phase is None or view.shot is None:
        return ""
    if phase.end_kind == BY_HAND:
        if view.past is not None:
            return "until it is ended by hand"
        return view.said(text("until you press {key}", key=PHASE)) if view.shot.cook else "until you end it"
    if phase.end_kind == AFTER:
        return f"until {say.when(view.shot.phase_since + int(phase.end_value * say.MINUTE), view.shot.now)}"
    probe = ending_probe(phase)
    its = [piece for piece in view.shot.pieces if piece.probe == probe and piece.on_at]
    inside = next((piece for piece in its if piece.place == "pit"), None)
    if its and inside is None:
        return "the pit is empty" if emptied(view.shot.cook, view.shot.pieces) else f"{its[-1].name} is out"
    return f"until {inside.name if inside else f'probe {probe}'} reads {view.degrees(phase.end_value)}"


def phase_words(view: Onlooker) -> tuple[str, str]:
    """('Wrapped, 2 of 3', 'until Big flat reads 203 F')."""
    cycle, shot = view.cycle, view.shot
    if cycle is None or shot is None:
        return "-", ""
    phase = view.phase
    if phase is None:
        if shot.phases and cycle.phase >= len(shot.phases):
            return "all done: the fire is left to burn out", ""
        return "no programme, the band stands", ""
    return f"{phase.name}, {cycle.phase + 1} of {len(shot.phases)}", phase_end(view)


def phase_matters(view: Onlooker) -> bool:
    """Whether the phase says anything about the pit. One that a person ends, with the same band in all that follow,
    changes nothing: only the page of all words (`read`) names it."""
    cycle, phase = view.cycle, view.phase
    if view.shot is None or cycle is None or phase is None:
        return True
    return phase.end_kind != BY_HAND or changes_ahead(view.shot.phases, cycle)


def state_words(view: Onlooker) -> str:
    """The state in a word or two."""
    cycle = view.cycle
    if cycle is None:
        return "no reading"
    return {"manual": "fan by hand", "tripped": "tripped, fan off", "burnout": "over, fan off"}.get(
        cycle.state, cycle.state
    )


def recorded(view: Onlooker) -> str:
    """'12,345 recorded, none missing'."""
    if view.shot is None:
        return ""
    link = view.shot.link
    return f"{link.recorded:,} recorded, {f'{link.missing:,}' if link.missing else 'none'} missing"


def past_words(past: Past) -> str:
    """'PAST NIGHT, 60x', 'PAST NIGHT, paused'."""
    return f"PAST NIGHT, {'at its end' if past.over else 'paused' if past.paused else f'{past.speed:g}x'}"


def link_words(view: Onlooker, brief: bool = False) -> str:
    """The state of the link in a few words, or fewer (`brief`); a twin is always called simulated."""
    if view.past is not None:
        return past_words(view.past)
    if view.where == "looking":
        return "looking for the engine"
    if view.where == "ended":
        return "engine ended"
    if view.where == "lost" or view.shot is None:
        return "no engine"
    link = view.shot.link
    if link.state != "open":
        short = {"searching": "no board yet", "asking": "board not answering", "lost": "link lost"}
        said = view.said(link.words)
        return said if len(said) <= SHORT else short.get(link.state, "no board")
    if link.simulated:
        speed = "as fast as it goes" if not link.speed else f"{link.speed:g}x"
        return f"simulated, {speed}" if brief else f"simulated, twin at {speed}"
    return f"{link.kind or 'board'} linked"


def event_words(view: Onlooker, event: Event) -> str:
    """'shade 6, Big flat'."""
    words = kinds.words(event.kind)
    if event.kind == "shade" and event.value is not None:
        words = f"shade {event.value:g}"
    elif event.kind == "hand_reading" and event.value is not None:
        words = f"by hand {view.degrees(event.value)}"
    elif event.kind == "fuel_added" and event.value is not None:
        words = f"fuel added, {render(Mass(event.value), view.reader)}"
    if event.text:
        words += f": {view.said(event.text)}" if event.kind == "said" or event.by else f" ({view.said(event.text)})"
    piece = view.piece(event.piece) if event.piece else None
    return f"{words}, {piece.name}" if piece else words


def letter(event: Event) -> str:
    """The mark of an event; a shade is its own digit, black (10) is X."""
    if event.kind == "shade" and event.value is not None:
        return "X" if event.value >= 10 else f"{event.value:.0f}"
    return LETTERS.get(event.kind) or BOARD_LETTERS.get(event.kind, ".")


def place_parts(piece: Piece, wide: bool, now: int) -> list[str]:
    """Where it is, and for how long if it lies out; its wrap unless that has a column of its own (`wide`); "hand" for a
    reading taken by hand."""
    words = say.place(here(piece), piece.place_since, now)
    by_hand = ("by hand" if wide else "hand") if piece.by_hand else ""
    return [part for part in (words, "" if wide else piece.wrap, by_hand) if part]


def here(piece: Piece) -> str:
    """Its place, or that it is not on yet."""
    return "not on" if piece.place == "pit" and not piece.on_at else piece.place


def idle(view: Onlooker) -> str:
    """What stands in place of things to do while there are none."""
    shot = view.shot
    if shot is None:
        return "nothing, until the engine is back"
    state = shot.cycle.state if shot.cycle else ""
    if shot.link.state != "open":
        return "nothing, until the board is back"
    if shot.cook and shot.cook.ended and state in ("off", "burnout"):
        hot = [piece.name for piece in shot.pieces if piece.place == "box" or piece.held]
        held = f" {', '.join(hot)} still held hot: nothing watches it any more." if hot else ""
        plan = shot.planned
        begins = f"{plan.name}, as planned: {', '.join(plan.pieces)}" if plan else "a new one, without a plan"
        return view.said(
            text(
                "nothing: the cook is over, {summary} sums it up. {start} begins {begins}.{held}",
                summary=SUMMARY, start=START, begins=begins, held=held,
            )
        )  # fmt: skip
    if state == "off" and not emptied(shot.cook, shot.pieces):
        return view.said(text("light the fire, then {key} starts the pit", key=START))
    if state == "tripped":
        return view.said(
            text(
                "look at the fire, then {acknowledge} acknowledges and {start} starts again",
                acknowledge=ACKNOWLEDGE, start=START,
            )
        )  # fmt: skip
    return "nothing for now"

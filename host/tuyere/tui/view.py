"""What the screen knows: the newest snapshot, how it stands with the engine, what was asked and not yet answered."""

from __future__ import annotations

from dataclasses import dataclass, field

from tuyere.engine.model import Cycle, Event, Phase, Piece, Snapshot
from tuyere.engine.words import in_units
from tuyere.tui import say, units

Line = list[tuple[str, str]]  # runs of (text, role); roles: "", strong, muted, hand, urgent, asked, band

# One letter a kind of event: the mark under the chart, in lists, and the key in the note menu.
LETTERS = {
    "opened": "o", "spritzed": "z", "shade": "k", "wrapped": "w", "fuel_added": "f", "wood_added": "l",
    "ash_knocked": "a", "pan_filled": "p", "meat_on": "m", "moved": "g", "probe_seated": "s", "hand_reading": "r",
    "out": "x", "in_oven": "v", "in_box": "b", "carved": "c", "said": "n",
}  # fmt: skip

SHORT = 24  # columns for how the link stands, in the top line
BY_HAND, AFTER = 0, 1  # how a phase ends (Phase.end_kind); above: the meat probe of that number less one


@dataclass
class Asked:
    """Something asked of the board that a snapshot does not show yet."""

    name: str
    words: str
    at: float  # monotonic seconds
    low: float = 0.0
    high: float = 0.0


@dataclass
class View:
    """All a widget needs to draw itself."""

    shot: Snapshot | None = None
    where: str = "looking"  # looking, open, lost
    trouble: str = ""  # why there is no engine
    quiet: bool = False  # the engine has said nothing for too long
    asked: list[Asked] = field(default_factory=list)
    units: str = units.FAHRENHEIT
    window: int = 0  # ms, 0 for the whole cook
    near: bool = False
    detail: bool = False
    ascii: bool = False

    @property
    def cycle(self) -> Cycle | None:
        return self.shot.cycle if self.shot else None

    @property
    def live(self) -> bool:
        """The newest cycle is of now."""
        return (
            self.where == "open"
            and not self.quiet
            and self.shot is not None
            and self.shot.cycle is not None
            and not self.shot.stale
            and self.shot.link.state == "open"
        )

    @property
    def phase(self) -> Phase | None:
        cycle = self.cycle
        if self.shot is None or cycle is None or not 0 <= cycle.phase < len(self.shot.phases):
            return None
        return self.shot.phases[cycle.phase]

    def degrees(self, value: float | None) -> str:
        return units.degrees(value, self.units)

    def said(self, words: str) -> str:
        """A sentence of the engine, its degrees in the person's units."""
        return in_units(words, self.units)

    def band(self, low: float, high: float) -> str:
        return units.band(low, high, self.units)

    def piece(self, number: int) -> Piece | None:
        return next((p for p in self.shot.pieces if p.id == number), None) if self.shot else None


def headline(view: View) -> list[str]:
    """How the pit stands and why: the first sentence is the headline. What is not live is said first."""
    shot = view.shot
    if view.where == "looking" or shot is None:
        if view.where == "open":
            return ["Asking the engine how the pit stands."]
        return ["Looking for the engine.", view.trouble or "It is started if it does not run yet."]
    if view.where == "lost":
        held = "A board holds the pit without it." if not shot.link.simulated else "A twin ends with its engine."
        gone = f"The engine is gone since {say.clock(shot.now)}; looking for it again."
        return [gone, f"{held} What stands below is old.", view.trouble]
    if view.quiet:
        return [f"No word from the engine since {say.clock(shot.now)}.", "What stands below is old."]
    words = [view.said(word) for word in shot.words if word] or ["The engine has not said how the pit stands."]
    if shot.link.state != "open":
        first = shot.link.words[:1].upper() + shot.link.words[1:]
        since = f"The last reading is of {say.clock(shot.cycle.at)}, not live." if shot.cycle else ""
        said = any(first.rstrip(".").casefold() in word.casefold() for word in words)
        return [words[0], *([] if said else [first]), *([since] if since else []), *words[1:]]
    if shot.stale and shot.cycle:
        return [f"No fresh reading since {say.clock(shot.cycle.at)}.", *words]
    return words


def phase_end(view: View) -> str:
    """How the present phase ends: 'until you say', 'until 04:10', 'until probe 1 reads 203 F'."""
    phase = view.phase
    if phase is None or view.shot is None:
        return ""
    if phase.end_kind == BY_HAND:
        return "until you say"
    if phase.end_kind == AFTER:
        return f"until {say.clock(view.shot.phase_since + int(phase.end_value * say.MINUTE))}"
    return f"until probe {phase.end_kind - 1} reads {view.degrees(phase.end_value)}"


def state_words(view: View) -> str:
    """One word for the state, 'by hand' for manual."""
    cycle = view.cycle
    if cycle is None:
        return "no reading"
    return {"manual": "fan by hand", "tripped": "tripped, fan off", "off": "off"}.get(cycle.state, cycle.state)


def recorded(view: View) -> str:
    """'12,345 recorded, none missing'."""
    if view.shot is None:
        return ""
    link = view.shot.link
    return f"{link.recorded:,} recorded, {f'{link.missing:,}' if link.missing else 'none'} missing"


def link_words(view: View) -> str:
    """How it stands with the board in a few words; a twin is always called simulated."""
    if view.where == "looking":
        return "looking for the engine"
    if view.where == "lost" or view.shot is None:
        return "no engine"
    link = view.shot.link
    if link.state != "open":
        short = {"searching": "no board yet", "asking": "board not answering", "lost": "link lost"}
        return link.words if len(link.words) <= SHORT else short.get(link.state, "no board")
    if link.simulated:
        speed = "as fast as it goes" if not link.speed else f"{link.speed:g}x"
        return f"simulated, twin at {speed}"
    return f"{link.kind or 'board'} linked"


def event_words(view: View, event: Event) -> str:
    """'bark 6, Big flat'."""
    from tuyere.logbook.kinds import KINDS

    known = KINDS.get(event.kind)
    words = known.words if known else event.kind.replace("_", " ")
    if event.kind == "shade" and event.value is not None:
        words = f"shade {event.value:g}"
    elif event.kind == "hand_reading" and event.value is not None:
        words = f"by hand {view.degrees(event.value)}"
    elif event.kind == "fuel_added" and event.value is not None:
        words = f"fuel added, {event.value:g} kg"
    if event.text:
        words += f": {event.text}" if event.kind == "said" else f" ({event.text})"
    piece = view.piece(event.piece) if event.piece else None
    return f"{words}, {piece.name}" if piece else words


def letter(event: Event) -> str:
    """The mark of an event; a shade is its own digit, black (10) is X."""
    if event.kind == "shade" and event.value is not None:
        return "X" if event.value >= 10 else f"{event.value:.0f}"
    return LETTERS.get(event.kind, "n")

"""What the screen knows: the newest snapshot, the state of the engine, requests without an answer yet."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

from tuyere.cook import say
from tuyere.cook.care import emptied, ending_probe, rank
from tuyere.cook.programme import AFTER, BY_HAND
from tuyere.cook.snapshot import Alarm, Cycle, Event, Phase, Piece, Prompt, Snapshot
from tuyere.logbook import kinds
from tuyere.text import FAHRENHEIT, Mass, Reader, Said, Temperature, band, gist, render
from tuyere.tui.actions import BY_ID, key_words

Line = list[tuple[str, str]]  # runs of (text, role); roles: "", strong, muted, hand, urgent, asked, band

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


@dataclass
class Asked:
    """Something asked of the board that a snapshot does not show yet."""

    name: str
    words: str
    at: float  # monotonic seconds
    low: float = 0.0
    high: float = 0.0


class Past(Protocol):
    """How a past night is being shown; see `replay.player.Player`."""

    speed: float
    paused: bool

    @property
    def over(self) -> bool:
        """Its last cycle is shown."""


Chosen = tuple[str, int, str]  # kind, piece and words of a prompt, without its measures


def mark_of(prompt: Prompt) -> Chosen:
    """What makes a prompt the same one while its times move on."""
    return prompt.kind, prompt.piece, gist(prompt.words)


@dataclass
class View:
    """All a widget needs to draw itself."""

    shot: Snapshot | None = None
    where: str = "looking"  # looking, open, lost, ended (the engine, on purpose)
    trouble: str = ""  # why there is no engine
    quiet: bool = False  # the engine has said nothing for too long
    waited: float = 0.0  # s since the engine last said anything
    unmoved: float = 0.0  # s since the newest record last changed
    asked: list[Asked] = field(default_factory=list)
    units: str = FAHRENHEIT
    window: int = 0  # ms, 0 for the whole cook
    near: bool = False
    detail: bool = False
    ascii: bool = False
    past: Past | None = None  # a past night is shown
    chosen: Chosen | None = None  # of the things to do
    keys: dict[str, str] = field(default_factory=dict)  # by action id, where a person has changed them

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
    def now(self) -> int:
        """The cook's clock."""
        return self.shot.now if self.shot else 0

    @property
    def alarms(self) -> list[Alarm]:
        """Alarms that stand and are not shelved: urgent ones first, of these the headline's (`care.rank`), then those
        that nobody has seen."""
        alarms = [a for a in (self.shot.alarms if self.shot else []) if not a.cleared and a.shelved <= self.now]
        return sorted(alarms, key=lambda a: (a.level != "urgent", rank(a.code), bool(a.acknowledged)))

    @property
    def shelved(self) -> list[Alarm]:
        return [a for a in (self.shot.alarms if self.shot else []) if not a.cleared and a.shelved > self.now]

    @property
    def urgent(self) -> bool:
        """An urgent alarm stands that nobody has seen."""
        return any(a.level == "urgent" and not a.acknowledged for a in self.alarms)

    @property
    def phase(self) -> Phase | None:
        cycle = self.cycle
        if self.shot is None or cycle is None or not 0 <= cycle.phase < len(self.shot.phases):
            return None
        return self.shot.phases[cycle.phase]

    @property
    def last_note(self) -> Event | None:
        """The note a person wrote down last, whenever it happened."""
        if self.shot is None:
            return None
        mine = (event for event in self.shot.events if not event.by)
        return self.shot.last_note or max(mine, key=lambda e: (e.noted, e.id), default=None)

    def key(self, action: str) -> str:
        """The key of an action, as it is called: 'r', 'F2'."""
        return key_words(self.keys.get(action) or BY_ID[action].keys).split()[0]

    @property
    def more(self) -> str:
        """The note where there was no room for all words."""
        return f"{self.key('read')} reads the rest"

    def degrees(self, value: float | None) -> str:
        return render(Temperature(value), Reader(self.units))

    @property
    def age(self) -> float | None:
        """Seconds since the newest record by the person's watch. A twin's clock stands still when its records do."""
        shot = self.shot
        if shot is None or shot.cycle is None:
            return None
        return self.unmoved if shot.link.simulated else max(0, shot.now - shot.cycle.at) / 1000 + self.waited

    @property
    def reader(self) -> Reader:
        """For whom the engine's sentences are rendered."""
        return Reader(self.units, now=self.now, keys=tuple((action, self.key(action)) for action in self.keys))

    def said(self, words: Said) -> str:
        """A sentence of the engine for the person who reads it."""
        return render(words, self.reader)

    def band(self, low: float, high: float) -> str:
        return render(band(low, high), Reader(self.units))

    def piece(self, number: int) -> Piece | None:
        return next((p for p in self.shot.pieces if p.id == number), None) if self.shot else None


def phase_end(view: View) -> str:
    """How the present phase ends: 'until you press p', 'until 04:10', 'until Big flat reads 203 F'."""
    phase = view.phase
    if phase is None or view.shot is None:
        return ""
    if phase.end_kind == BY_HAND:
        if view.past is not None:
            return "until it is ended by hand"
        return f"until you press {view.key('phase')}" if view.shot.cook else "until you end it"
    if phase.end_kind == AFTER:
        return f"until {say.when(view.shot.phase_since + int(phase.end_value * say.MINUTE), view.shot.now)}"
    probe = ending_probe(phase)
    its = [piece for piece in view.shot.pieces if piece.probe == probe and piece.on_at]
    inside = next((piece for piece in its if piece.place == "pit"), None)
    if its and inside is None:
        return "the pit is empty" if emptied(view.shot.cook, view.shot.pieces) else f"{its[-1].name} is out"
    return f"until {inside.name if inside else f'probe {probe}'} reads {view.degrees(phase.end_value)}"


def state_words(view: View) -> str:
    """The state in a word or two."""
    cycle = view.cycle
    if cycle is None:
        return "no reading"
    return {"manual": "fan by hand", "tripped": "tripped, fan off", "burnout": "over, fan off"}.get(
        cycle.state, cycle.state
    )


def recorded(view: View) -> str:
    """'12,345 recorded, none missing'."""
    if view.shot is None:
        return ""
    link = view.shot.link
    return f"{link.recorded:,} recorded, {f'{link.missing:,}' if link.missing else 'none'} missing"


def past_words(past: Past) -> str:
    """'PAST NIGHT, 60x', 'PAST NIGHT, paused'."""
    return f"PAST NIGHT, {'at its end' if past.over else 'paused' if past.paused else f'{past.speed:g}x'}"


def link_words(view: View, brief: bool = False) -> str:
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


def event_words(view: View, event: Event) -> str:
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

"""What one who looks on knows: the newest snapshot, whether the engine answers, and how old all that is.

The terminal's screen and the page make their words from this.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import tzinfo
from typing import Protocol

from tuyere.cook.care import rank
from tuyere.cook.snapshot import Alarm, Cycle, Event, Phase, Piece, Snapshot
from tuyere.text import FAHRENHEIT, Reader, Said, Temperature, band, render


class Past(Protocol):
    """How a past night is being shown; see `replay.player.Player`."""

    speed: float
    paused: bool

    @property
    def over(self) -> bool:
        """Its last cycle is shown."""


@dataclass
class Onlooker:
    """Whatever is the same for every way of looking. `zone` None: that of this computer."""

    shot: Snapshot | None = None
    where: str = "looking"  # looking, open, lost, ended (the engine, on purpose)
    trouble: str = ""  # why there is no engine
    quiet: bool = False  # the engine has said nothing for too long
    waited: float = 0.0  # s since the engine last said anything
    unmoved: float = 0.0  # s since the newest record last changed
    units: str = FAHRENHEIT
    zone: tzinfo | None = None
    past: Past | None = None  # a past night is shown

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
        return Reader(self.units, self.zone, now=self.now)

    def said(self, words: Said) -> str:
        """A sentence of the engine for the person who reads it."""
        return render(words, self.reader)

    def degrees(self, value: float | None) -> str:
        return render(Temperature(value), Reader(self.units))

    def band(self, low: float, high: float) -> str:
        return render(band(low, high), Reader(self.units))

    def piece(self, number: int) -> Piece | None:
        return next((p for p in self.shot.pieces if p.id == number), None) if self.shot else None

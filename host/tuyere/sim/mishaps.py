"""Troubles to practise with: what goes wrong in front of a twin's board, and when."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from hearth.core.fields import PROBE_OPEN

from tuyere.sim import pit_slots as at
from tuyere.sim.outside import Outside, Readings
from tuyere.sim.script import Script
from tuyere.sim.twin import Twin
from tuyere.sim.twin_board import twin_frames as frames

USUAL_S = 7200.0  # after the fire was lit: the meat is on by then
REST_KG = 0.25  # of lit charcoal, where the fuel ends
GREASE_C_PER_S, GREASE_S = 0.7, 240.0  # faster than any charcoal (`flare` trips at 0.45)
ASLEEP_S = 1200.0  # that a host sleeps, or a cable is out
LEAST_REAL_S = 180.0  # that a cable is out by our own clock: a lost link has a minute before anybody is called


class Trouble(NamedTuple):
    """One of them. written: events of the script (kind, a, b); began: what changes once; spoils: each step after.

    cut_s: the power is gone for this long. silent: the line is dead; asleep: the host takes nothing, for ASLEEP_S.
    """

    words: str
    written: tuple[tuple[int, float, float], ...] = ()
    began: Callable[[Outside], None] = lambda world: None
    spoils: Callable[[Readings, float], None] = lambda readings, seconds: None
    cut_s: float = 0.0
    silent: bool = False
    asleep: bool = False


def _ends(world: Outside) -> None:
    world.state[at.UNLIT] = 0.0
    world.state[at.LIT] = min(world.state[at.LIT], REST_KG)


def _grease(readings: Readings, seconds: float) -> None:
    readings.pit_c += GREASE_C_PER_S * min(seconds, GREASE_S, max(0.0, 3.0 * GREASE_S - seconds))


def _fan(readings: Readings, seconds: float) -> None:
    readings.fan_stuck = frames.FAN_SWITCH_OPEN


def _supply(readings: Readings, seconds: float) -> None:
    readings.supply_v = 9.8


TROUBLES: dict[str, Trouble] = {
    "probe-slips": Trouble("the pit probe slips and reads far too cool", ((at.PROBE_FALLS, 0.35, 0.0),)),
    "probe-breaks": Trouble("a wire of the pit probe breaks", ((at.PROBE_FAULT, float(PROBE_OPEN), 0.0),)),
    "fuel-ends": Trouble("the charcoal is used up", began=_ends),
    "lid-open": Trouble("the lid is left open for two hours", ((at.OPENING, 7200.0, 0.0),)),
    "air-leak": Trouble("an ash door stands open: the fire gets air past the fan", ((at.LEAK, 25.0, 15.0),)),
    "grease": Trouble("grease burns", spoils=_grease),
    "fan-stuck": Trouble("the fan does not turn", spoils=_fan),
    "supply-low": Trouble("the battery of the fan is empty", spoils=_supply),
    "power-cut": Trouble("the power is gone for an hour", cut_s=3600.0),
    "cable-out": Trouble("the cable between board and computer is out", silent=True),
    "host-asleep": Trouble("this computer sleeps for twenty minutes, and the board calls by itself", asleep=True),
}


class BadTrouble(ValueError):
    """A trouble that does not exist, or a time that is none."""


def parse(words: str) -> tuple[str, float]:
    """'grease', 'grease@3h', 'grease@90min' -> (name, s after the fire was lit). BadTrouble says what to give."""
    name, sign, when = words.strip().lower().partition("@")
    if name not in TROUBLES:
        raise BadTrouble(f"there is no trouble {name!r}; they are {', '.join(TROUBLES)}")
    if not sign:
        return name, USUAL_S
    for unit, seconds in (("min", 60.0), ("h", 3600.0), ("s", 1.0)):
        number = when.removesuffix(unit)
        if number != when and number.replace(".", "", 1).isdigit() and 0.0 < float(number) * seconds <= 48 * 3600.0:
            return name, float(number) * seconds
    raise BadTrouble(f"{when!r} is no time after lighting, up to 48 h: give it as {name}@3h or {name}@90min")


class Troubled(Outside):
    """A cooker to which a trouble happens. ValueError as `Outside` and `parse`."""

    def __init__(
        self, trouble: str, cooker: str = "upright", seed: int = 1, script: Script | None = None, hours: float = 14.0
    ) -> None:
        self.name, self.at_s = parse(trouble)
        self.trouble = TROUBLES[self.name]
        script = script if script is not None else Script.draw(seed, hours)
        for kind, a, b in self.trouble.written:
            script.add(kind, self.at_s, a, b, from_start=True)
        super().__init__(cooker, seed, script)
        self._began = False
        self.lasts_s = ASLEEP_S

    def step(self, seconds: float, fan: float) -> Readings:
        """As the cooker, and what goes wrong."""
        readings = super().step(seconds, fan)
        if self.now_s >= self.at_s:
            if not self._began:
                self._began = True
                self.trouble.began(self)
            self.trouble.spoils(readings, self.now_s - self.at_s)
        return readings

    def away(self, ms: int) -> bool:
        """Whether the host takes nothing at this time of the twin, so that time must not wait for it."""
        deaf = self.trouble.asleep or self.trouble.silent
        return deaf and self.at_s <= ms / 1000.0 < self.at_s + self.lasts_s

    def play(self, twin: Twin, stop: Callable[[], bool]) -> None:
        """Run the twin through what the world alone cannot do: a power cut, a cable that is out."""
        if self.trouble.silent and twin.speed:
            self.lasts_s = max(ASLEEP_S, LEAST_REAL_S * twin.speed)
        twin.run(until_ms=round(1000.0 * self.at_s), stop=stop)
        if stop() or not (self.trouble.cut_s or self.trouble.silent):
            return
        if self.trouble.cut_s:
            twin.power_cut(self.trouble.cut_s)
            return
        twin.muted = True
        twin.run(until_ms=round(1000.0 * (self.at_s + self.lasts_s)), stop=stop)
        twin.muted = False

"""Writes `tests/core/decided.json`: what the law decides in the portable cases and in random nights.

Run it with `python tests/core/decided.py` after a change of the law. The diff says in which cases it decides otherwise
than before; look at each. A change that was meant to put the source in order leaves the page as it is. Figures that
were measured with the law of before are older than a page that has changed.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any
from zlib import crc32

import run
from cases import kit
from cases.case_wild import night
from hearth.core import Memory, Now, Out, Settings, cycle, fields, programme

PAGE = Path(__file__).with_name("decided.json")
LONGEST = 2_500  # cycles: the longer cases take two thirds of the time
OFTEN = 50  # cycles from one look at the whole memory to the next

NIGHTS = "random nights"
SEEDS = (21, 22, 23)
PITS = range(31, 43)
EACH = 4_500  # cycles of a pit that answers


class Decisions:
    """Counts and adds up what the law decides, in place of `cycle`."""

    def __init__(self, cycle: Any) -> None:
        self._cycle = cycle
        self._last: tuple[Any, Any] | None = None
        self.cycles = self._fan = self._sum = 0

    def __call__(self, settings: Any, now: Any, memory: Any, out: Any) -> None:
        if self._last is None or self._last[0] is not memory or self.cycles % OFTEN == 0:
            self._whole()
        self._cycle(settings, now, memory, out)
        self._last = memory, out
        self.cycles += 1
        self._fan += out.fan
        of_codes = out.state + 11 * out.reason + 383 * out.answer
        self._sum = (31 * self._sum + out.fan + 7 * out.duty + 65_537 * of_codes) & 0xFFFFFFFF

    def _whole(self) -> None:
        for record in self._last or ():
            self._sum = crc32(repr(record.values()).encode(), self._sum)

    def said(self) -> str:
        """In one line: how many cycles, what fan on average, and a sum over every decision and the memory."""
        self._whole()
        return f"{self.cycles} cycles, fan {self._fan / 100 / self.cycles:.2f} %, {self._sum:08x}"


def decided(module: str, known: dict[str, str] | None = None) -> dict[str, str]:
    """Case -> what was decided in it. Only the cases of `known`, if given; else all that are not too long. Cases in
    which no cycle runs are left out."""
    found = {}
    for name, case in run.cases(module):
        if known is None or name in known:
            counting = Decisions(kit.cycle)
            own = vars(sys.modules[case.__module__])
            places = [place for place in (vars(kit), own) if "cycle" in place]
            for place in places:
                place["cycle"] = counting
            try:
                case()
            finally:
                for place in places:
                    place["cycle"] = counting._cycle
            if 0 < counting.cycles <= LONGEST:
                found[name] = counting.said()
    return found


class Fire:
    """A pit that answers the fan: coal that lights and dies, a box that warms and leaks. Each seed draws another."""

    def __init__(self, seed: int) -> None:
        self.dice = dice = kit.Dice(seed)
        self.power, self.lights, self.warms = dice.roll(180, 900), dice.roll(20, 400), dice.roll(60, 1200)
        self.gusts = dice.roll(0, 3) * 10
        self.fuel = dice.roll(500, 6_000)  # cycles of full fan
        self.calm = dice.roll(1, 6) * 900  # how seldom people do something
        self.burns = dice.roll(0, 2 * EACH)  # when grease takes fire
        self.lit, self.c, self.wind = 0.1, 20.0, 0.0
        self.probe, self.slow = 20.0, dice.roll(0, 2) * dice.roll(5, 40)
        self.lid = 0  # cycles it stays open
        self.meat = 5.0

    def read(self, fan: float, now: Now) -> None:
        """Two seconds later."""
        dice = self.dice
        self.fuel -= fan
        self.wind += 0.02 * (dice.roll(-self.gusts, self.gusts) / 20 - self.wind)
        air = max(0.0, fan + self.wind * 0.3 + (0.3 if self.lid else 0.0)) if self.fuel > 0 else 0.0
        self.lit += (min(air, 1.3) - self.lit) / self.lights
        self.c += (20 + self.power * self.lit - self.c) / self.warms - (1.4 if self.lid and self.c > 60 else 0.0)
        self.meat += (min(self.c, 98.0) - self.meat) / 3000
        self.lid = max(0, self.lid - 1)
        self.probe += (self.c - self.probe) / (1 + self.slow)
        now.pit = round(100 * self.probe) + dice.roll(-8, 8)
        now.meat_1, now.meat_2 = round(100 * self.meat), round(100 * self.c) - 300
        now.ambient, now.supply = 1500, 12000
        now.faults = fields.PROBE_OPEN if dice.roll(0, 399) == 0 else 0
        now.fan_fault = dice.roll(0, 3) if self.c > 90 and dice.roll(0, 2000) < 8 else 0
        now.board = fields.BOARD_ALONE if dice.roll(0, 700) < 500 else 0
        if dice.roll(0, 1500) == 0:
            now.supply = 9500
        self.burns -= 1
        if 0 < self.burns < 40 and self.c > 90:
            self.c += 1.2

    def order(self, now: Now, out: Out) -> None:
        """What people do: announced lids and others, another band, a hand, a look, what a board was told to learn."""
        now.order = now.first = now.second = 0
        what = self.dice.roll(0, self.calm)
        if what < 3:
            self.lid = self.dice.roll(10, 200)
        if what == 0:
            now.order = fields.ORDER_OPENED
        elif what == 4:
            now.order, now.first, now.second = fields.ORDER_BAND, 11000 + 100 * self.dice.roll(0, 9), 13000
        elif what == 5:
            now.order, now.first, now.second = fields.ORDER_FAN, 100 * self.dice.roll(0, 100), 120
        elif what == 6:
            now.order, now.first = fields.ORDER_WITNESS, self.dice.roll(0, 1) * 2
        elif what == 7:
            now.order = fields.ORDER_LOOKED
        elif what == 8:
            now.order, now.first, now.second = fields.ORDER_EXPERIMENT, 500, 600
        elif what == 9:
            now.order = fields.ORDER_FORGET
        elif what == 10:
            now.order, now.first = fields.ORDER_RELY, 1
        elif what == 11:
            now.order, now.first = fields.ORDER_PHASE, 1
        elif what < 60 and out.trip:
            now.order = fields.ORDER_ACKNOWLEDGE
        elif what < 60 and out.state == fields.OFF and not out.trip:
            now.order = fields.ORDER_START


def answered(seed: int) -> str:
    """What was decided in a night of a pit that answers."""
    fire, counting = Fire(seed), Decisions(cycle)
    settings, now, memory, out = Settings(), Now(), Memory(), Out()
    settings.known = fire.dice.roll(0, 1) * 150
    rows = [[12110, 13500, fields.END_AFTER, 60], [11500, 12800, fields.END_MEAT_1, 7000], [12110, 13500, 0, 0]]
    programme.load(settings, memory, rows, 0, 0)
    now.order = fields.ORDER_START
    for _ in range(EACH):
        counting(settings, now, memory, out)
        fire.read(out.duty / fields.FULL, now)
        fire.order(now, out)
    return counting.said()


def nights() -> dict[str, str]:
    """Of nights whose inputs lie at the ends of their ranges, a sum; of pits that answer, what was decided."""
    wild = {f"seed {seed}": f"{night(seed, LONGEST):06x}" for seed in SEEDS}
    return wild | {f"pit {seed}": answered(seed) for seed in PITS}


if __name__ == "__main__":
    page = {module: decided(module) for module in run.CASES} | {NIGHTS: nights()}
    PAGE.write_text(json.dumps({m: cases for m, cases in page.items() if cases}, indent=1) + "\n", encoding="utf-8")

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

PAGE = Path(__file__).with_name("decided.json")
LONGEST = 2_500  # cycles: the longer cases take two thirds of the time
OFTEN = 50  # cycles from one look at the whole memory to the next

NIGHTS = "random nights"
SEEDS = (21, 22, 23)


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


def nights() -> dict[str, str]:
    """What random nights come to, whose inputs lie at the ends of their ranges."""
    return {f"seed {seed}": f"{night(seed, LONGEST):06x}" for seed in SEEDS}


if __name__ == "__main__":
    page = {module: decided(module) for module in run.CASES} | {NIGHTS: nights()}
    PAGE.write_text(json.dumps({m: cases for m, cases in page.items() if cases}, indent=1) + "\n", encoding="utf-8")

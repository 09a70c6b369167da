"""A world without a pit, for trying `tuyere board check`. A person says in which water or air the probes lie."""

from __future__ import annotations

import math
import random

from tuyere.meat.water import boiling, pressure_at
from tuyere.sim.outside import Readings

AIR_C = 20.0
LAG_S = (6.0, 15.0, 15.0, 15.0, 15.0)  # time constants in stirred water: a sheathed couple, thicker meat probes
NOISE_C = 0.04
WORDS = "air, ice, boiling, boiling ALTITUDE (m), press, hold"


class Bath:
    """`tuyere.sim.twin.World`. Each probe is off by an error of its own, drawn from the seed.

    errors: pit, three meat probes and ambient, C; couples within the 1.5 C of class 1 (IEC 60584-1), thermistors 1 C.
    """

    def __init__(self, seed: int = 1) -> None:
        self._random = random.Random(seed)
        draw = self._random.uniform
        self.errors = [draw(-1.5, 1.5), *(draw(-1.0, 1.0) for _ in range(4))]
        self.around_c = AIR_C
        self._now = [AIR_C] * 5
        self._press = self._hold = False
        self.readings = Readings()

    def do(self, said: str) -> str:
        """Do what a person at the bath is asked for, one of WORDS; returns a sentence."""
        word, _, rest = said.strip().lower().partition(" ")
        if word in ("press", "hold") and not rest:
            self._press, self._hold = word == "press", word == "hold"
            return "the button is pressed" if self._press else "the button is held for 3 s"
        if word == "boiling":
            try:
                metres = float(rest or 0)
            except ValueError:
                return f"{rest!r} is no altitude in m"
            if not -500 <= metres <= 5000:
                return "the altitude goes from -500 to 5000 m"
            self.around_c = boiling(pressure_at(metres))
        elif word in ("air", "ice") and not rest:
            self.around_c = AIR_C if word == "air" else 0.0
        else:
            return f"the hands know: {WORDS}"
        return f"all probes lie in {self.around_c:.2f} C"

    def step(self, seconds: float, fan: float) -> Readings:
        """Let `seconds` pass."""
        seen = []
        for i, lag in enumerate(LAG_S):
            self._now[i] += (self.around_c - self._now[i]) * (1.0 - math.exp(-seconds / lag))
            seen.append(self._now[i] + self.errors[i] + self._random.gauss(0.0, NOISE_C))
        found = self.readings
        found.pit_c, found.ambient_c = seen[0], seen[4]
        found.meat_c = [*seen[1:4]]
        found.told, found.held = self._press, self._hold
        self._press = self._hold = False
        return found

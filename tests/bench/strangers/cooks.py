"""One cook of a stranger: the cooker, its weather, its lids and its meat, all from the family and a seed.

Even seeds choose numbers of the law, odd seeds are reported: `seeds(half, count)`.
"""

from __future__ import annotations

import math
import random
import zlib
from dataclasses import dataclass, field
from types import ModuleType
from typing import Any

import numpy as np

from strangers import places as at
from strangers.pits import bed, blower, ceramic, gusty, lags

FAMILIES: dict[str, ModuleType] = {"lags": lags, "bed": bed, "ceramic": ceramic, "blower": blower, "gusty": gusty}
WORDS = {
    "lags": "two lags and a dead time",
    "bed": "a bed that only draught and fan together feed",
    "ceramic": "heavy radiating walls of many layers",
    "blower": "a fan that gives way to back pressure",
    "gusty": "a thin, leaky pit in gusts",
}
HALVES = {"choose": 0, "report": 1}  # seed modulo 2
HOURS = 14.0
BAND_LOW_C = 121.1
NASTY = 0.12  # share of cookers with something awkward drawn on top of the spread
LONG_AGO_S = 2.5 * 3600.0  # a person does not wait longer with the meat


def seeds(half: str, count: int, first: int = 1) -> list[int]:
    """The first `count` seeds of a half, from `first` on. ValueError for an unknown half, or a seed below 1."""
    if half not in HALVES:
        raise ValueError(f"Unknown half {half!r}; choose one of {', '.join(HALVES)}.")
    if first < 1:
        raise ValueError(f"Seeds begin at 1, not {first}.")
    begin = first + (first + HALVES[half]) % 2
    return [begin + 2 * i for i in range(count)]


def half_of(seed: int) -> str:
    """The half a seed belongs to."""
    return "report" if seed % 2 else "choose"


@dataclass
class Cook:
    """All that a cook starts from; running one changes none of it. Sequences as in `places`."""

    family: str
    seed: int
    hours: float
    x: list[float]
    c: list[float]
    y: list[float]
    k: list[float]
    events: list[list[float]] = field(default_factory=list)
    weather: Any = None  # flat: air outside C, wind m/s, every WEATHER_S
    settings: dict[str, int] = field(default_factory=dict)  # what the board is set to besides its defaults
    words: list[str] = field(default_factory=list)  # what makes it hard
    restarts: list[float] = field(default_factory=list)  # s at which the board's watchdog bites
    night: int = 0  # which of this cooker's nights

    @property
    def pit(self) -> ModuleType:
        """Its family's file."""
        return FAMILIES[self.family]

    @property
    def code(self) -> int:
        """Its family's number."""
        return list(FAMILIES).index(self.family)

    @property
    def cycles(self) -> int:
        """Periods in it."""
        return int(self.hours * 3600.0 / at.PERIOD_S)

    @property
    def name(self) -> str:
        """Family, seed, a night but the first, and what makes it hard."""
        which = f"{self.seed}.{self.night}" if self.night else str(self.seed)
        return " ".join([self.family, which, *(f"({word})" for word in self.words)])

    def noise(self) -> Any:
        """The probe's noise, one number a period, of unit spread."""
        return _numbers("noise", self).standard_normal(self.cycles)

    def happens(self, clock: int, when: float, kind: int, a: float, b: float = 0.0) -> None:
        """Add an event."""
        self.events.append([float(clock), float(when), float(kind), float(a), float(b), 0.0])

    def without(self, *kinds: int) -> None:
        """Leave out events of these kinds."""
        self.events = [row for row in self.events if row[at.E_KIND] not in kinds]


def draw(family: str, seed: int, air: float = 1.0, hours: float = HOURS, night: int = 0) -> Cook:
    """An ordinary cook: an own cooker (about a tenth of them awkward), lids, 3 to 12 kg of meat, a night's weather.

    air: the fan's air, times what was drawn. night: another night of the same cooker, probe and fan.
    """
    if family not in FAMILIES:
        raise ValueError(f"Unknown family {family!r}; choose one of {', '.join(FAMILIES)}.")
    r = random.Random(f"stranger {family} {seed}")
    pit = FAMILIES[family]
    c = pit.draw(r)
    k = [0.0] * at.K_SIZE
    k[at.PROBE_S], k[at.NOISE], k[at.QUANTUM] = r.uniform(6.0, 40.0), r.uniform(0.03, 0.25), 1.0 / 128.0
    k[at.BAND_LOW] = BAND_LOW_C
    words = []
    if r.random() < NASTY:
        words.append("nasty")
        which = r.randrange(5)
        if which < 3:
            pit.nasty(c, r)
        elif which == 3:
            k[at.PROBE_S], k[at.NOISE] = r.uniform(60.0, 90.0), 0.4
        else:
            c[pit.DEAD] = r.uniform(0.12, 0.16)
    pit.scale_fan(c, air * math.exp(r.uniform(-0.35, 0.75)))
    k[at.FULL_AIR] = pit.full_air(c)
    if night:
        r = random.Random(f"night {family} {seed} {night}")
    kg = r.uniform(3.0, 12.0)
    outside = r.uniform(2.0, 30.0)
    cook = Cook(family, seed, hours, [], c, [0.0] * at.Y_SIZE, k, words=words, night=night)
    if r.random() < 0.25:  # the other converter, in steps of a quarter degree
        k[at.QUANTUM] = 0.25
        cook.settings["converter"] = 31855
    begin(cook, outside)
    load(cook, kg, r.uniform(2.0, 14.0))
    weather(cook, outside, outside - r.uniform(2.0, 12.0), r.uniform(0.0, 3.5), r.uniform(0.15, 0.5))
    lids(cook, r)
    return cook


def begin(cook: Cook, outside: float) -> None:
    """Light it: everything as cold as the air outside, a small fire in fuel for all night."""
    fuel = 30.0 + random.Random(f"fuel {cook.family} {cook.seed}").random()
    cook.x = cook.pit.light(cook.c, outside, fuel)
    cook.y = [0.0] * at.Y_SIZE
    cook.y[at.SHEATH] = cook.y[at.READING] = outside
    cook.y[at.MEAT_AT] = cook.y[at.ARRIVED] = -1.0
    cook.y[at.FOLLOW], cook.y[at.WATER], cook.y[at.HIGHEST] = 1.0, 1.0, -300.0


def load(cook: Cook, kg: float, cold: float) -> None:
    """So much meat of so many degrees, in pieces of 6.5 kg at the most: area 0.085 m2 times kg^(2/3) each."""
    pieces = max(1, -int(-kg // 6.5))
    cook.k[at.MEAT_KG], cook.k[at.MEAT_COLD] = kg, cold
    cook.k[at.MEAT_M2] = pieces * 0.085 * (kg / pieces) ** (2.0 / 3.0)


def lids(cook: Cook, r: random.Random) -> None:
    """Meat on some time after the arrival, and four to eight more lids, two thirds of them told."""

    def told() -> float:
        return 1.0 if r.random() < 0.67 else 0.0

    long = r.uniform(50.0, 150.0)
    first = told()
    cook.happens(at.FROM_ARRIVAL, r.uniform(600.0, 2400.0), at.MEAT, long, first)
    cook.happens(at.FROM_START, LONG_AGO_S, at.MEAT, long, first)
    when = 0.0
    for _ in range(r.randrange(4, 9)):
        when += r.uniform(2400.0, 8400.0)
        cook.happens(at.FROM_MEAT, when, at.LID, r.uniform(15.0, 130.0), told())


def weather(cook: Cook, evening: float, morning: float, wind: float, gusts: float) -> None:
    """Air outside falling from evening to morning, and wind that comes and goes in minutes and in hours."""
    count = int(cook.hours * 3600.0 / at.WEATHER_S) + 2
    numbers = _numbers("weather", cook)
    slow, quick = numbers.standard_normal(count), numbers.standard_normal(count)
    w = np.zeros(2 * count)
    share = np.linspace(0.0, 1.0, count)
    w[0::2] = evening + (morning - evening) * np.minimum(1.0, 1.6 * share)
    a = b = 0.0
    keep_a, keep_b = np.exp(-at.WEATHER_S / 5400.0), np.exp(-at.WEATHER_S / 90.0)
    new_a, new_b = np.sqrt(1.0 - keep_a**2), np.sqrt(1.0 - keep_b**2)
    for i in range(count):
        a = a * keep_a + new_a * slow[i]
        b = b * keep_b + new_b * quick[i]
        w[2 * i + 1] = max(0.0, wind * (1.0 + 0.35 * a) * (1.0 + gusts * b))
    cook.weather = w


def _numbers(what: str, cook: Cook) -> Any:
    """A stream of numbers of its own for a night, the same on every machine."""
    of_night = f" {cook.night}" if cook.night else ""
    return np.random.RandomState(zlib.crc32(f"{what} {cook.family} {cook.seed}{of_night}".encode()))

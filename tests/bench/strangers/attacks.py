"""What could mislead a board that learns: each changes an ordinary cook. Probe and board are sound."""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import numpy as np

from strangers import ails
from strangers import places as at
from strangers.cooks import FAMILIES, Cook, draw

LONG_H = 36.0
GUSTS_MIN = (3.0, 14.0)  # period of the gusts


def closing_ash(cook: Cook, r: random.Random) -> None:
    """An ash that closes through the night; where a family has none, the fuel gives less and less."""
    pit = cook.pit
    if hasattr(pit, "ASH_HALF"):
        cook.c[pit.ASH_HALF], cook.c[pit.ASH_SHARE] = 0.35, 0.15
    else:
        cook.happens(at.FROM_MEAT, 3600.0, at.FUEL_IS, r.uniform(3.5, 5.0))


def fuel_ends(cook: Cook, r: random.Random) -> None:
    """Fuel for the first hours only."""
    cook.happens(at.FROM_MEAT, r.uniform(3.0, 6.0) * 3600.0, at.FUEL_IS, r.uniform(1.0, 2.0))


def gusts(cook: Cook, r: random.Random) -> None:
    """Gusts with a period of minutes all night, as a swing of the law's own would be."""
    period, least, most = r.uniform(*GUSTS_MIN) * 60.0, r.uniform(0.0, 1.5), r.uniform(4.0, 7.0)
    times = np.arange(len(cook.weather) // 2) * at.WEATHER_S
    cook.weather[1::2] = least + (most - least) * (0.5 + 0.5 * np.sin(2.0 * math.pi * times / period))


def slow_probe(cook: Cook, _r: random.Random) -> None:
    """A probe twice as slow."""
    cook.k[at.PROBE_S] *= 2.0


def long_night(_cook: Cook, _r: random.Random) -> None:
    """36 h, drawn so long."""


ATTACKS: dict[str, Callable[[Cook, random.Random], None]] = {
    "closing ash": closing_ash,
    "fuel ends": fuel_ends,
    "gusts": gusts,
    "slow probe": slow_probe,
    "twice the fan": ails.twice_the_fan,
    "half the fan": ails.half_the_fan,
    "36 h": long_night,
}


def attacked(name: str, family: str, seed: int, night: int = 0) -> Cook:
    """An ordinary cook under one of ATTACKS; night: as for `draw`. ValueError for one that does not exist."""
    if name not in ATTACKS:
        raise ValueError(f"Unknown attack {name!r}; choose one of {', '.join(ATTACKS)}.")
    if family not in FAMILIES:
        raise ValueError(f"Unknown family {family!r}; choose one of {', '.join(FAMILIES)}.")
    cook = draw(family, seed, hours=LONG_H if name == "36 h" else 14.0, night=night)
    of_night = f" {night}" if night and name == "gusts" else ""  # another cooker's fan or ash is no other night's
    ATTACKS[name](cook, random.Random(f"attack {name} {family} {seed}{of_night}"))
    cook.words.append(name)
    return cook

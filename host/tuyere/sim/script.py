"""What happens to a cook from outside: weather, the cook's hands, the coal's whims. Drawn from a seed."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field

from tuyere.meat.slab import QSIZE, SIZE, piece
from tuyere.sim import slots as at


@dataclass
class Script:
    """The course of one cook. `Script.draw(seed, hours)` gives an ordinary one; change fields or `add` events after.

    Times in seconds. weather: rows (ambient C, wind m/s at the pit, unevenness of the bed), one every 10 s.
    events: rows of `slots.EVENT` numbers. pieces: (mass kg, half thickness mm), at most three, in the order of the
    meat probes.
    """

    hours: float = 14.0
    weather: list[float] = field(default_factory=list)
    events: list[float] = field(default_factory=list)
    pieces: list[tuple[float, float]] = field(default_factory=list)
    meat_after: float = 3600.0
    meat_wait: float = 600.0  # after the first arrival
    meat_open: float = 100.0
    meat_told: bool = True
    arrival_c: float = 121.1
    humidity: float = 0.008  # kg water per kg dry air outside

    def add(self, kind: int, at_s: float, a: float = 0.0, b: float = 0.0, *, from_start: bool = False) -> None:
        """Put one event in, at_s seconds after the meat went on (or from the start). Kinds and a, b: see `slots`."""
        self.events += [0.0 if from_start else 1.0, float(at_s), float(kind), float(a), float(b), 0.0]

    @classmethod
    def draw(cls, seed: int, hours: float = 14.0) -> Script:
        """An ordinary cook of `hours`: seven openings (meat on, four by day, the wrap, one at night), about half of
        them told, wind in gusts, a mild or a cold night, a bed that burns unevenly, perhaps a bridge in the coal.
        A cook too short for them has fewer openings and no wrap."""
        if not 0.1 <= hours <= 72.0:
            raise ValueError(f"A cook lasts 0.1 to 72 hours, not {hours:g}; give --hours in that range.")
        r = random.Random(f"script {seed}")
        one = cls(hours=hours, humidity=r.uniform(0.003, 0.014), meat_told=r.random() < 0.5)
        one.weather = weather(r, hours)
        one.pieces = [(r.uniform(2.4, 3.6), r.uniform(31.0, 37.0)), (r.uniform(2.6, 4.2), r.uniform(38.0, 47.0))]
        left = max(hours - 1.5, 0.5) * 3600.0  # after the meat went on
        wrap = left * r.uniform(0.50, 0.62)
        for share in (0.24, 0.32, 0.40, 0.47)[: int(left / 7200.0)]:
            one.opening(r, left * (share + r.uniform(-0.03, 0.03)), 30.0, 110.0)
        if left >= 5 * 3600.0:
            one.opening(r, wrap, 120.0, 300.0)
            one.add(at.WRAPPING, wrap, 1.0)
            one.opening(r, left * r.uniform(0.70, 0.85), 30.0, 90.0)
        if r.random() < 0.5:
            start = left * r.uniform(0.15, 0.8)
            one.add(at.BRIDGE, start, r.uniform(0.15, 0.45), r.uniform(600.0, 1800.0))
            one.add(at.SETTLING, start + r.uniform(1800.0, 4500.0), r.uniform(0.02, 0.08))
        one.pieces.append((r.uniform(2.4, 3.8), r.uniform(34.0, 42.0)))
        return one

    def opening(self, r: random.Random, at_s: float, low: float, high: float) -> None:
        """One opening of low..high seconds, told in half of the cases."""
        self.add(at.OPENING, at_s, r.uniform(low, high), 1.0 if r.random() < 0.5 else 0.0)


def weather(r: random.Random, hours: float) -> list[float]:
    """Rows for `hours` and one more: a day's wave, a wind that rises and falls by the hour, gusts, an uneven bed.

    Gusts and unevenness are first-order noise (time constants 25 s and 700 s); the wind is that at the pit, in some
    shelter.
    """
    mean = r.uniform(-10.0, 35.0)
    swing = r.uniform(2.0, 7.0)
    start = r.uniform(14.0, 24.0)  # o'clock when the fire is lit
    calm = r.uniform(0.3, 3.0)
    rough = r.uniform(0.25, 0.55)
    sigma = r.uniform(0.03, 0.09)
    rows: list[float] = []
    slow = gust = uneven = 0.0
    k_slow, k_gust, k_uneven = (math.exp(-at.WEATHER_S / tau) for tau in (4000.0, 25.0, 700.0))
    for i in range(int((hours + 1.0) * 3600.0 / at.WEATHER_S) + 1):
        clock = start + i * at.WEATHER_S / 3600.0
        slow = slow * k_slow + math.sqrt(1.0 - k_slow**2) * r.gauss(0.0, 0.45)
        gust = gust * k_gust + math.sqrt(1.0 - k_gust**2) * r.gauss(0.0, rough)
        uneven = uneven * k_uneven + math.sqrt(1.0 - k_uneven**2) * r.gauss(0.0, sigma)
        base = calm * math.exp(slow)
        ambient = mean + swing * math.cos((clock - 15.0) / 24.0 * 2.0 * math.pi)
        rows += [ambient, min(15.0, max(0.0, base * (1.0 + gust))), min(0.25, max(-0.25, uneven))]
    return rows


def still(hours: float, ambient: float = 20.0, wind: float = 0.0) -> list[float]:
    """Weather that does not change and a bed that burns evenly, for tests and comparisons."""
    return [ambient, wind, 0.0] * (int((hours + 1.0) * 3600.0 / at.WEATHER_S) + 1)


def flat_pieces(pieces: list[tuple[float, float]]) -> tuple[list[float], list[float]]:
    """The pieces as the kernel wants them: (m, q). ValueError when there are more than the meat probes."""
    if len(pieces) > at.PIECES:
        raise ValueError(f"A simulated pit takes at most {at.PIECES} pieces, not {len(pieces)}.")
    m: list[float] = []
    q: list[float] = []
    for mass, half in pieces:
        one, two = piece(mass, half)
        m += one
        q += two
    m += [0.0] * (at.PIECES * SIZE - len(m))
    q += [0.0] * (at.PIECES * QSIZE - len(q))
    return m, q

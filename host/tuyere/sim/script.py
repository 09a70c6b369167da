"""What happens to a cook from outside: the weather, the cook's work, the unevenness of the coal. Drawn from a seed."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from tuyere.meat import piece_slots as meat
from tuyere.meat.doneness import TARGETS_C
from tuyere.meat.parameters import Parameters
from tuyere.meat.piece import PieceOfMeat, lay
from tuyere.sim import pit_slots as at

# Kind of event as in the logbook, s after the first meat went on, the piece (from 1; 0: all), its paper or its kg.
Hand = tuple[str, int, int, str | float]
WRAPS = {meat.PAPER: "paper", meat.FOIL: "foil"}


@dataclass
class Script:
    """The course of one cook. `Script.draw(seed, hours)` gives an ordinary one; change fields or `add` events after.

    Times in seconds. weather: rows (ambient C, wind m/s at the pit, unevenness of the bed), one every 10 s.
    events: rows of `slots.EVENT` numbers. pieces: at most six; meats: what they are like in themselves (none: as
    usual); shares: of the heat that each takes in as it is (`meat.piece.take_less`; none: all of it); probes: the
    number of each one's meat probe (0: none); later: s after the first meat at which each goes on (none: all at one
    time); felt: s after the first meat before which nobody feels it. A piece that is felt and done comes out by an
    opening of out_open s (0: never).
    """

    hours: float = 14.0
    weather: list[float] = field(default_factory=list)
    events: list[float] = field(default_factory=list)
    pieces: list[PieceOfMeat] = field(default_factory=list)
    meats: list[Parameters] = field(default_factory=list)
    shares: list[float] = field(default_factory=list)
    probes: list[int] = field(default_factory=lambda: [1, 2, 3])
    later: list[float] = field(default_factory=list)
    felt: list[float] = field(default_factory=list)
    meat_after: float = 3600.0
    meat_wait: float = 600.0  # after the first arrival
    meat_open: float = 100.0
    meat_told: bool = True
    meat_noted: bool = True  # that it went on, with its mass, once the lid is shut
    out_open: float = 40.0
    altitude_m: float = 0.0  # as meat and pan feel it; the draught is that of sea level
    arrival_c: float = 121.1
    humidity: float = 0.008  # kg water per kg dry air outside

    def add(self, kind: int, at_s: float, a: float = 0.0, b: float = 0.0, *, from_start: bool = False) -> None:
        """Put one event in, at_s seconds after the meat went on (or from the start). Kinds and a, b: see `slots`."""
        self.events += [0.0 if from_start else 1.0, float(at_s), float(kind), float(a), float(b), 0.0]

    @classmethod
    def draw(cls, seed: int, hours: float = 14.0) -> Script:
        """An ordinary cook of `hours` with three whole briskets: six openings (meat on, four by day with a spritz, the
        wrap) and those by which what is done comes out, about half of them told, wind in gusts, a mild or a cold night,
        a bed that burns unevenly, perhaps a bridge in the coal. Short cooks have fewer openings, no wrap."""
        if not 0.1 <= hours <= 72.0:
            raise ValueError(f"A cook lasts 0.1 to 72 hours, not {hours:g}; give --hours in that range.")
        r = random.Random(f"script {seed}")
        one = cls(hours=hours, humidity=r.uniform(0.003, 0.014), meat_told=r.random() < 0.5)
        one.weather = weather(r, hours)
        one.pieces = [brisket(r, seed, i, least) for i, least in ((1, 3.4), (2, 3.8))]
        left = max(hours - 1.5, 0.5) * 3600.0  # after the meat went on
        wrap = left * r.uniform(0.43, 0.56)
        for share in (0.21, 0.27, 0.33, 0.39)[: int(left / 7200.0)]:
            look = left * (share + r.uniform(-0.025, 0.025))
            one.opening(r, look, 30.0, 110.0)
            one.add(at.SPRITZ, look + 15.0, 0.02)
        if left >= 5 * 3600.0:
            one.opening(r, wrap, 120.0, 300.0)
            one.add(at.WRAPPING, wrap, 1.0)
        if r.random() < 0.5:
            start = left * r.uniform(0.15, 0.8)
            one.add(at.BRIDGE, start, r.uniform(0.15, 0.45), r.uniform(600.0, 1800.0))
            one.add(at.SETTLING, start + r.uniform(1800.0, 4500.0), r.uniform(0.02, 0.08))
        one.pieces.append(brisket(r, seed, 3, 3.0))
        meats = random.Random(f"meat {seed}")
        one.meats = [Parameters().drawn(meats) for _ in one.pieces]
        return one

    def hands(self) -> list[Hand]:
        """What is done by the clock, by time. That the meat went on is in it where its pieces have their own times."""
        found: list[Hand] = []
        if any(self.later):
            found += [("meat_on", round(after), i, "") for i, after in enumerate(self.later, 1)]
        for i in range(0, len(self.events), at.EVENT):
            clock, at_s, kind, a, b, _ = self.events[i : i + at.EVENT]
            if clock <= 0.0:
                continue
            if kind == at.WRAPPING and a in WRAPS:
                found.append(("wrapped", round(at_s), int(b), WRAPS[a]))
            elif kind == at.SPRITZ:
                found.append(("spritzed", round(at_s), 0, ""))
            elif kind == at.PAN_FILL:
                found.append(("pan_filled", round(at_s), 0, ""))
            elif kind == at.REFUEL:
                found.append(("fuel_added", round(at_s), 0, round(a, 2)))
        return sorted(found, key=lambda one: one[1])

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


def brisket(r: random.Random, seed: int, number: int, least: float) -> PieceOfMeat:
    """A whole brisket from `least` kg on, thicker or thinner than its mass says; the cook takes it out at 95-97 C."""
    mass, thick = r.uniform(least, least + 1.3), r.uniform(0.9, 1.12)
    usual = PieceOfMeat(mass_kg=mass)
    done = random.Random(f"done {seed} {number}").uniform(*TARGETS_C)
    flat, point = (thick * usual.thick_m(i) for i in (0, 1))
    return PieceOfMeat(f"brisket {number}", "packer", mass, flat, point, done_c=done)


def flat_pieces(pieces: list[PieceOfMeat], meats: Sequence[Parameters] = ()) -> tuple[list[float], list[float]]:
    """The pieces as the kernel wants them: (m, q). ValueError when there are more than one pit takes."""
    if len(pieces) > at.PIECES:
        raise ValueError(f"A simulated pit takes at most {at.PIECES} pieces, not {len(pieces)}.")
    return lay(pieces, meats, at.PIECES)

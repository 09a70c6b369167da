"""A night of a stranger: the pit, one piece, its probe, its wraps, and what the cook tells of them.

All from generator, pace and seed. The pit is a held one: it wanders, is opened, and its probe is not where the meat is.
The cooker's kind is not told. Odd seeds are reported (`strangers.cooks.seeds`).
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Any

import numpy as np
from tuyere.forecast import exchange

from strangers.meats import brick, chain, section
from strangers.meats.build import magnus
from strangers.meats.piece import BARE, FOIL, NAMES, PAPER, Meat

GENERATORS = {"section": section, "brick": brick, "chain": chain}
PACES = ("fast", "usual", "slow")
START = 1_800_000_000_000  # UTC ms at which the meat goes on
MINUTE = 60_000
LONGEST_H = 28
QUIRK = 0.08  # share of pieces for each of: folded, injected, half frozen


@dataclass
class Night:
    """What was read each minute from the meat going on, what the cook told and when, and when the target was read."""

    generator: str
    pace: str
    seed: int
    pit: Any
    meat: Any
    piece: exchange.KnownPiece
    notes: list[exchange.Note]
    finish: int
    truth: Meat
    yield_: float
    middle: Any

    def known(self, now: int) -> exchange.Known:
        """What was known at `now`, UTC ms."""
        n = min(len(self.pit), (now - START) // MINUTE)
        at = [START + (i + 1) * MINUTE for i in range(n)]
        meats: list[list[float | None]] = [[None if math.isnan(c) else float(c) for c in self.meat[:n]], [], []]
        columns = exchange.Columns(at, [float(c) for c in self.pit[:n]], [0.3] * n, meats=meats)
        one = exchange.KnownPiece(
            **{name: getattr(self.piece, name) for name in self.piece.__struct_fields__ if name != "notes"},
            notes=[note for note in self.notes if note.at <= now],
        )
        return exchange.Known(now=now, meat_on=START, pieces=[one], columns=columns, seed=self.seed)


def draw(generator: str, pace: str, seed: int) -> Night | None:
    """One night; None if its target is not read within LONGEST_H. ValueError for an unknown generator or pace."""
    if generator not in GENERATORS:
        raise ValueError(f"Unknown generator {generator!r}; choose one of {', '.join(GENERATORS)}.")
    r = random.Random(f"{generator} {pace} {seed}")
    noise = np.random.default_rng(r.randrange(1 << 30))
    minutes = LONGEST_H * 60
    wrap = r.choices((PAPER, FOIL, BARE), (0.70, 0.15, 0.15))[0]
    wrap_min = 60.0 * min(9.0, max(4.5, r.gauss(6.3, 0.9)))
    level = r.uniform(124.0, 132.5)
    read, pit = _pit(r, noise, minutes, level, wrap, wrap_min)
    mass = r.uniform(4.2, 7.8)
    thick = 0.055 * (mass / 5.5) ** (1.0 / 3.0) * math.exp(r.gauss(0.0, 0.10))
    told_thick = (
        None if r.random() < 1.0 / 3.0 else min(0.095, max(0.025, thick * math.exp(r.gauss(0.0, 0.08)) - 0.004))
    )
    folded, injected, icy = (r.random() < QUIRK for _ in range(3))
    start = -0.8 if icy else r.uniform(1.0, 9.0)
    off = max(-0.85, min(0.85, r.gauss(0.0, 0.28)))
    truth = Meat(
        pace, mass, thick * (1.45 if folded else 1.0), start, 0.35 if icy else 0.0, r.uniform(0.07, 0.20),
        0.08 if injected else 0.0, math.exp(r.gauss(0.0, 0.05)), off, wrap, wrap_min,
    )  # fmt: skip
    own = r.randrange(1 << 30)
    cook = GENERATORS[generator].cook
    probe, yield_ = cook(truth, random.Random(own), pit)
    middle = cook(Meat(**{**vars(truth), "off": 0.0}), random.Random(own), pit)[0]
    meat = np.round((probe + r.gauss(0.0, 0.5) + noise.normal(0.0, 0.1, minutes)) * 20.0) / 20.0
    notes = []
    from_ = 0
    if r.random() < 0.2:
        from_ = round(r.uniform(45.0, 150.0))
        notes.append(exchange.Note(START + from_ * MINUTE, "probe_seated"))
        meat[:from_] = math.nan
    target = round(r.uniform(95.0, 96.5), 1)
    there = np.nonzero(meat >= target)[0]
    if not len(there):
        return None
    pace_of_bark = 8.0 / (wrap_min / 60.0 + 1.25 + r.gauss(0.0, 0.5))
    for hour in range(3, 12):
        if hour < wrap_min / 60.0 - 0.2 or wrap == BARE:
            shade = float(min(10, max(0, round(pace_of_bark * hour + r.gauss(0.0, 0.5)))))
            notes.append(exchange.Note(START + hour * 60 * MINUTE, "shade", shade))
    name = next(name for name, kind in NAMES.items() if kind == wrap)
    if wrap != BARE:
        notes.append(exchange.Note(START + round(wrap_min) * MINUTE, "wrapped", text=name))
    piece = exchange.KnownPiece(
        id=1, name="one", mass=mass * math.exp(r.gauss(0.0, 0.03)), flat=told_thick,
        start=None if icy or r.random() < 0.5 else float(round(start)), target=target, probe=1, on_at=START,
        wrap_with=name if r.random() < 0.9 else "paper", intact=not injected,
    )  # fmt: skip
    finish = START + (int(there[0]) + 1) * MINUTE
    notes.sort(key=lambda note: note.at)
    return Night(generator, pace, seed, read, meat, piece, notes, finish, truth, yield_, middle)


def _pit(r: random.Random, noise: Any, minutes: int, level: float, wrap: int, wrap_min: float) -> tuple[Any, Any]:
    """(what its probe reads, [minutes, 3] of what the meat has: air C, what it sees C, vapour Pa)."""
    t = np.arange(minutes)
    slow = np.convolve(noise.normal(0.0, 1.0, minutes + 240), np.ones(240) / 240**0.5, mode="valid")[:minutes]
    quick = np.convolve(noise.normal(0.0, 1.0, minutes + 20), np.ones(20) / 20**0.5, mode="valid")[:minutes]
    read = level + 2.0 * slow + 1.2 * quick
    read -= 12.0 * np.exp(-t / 25.0)
    opened = [r.uniform(60.0, 900.0) for _ in range(r.randint(3, 8))]
    if wrap != BARE:
        opened.append(wrap_min)
    for when in opened:
        read -= np.where(t >= when, r.uniform(20.0, 60.0) * np.exp(-(t - when) / 6.0), 0.0)
    air = read + r.gauss(-3.0, 4.0) + noise.normal(0.0, 0.3, minutes)
    seen = air + r.gauss(-4.0, 9.0)
    dew = r.uniform(38.0, 58.0)
    vapour = magnus(dew) * (1.0 - np.exp(-t / r.uniform(30.0, 120.0)))
    if wrap != BARE:
        vapour = np.where(t >= wrap_min, vapour * r.uniform(0.4, 0.9), vapour)
    return np.round(read, 2), np.stack([air, seen, np.maximum(vapour, 1000.0)], axis=1)

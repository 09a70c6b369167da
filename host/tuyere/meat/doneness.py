"""When a piece is done: its temperature, how much of its collagen has dissolved, and where water boils.

The collagen is one first-order reaction with an Arrhenius rate, and a FIT: to whole briskets (Kerth et al., Meat Muscle
Biol., n = 96) whose flats had 12.9 % of their collagen dissolved on reaching 75 C, and as much at 85 C held for 3 h as
on reaching 90 C, more than at any milder end; the histories in between are `slab`'s in a 107 C pit. Tender is what
those held at 85 C for 3 h were. Single animals differ by more than the fit: what the hand feels says more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from tuyere.measures import percent
from tuyere.meat.tables import COLLAGEN_E, COLLAGEN_K, COLLAGEN_T
from tuyere.meat.water import PRESSURE, boiling

TARGETS_C = (95.0, 97.0)  # 203-206 F: common practice, no source
TARGET_C = 96.0
FEEL = 0.80  # dissolved share at which the fit's briskets are tender
NEAR_C = 1.0  # a target less than so far below boiling comes only slowly, if at all
STEAM_C = 2.0  # a target so far below boiling comes


def rate(t: float) -> float:
    """Share of the undissolved collagen that dissolves in a second at t C."""
    return COLLAGEN_K * math.exp(COLLAGEN_E / 8.314462 * (1.0 / (COLLAGEN_T + 273.15) - 1.0 / (t + 273.15)))


def dissolved(temperatures: Iterable[float], seconds: float, share: float = 0.0) -> float:
    """Dissolved share after these temperatures (C), one each `seconds`, from `share` on; below 54 C nothing counts."""
    for t in temperatures:
        if t >= 54.0:
            share += (1.0 - share) * (1.0 - math.exp(-rate(t) * seconds))
    return share


def hours_to(feel: float, t: float, share: float = 0.0) -> float:
    """Hours at t C until `feel` of the collagen has dissolved, from `share` on."""
    if share >= feel:
        return 0.0
    return math.log((1.0 - share) / (1.0 - feel)) / rate(t) / 3600.0


@dataclass(frozen=True)
class Ceiling:
    """How a target stands to boiling. choices: what to do instead, in words; none where the target comes."""

    boils_c: float
    may_never_come: bool
    words: str = ""
    choices: tuple[str, ...] = ()


def ceiling(target_c: float, pressure: float = PRESSURE) -> Ceiling:
    """Can a piece reach target_c under this pressure (Pa)? Nothing wet gets hotter than water boils.

    ValueError for a target outside of 50-110 C.
    """
    if not 50.0 <= target_c <= 110.0:
        raise ValueError(f"A target of {target_c:g} C is no target for meat; give 50 to 110 C.")
    boils = boiling(pressure)
    if target_c < boils - NEAR_C:
        return Ceiling(boils, False)
    lower = math.floor(boils - STEAM_C)
    hold = math.floor(boils - 2.0 * STEAM_C)
    return Ceiling(
        boils,
        True,
        f"Water boils at {boils:.1f} C here (the weather moves it by 1 C), so {target_c:g} C may never come.",
        (
            f"Lower the target to {lower:g} C.",
            f"Hold longer: at {hold:g} C it takes about {hours_to(FEEL, hold):.1f} h to become tender.",
            "Go by feel, from 90 C on: done when a probe slides in without resistance.",
        ),
    )


@dataclass(frozen=True)
class Verdict:
    """Done or not, and why, in words."""

    done: bool
    words: str


def judge(
    probe_c: float, share: float | None = None, tender: bool | None = None, target_c: float = TARGET_C
) -> Verdict:
    """Is it done? What the cook felt (`tender`) goes before temperature, temperature before the fit (`share`)."""
    if tender:
        return Verdict(True, f"Tender at {probe_c:.0f} C: done, whatever the probe says.")
    if tender is False:
        if probe_c >= target_c:
            return Verdict(False, f"{probe_c:.0f} C, but not tender yet: leave it on and feel again in half an hour.")
        return Verdict(False, f"Not tender at {probe_c:.0f} C: leave it on.")
    if probe_c < target_c - 3.0:
        return Verdict(False, f"{target_c - probe_c:.0f} C below its target.")
    if share is not None and share < FEEL:
        return Verdict(False, f"Near its target, but it was quick: about {percent(share)} of the collagen; feel it.")
    if probe_c < target_c:
        return Verdict(False, "Close: feel it now; it may be done before the target.")
    return Verdict(True, "At its target: done if it feels tender.")

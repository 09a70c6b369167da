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

from tuyere.meat.tables import COLLAGEN_E, COLLAGEN_K, COLLAGEN_T
from tuyere.meat.water import PRESSURE, boiling
from tuyere.text import BadValue, Duration, Said, Share, Span, Temperature, band, text

TARGETS_C = (95.0, 97.0)  # 203-206 F: common practice, no source
TARGET_C = 96.0
FEEL = 0.80  # dissolved share at which the fit's briskets are tender
NEAR_C = 1.0  # a target less than this far below boiling comes only slowly, if at all
STEAM_C = 2.0  # a target this far below boiling comes


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
    words: Said = ""
    choices: tuple[Said, ...] = ()


def ceiling(target_c: float, pressure: float = PRESSURE) -> Ceiling:
    """Can a piece reach target_c under this pressure (Pa)? Nothing wet gets hotter than water boils.

    ValueError for a target outside of 50-110 C.
    """
    if not 50.0 <= target_c <= 110.0:
        given, allowed = Temperature(target_c), band(50.0, 110.0)
        raise BadValue(text("{given} is no target for meat; give {allowed}.", given=given, allowed=allowed))
    boils = boiling(pressure)
    if target_c < boils - NEAR_C:
        return Ceiling(boils, False)
    lower = math.floor(boils - STEAM_C)
    hold = math.floor(boils - 2.0 * STEAM_C)
    return Ceiling(
        boils,
        True,
        text(
            "Water boils at {boils} here (the weather moves it by {weather}), so {target} may never come.",
            boils=Temperature(boils, 1),
            weather=Span(1.0, 0),
            target=Temperature(target_c),
        ),
        (
            text("Lower the target to {lower}.", lower=Temperature(lower)),
            text(
                "Hold longer: at {hold} it takes about {time} to become tender.",
                hold=Temperature(hold),
                time=Duration(360.0 * round(10.0 * hours_to(FEEL, hold))),
            ),
            text("Go by feel, from {feel} on: done when a probe slides in without resistance.", feel=Temperature(90.0)),
        ),
    )


@dataclass(frozen=True)
class Verdict:
    """Done or not, and why, in words."""

    done: bool
    words: Said


def judge(
    probe_c: float, share: float | None = None, tender: bool | None = None, target_c: float = TARGET_C
) -> Verdict:
    """Is it done? What the cook felt (`tender`) goes before temperature, temperature before the fit (`share`)."""
    here = Temperature(probe_c)
    if tender:
        return Verdict(True, text("Tender at {here}: done, whatever the probe says.", here=here))
    if tender is False:
        if probe_c >= target_c:
            return Verdict(
                False, text("{here}, but not tender yet: leave it on, feel again in half an hour.", here=here)
            )
        return Verdict(False, text("Not tender at {here}: leave it on.", here=here))
    if probe_c < target_c - 3.0:
        return Verdict(False, text("{span} below its target.", span=Span(target_c - probe_c, 0)))
    if share is not None and share < FEEL:
        said = "Near its target, but it was quick: about {share} of the collagen has dissolved; feel it."
        return Verdict(False, text(said, share=Share(share)))
    if probe_c < target_c:
        return Verdict(False, "Close: feel it now; it may be done before the target.")
    return Verdict(True, "At its target: done if it feels tender.")

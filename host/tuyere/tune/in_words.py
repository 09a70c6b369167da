"""What an ensemble says of its cooker, in words a cook understands; only what its nights have told."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from hearth.core import Settings

from tuyere.sim import pit_slots as at
from tuyere.text import Duration, Said, Share, Span, Temperature, text
from tuyere.tune import answers, rehearsed, smoother, worlds
from tuyere.tune.cooker import Cooker, Member, Spread
from tuyere.tune.night import PERIOD_S, Night
from tuyere.tune.stepped import LEAST_DELAY_S, lift

Array = Any  # a numpy array of float64
OFF_S = 7200.0
# 10 and 90 % of 100 draws of `candidates` that could be a drum's night: what is known before a night says anything
BEFORE = {"delay": (20.0, 380.0), "lift": (2.2, 20.0)}
TELLS = 0.35  # told less than this, a property is not known
LEAST_LIFT_C, COLD_MOST = 0.5, 0.2  # of a tenth more fan; weight of the members that stay below it
HELD_APART = 0.05  # of the share in band
# Above these the model does not explain a night. Twenty true cookers of even seeds, led alike, left 4 to 12 C and had a
# lead of 0.22 at most: their wind and coal are not in the record.
MISFIT_C, LEAD = 13.0, 0.4
HELD_S = 3 * 3600.0  # a night that holds its band for less says little
MOVES = 0.02  # spread of the fan's minutes while it holds


def quantiles(values: Sequence[float], weights: Sequence[float]) -> tuple[float, float, float]:
    """10, 50 and 90 % of weighted numbers."""
    order = np.argsort(values)
    ranked, shares = np.asarray(values)[order], np.cumsum(np.asarray(weights)[order])
    shares = (shares - np.asarray(weights)[order] / 2.0) / shares[-1]
    low, middle, high = np.interp([0.1, 0.5, 0.9], shares, ranked)
    return float(low), float(middle), float(high)


def told(name: str, low: float, high: float) -> float:
    """How much narrower a night made what was known, on the scale of logarithms: 1 exactly known, 0 no more."""
    before = math.log(BEFORE[name][1] / BEFORE[name][0])
    return max(0.0, 1.0 - math.log(max(high, 1e-9) / max(low, 1e-9)) / before)


def spreads(cooker: Cooker, night: Night) -> list[Spread]:
    """Delay and lift, where the pit stands with the fan off, and how much weaker it answers late than early."""
    weights = [one.weight for one in cooker.members]
    found = []
    each = [one.answers for one in cooker.members]
    if all(each):
        delays = [max(LEAST_DELAY_S, min(BEFORE["delay"][1] * 2.0, one[0].delay_s)) for one in each]
        low, middle, high = quantiles(delays, weights)
        if cooker.strength is not None and cooker.strength.delay_s is not None:  # an experiment told it
            low, middle, high = cooker.strength.delay_s
        words = text(
            "answers the fan after {middle} ({low} to {high})",
            middle=Duration(middle), low=Duration(low), high=Duration(high),
        )  # fmt: skip
        found.append(Spread("delay", low, middle, high, told("delay", low, high), words))
        lifts = [max(0.1, lift(one[0])) for one in each]
        low, middle, high = quantiles(lifts, weights)
        if cooker.strength is not None:  # the members are near it, and not as wide
            low, middle, high = cooker.strength.lift_c
        words = text(
            "a tenth more fan lifts it by {middle} in 10 min ({low} to {high})",
            middle=Span(middle), low=Span(low), high=Span(high),
        )  # fmt: skip
        found.append(Spread("lift", low, middle, high, told("lift", low, high), words))
        low, middle, high = quantiles([lift(one[-1]) / max(0.1, lift(one[0])) for one in each], weights)
        if high < 0.9 and len(each[0]) > 1:
            words = text("late in the night it answered with {share} of that", share=Share(middle))
            found.append(Spread("late", low, middle, high, 1.0 - (high - low), words))
    rests = [one for one in worlds.each(lambda member: off(night, member), cooker.members) if one is not None]
    if len(rests) == len(cooker.members):
        low, middle, high = quantiles(rests, weights)
        known = max(0.0, 1.0 - (high - low) / 60.0)
        words = text(
            "leaks enough air to stand at {middle} two hours after the fan stops ({low} to {high})",
            middle=Temperature(middle), low=Temperature(low), high=Temperature(high),
        )  # fmt: skip
        found.append(Spread("leak", low, middle, high, known, words))
    return [one for one in found if one.told >= TELLS]


def off(night: Night, member: Member) -> float | None:
    """Where a member stands two hours after the fan stops, in the middle of the night, C; None where it never held."""
    minutes = answers.looks(night)
    if not minutes:
        return None
    made = answers.led(night, member, minutes[0])[0]
    made[0][at.OPEN_UNTIL] = made[0][at.NOW]
    count = int(OFF_S / PERIOD_S)
    found = np.zeros(1)
    worlds.kernel().stand(*made, 0.0, 0.0, count, count, found)
    return float(found[0])


def fits(cooker: Cooker) -> bool:
    """Does the model explain its nights?"""
    return cooker.misfit_c <= MISFIT_C and cooker.lead <= LEAD and not differs(cooker) and not backwards(cooker)


def backwards(cooker: Cooker) -> bool:
    """Does more fan not warm these pits within 10 min? A pit under control looks so where gusts drive both."""
    cold = [one.weight for one in cooker.members if any(lift(a) < LEAST_LIFT_C for a in one.answers)]
    return sum(cold) > COLD_MOST * sum(one.weight for one in cooker.members)


def differs(cooker: Cooker) -> bool:
    """Would the board have held these pits clearly better or worse than it held the real one?"""
    return cooker.held is not None and cooker.was_held is not None and abs(cooker.held - cooker.was_held) > HELD_APART


def held(cooker: Cooker, night: Night) -> float | None:
    """Share in band of the first night, held again by the board's law in front of every member; by their weights."""
    return float(np.average(held_by(cooker.members, night), weights=[member.weight for member in cooker.members]))


def held_by(members: Sequence[Member], night: Night) -> Array:
    """Share in band of the first night for each member."""
    settings: Any = night.settings or Settings()
    hours = night.cycles * PERIOD_S / 3600.0

    def one(member: Member) -> float:
        world = worlds.world(night, member.s, member.p, member.row)
        trace = rehearsed.cooked(world, settings, hours)
        return rehearsed.came(trace, *night.band_c).in_band

    return np.array(worlds.each(one, members))


def says_little(cooker: Cooker, nights: Sequence[Night]) -> list[Said]:
    """What the nights do not show, and what to do about it."""
    found: list[Said] = []
    held, moved = 0.0, 0.0
    for night in nights:
        pit = smoother.data(night).pit
        fan = night.fan_cycles()[: len(pit) * smoother.EVERY].reshape(-1, smoother.EVERY).mean(axis=1)
        inside = np.isfinite(pit) & (pit >= night.band_c[0] - 2.0) & (pit <= night.band_c[1] + 8.0)
        held += float(inside.sum()) * smoother.MINUTE_S
        moved = max(moved, float(fan[inside].std()) if inside.any() else 0.0)
    if held < HELD_S:
        found.append(
            text(
                "The band was held for {held} only; {least} or more tell a cooker's answer. Add another night.",
                held=Duration(held), least=Duration(HELD_S),
            )
        )  # fmt: skip
    elif moved < MOVES:
        found.append(
            "The fan hardly moved while the band was held, so its effect is not known; run `tuyere tune "
            "--experiment` on such a night."
        )
    names = {one.name for one in cooker.spreads}
    if held >= HELD_S and not {"delay", "lift"} & names:
        found.append(
            "This does not show how late or how strongly this cooker answers its fan; add a night, or run "
            "`tuyere tune --experiment` while the band is held."
        )
    if differs(cooker):
        found.append(
            text(
                "Held by the board, these pits stand in the band {held} of the time, and the real one {was}: the model "
                "does not have what makes this cooker hard to hold, so nothing is concluded.",
                held=Share(cooker.held or 0.0, 1), was=Share(cooker.was_held or 0.0, 1),
            )
        )  # fmt: skip
    elif backwards(cooker):
        found.append(
            "By these pits more fan does not warm within 10 min, which no fire does: what moved the pit and the fan "
            "together was not the fan. Run `tuyere tune --experiment` on such a night."
        )
    elif not cooker.fits:
        found.append(
            text(
                "The model leaves {misfit} unexplained and had to bend the fire by {lead}: look whether lids, a refuel "
                "or a knocked probe are missing in the log.",
                misfit=Span(cooker.misfit_c), lead=Share(cooker.lead),
            )
        )  # fmt: skip
    return found

"""The fuel: how much charcoal is left and when it no longer holds the band, from fill, refills, fan and cooker.

An ensemble of cookers (`tuyere.sim.cookers`, spreads of a kind, with heat per kg of charcoal from its elements), each
with a heating value, a loss and a share of the air burnt of its own. Each reckons the night's burning twice: from the
heat that the pit lost at what its probe read above the outside (walls, warm exhaust, pan, meat), and from the air that
the fan demand and the draught brought to the coal (0.332 g/s a kW when all is used; computed from C .80 H .03 O .08).
The better the two agree, the more a cooker counts. Ahead, the fuel burns at its recent pace. Spreads without a source
are judged.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import median

from tuyere.forecast.exchange import Known, Note, Range
from tuyere.sim import cookers
from tuyere.sim import pit_slots as at
from tuyere.sim.pit import CP_AIR, SIGMA, fan_air, fourth, leak_in, stack_pa
from tuyere.text import Duration, Mass, Said, sentences, text

MINUTE, HOUR = 60_000, 3_600_000
MEMBERS = 120
SEED = 5000  # no cooker that a test draws
BIN = 10 * MINUTE
LATE = 2.0  # h; what was burned in these says how it goes on
LEAST = 20 * MINUTE  # of readings, before anything is said
AGREE = 0.30  # sd of the logarithm between the two reckonings
TAKEN = 0.6  # share of the heat's reckoning in the burning, the rest is the air's
REST = (0.25, 0.85)  # kg that hold no band any more: scattered, under ash (seen on simulated pits, no source)
SPENT = 0.1  # weight of a member that has nothing left
AGAIN = 0.08  # sd of the logarithm of the burning ahead
WEIGHED, SCOOPED = 0.05, 0.30  # sd of the logarithm: of a mass given in kg, and of a refill without one
REFILL = 1.5  # kg of one that was not told; common practice, no source
MEAT_W = 22.0  # W/kg of raw meat, over a cook (computed: 120 W for 5.5 kg)
OUTSIDE = (14.0, 7.0)  # C, where nothing reads it
LONGEST = 36.0  # h; a fuel that lasts longer than this from now has no end
ODDS = (0.10, 0.50, 0.90)
# A fire that needs MORE of the fan than it did is near its end: in 39 rehearsed nights never more than 4 h before it,
# an hour before it in one of five, half an hour before it in nearly half. (All from simulated pits; no source.)
MORE, SIGN, SIGN_H = 0.15, 0.7, 0.9  # share of the fan; chance of the sign h hours before the end: SIGN e^(-h / SIGN_H)
SIGNED = (0.08, 0.25, 0.5, 0.8, 1.3, 2.0)  # h from the sign to the end, each as likely as the other
COLD_C, COLD_RISE = 60.0, 5.0  # a pit below 60 C that warms by less than 5 K in OUT_FOR gets its air back after a lid
OUT_C, OUT_FOR = 30.0, 30  # K below its band, min: a pit that has held it and is so cool has no fire to reckon with


@dataclass(frozen=True)
class Member:
    """One cooker of the ensemble: its constants, and what is drawn beside them."""

    p: Sequence[float]
    fill: float  # kg, of its kind's
    heat: float  # J/kg
    eta: float  # share of the bed's air that is burnt
    wind: float  # m/s
    inside: float  # the inner wall's heat, convection and what shines on it, over its convection alone
    hidden: float  # factor on the loss, for all that is not reckoned
    outside: float  # C, if not read
    rest: float  # kg
    scoop: float  # a normal number for fill and refills
    ahead: float  # another one for the burning ahead


@lru_cache(maxsize=8)
def members(kind: str) -> tuple[Member, ...]:
    """Of a kind of cooker; of all kinds in turn for one that is not known."""
    kinds = [kind] if kind in cookers.KINDS else list(cookers.KINDS)
    made = []
    for i in range(MEMBERS):
        s, p = cookers.draw(kinds[i % len(kinds)], SEED + i)
        r = random.Random(f"fuel {kind} {i}")
        made.append(Member(
            p, s[at.LIT] + s[at.UNLIT], p[at.STOICH] * p[at.HEAT_PER_AIR] * math.exp(r.gauss(0.0, 0.04)),
            r.uniform(0.35, 0.85), r.uniform(0.0, 3.0), r.uniform(1.5, 3.2), math.exp(r.gauss(0.0, 0.12)),
            r.gauss(*OUTSIDE), r.uniform(*REST), r.gauss(0.0, 1.0), r.gauss(0.0, 1.0),
        ))  # fmt: skip
    return tuple(made)


@dataclass(frozen=True)
class Bin:
    """Some minutes of the night: hours they lasted, pit and outside (C; None unknown), fan demand."""

    hours: float
    pit: float
    outside: float | None
    fan: float


def bins(known: Known) -> list[Bin]:
    """The night so far in steps of BIN; minutes that were not recorded are taken as those before them."""
    columns, found = known.columns, list[Bin]()
    rows: dict[int, list[int]] = {}
    for i, when in enumerate(columns.at):
        if columns.pit[i] is not None:
            rows.setdefault(when // BIN, []).append(i)
    numbers = sorted(rows)
    for number, following in zip(numbers, [*numbers, None][1:], strict=True):
        taken = rows[number]
        pits = [pit for i in taken if (pit := columns.pit[i]) is not None]
        outside = [air for i in taken if (air := columns.ambient[i]) is not None]
        until = min(known.now, number * BIN + BIN) if following is None else following * BIN
        begin = max(number * BIN, columns.at[0] - MINUTE)
        hours = min(max(until - begin, 0), 3 * HOUR) / HOUR
        fan = sum(columns.fan[i] for i in taken) / len(taken)
        found.append(Bin(hours, sum(pits) / len(pits), sum(outside) / len(outside) if outside else None, fan))
    return found


def loss_w(one: Member, pit: float, outside: float, fan_kgs: float, leak: float, meat: float) -> float:
    """Heat that a pit held at `pit` C loses, W; air in kg/s, meat in W."""
    p = one.p
    between = 1.0 / (1.0 / (p[at.INSIDE_H] * one.inside) + 1.0 / p[at.BETWEEN_12] + 1.0 / p[at.BETWEEN_23])
    face = 0.5 * (pit + outside)  # the outer face: what comes through the wall leaves it, by two steps of Newton
    for _ in range(3):
        k = face + 273.15
        away = (p[at.OUTSIDE_H] + p[at.WIND_H] * one.wind) * (face - outside)
        away += p[at.OUTSIDE_E] * SIGMA * (fourth(k) - fourth(outside + 273.15))
        slope = p[at.OUTSIDE_H] + p[at.WIND_H] * one.wind + 4.0 * p[at.OUTSIDE_E] * SIGMA * k * k * k
        face -= (away - between * (pit - face)) / (slope + between)
    wall = between * (pit - face) * p[at.WALL_AREA]
    exhaust = max(fan_kgs, fan_kgs + leak) * CP_AIR * (pit - outside)
    pan = p[at.PAN_H] * p[at.PAN_M2] * max(0.0, pit - 75.0)
    return max(0.0, wall + exhaust + pan + meat) * one.hidden


def air_kgs(one: Member, pit: float, outside: float, fan: float) -> tuple[float, float]:
    """(from the fan, through the leaks) in kg/s at this fan demand."""
    p = one.p
    blown = fan_air(fan, p[at.FAN_FULL], p[at.FAN_DEAD], p[at.FAN_BEND])
    draught = stack_pa(p[at.HEIGHT], outside, pit) + p[at.WIND_FACE] * 0.6 * one.wind * one.wind
    return blown, leak_in(max(draught, 0.02), blown, p[at.LOW_M2], p[at.HIGH_M2], outside, pit)


def _burned(one: Member, night: Sequence[Bin], meat: float) -> tuple[float, float, float]:
    """(kg burned so far, kg an hour recently, logarithm of the heat's estimate over the air's)."""
    by_heat, by_air, hours = list[float](), list[float](), list[float]()
    for part in night:
        outside = part.outside if part.outside is not None else one.outside
        pit = max(part.pit, outside + 1.0)
        blown, leak = air_kgs(one, pit, outside, part.fan)
        by_heat.append(loss_w(one, pit, outside, blown, leak, meat) / one.heat * 3600.0)
        to_bed = blown + one.p[at.BED_SHARE] * max(leak, 0.0)
        by_air.append(to_bed * one.eta / one.p[at.STOICH] * 3600.0)
        hours.append(part.hours)
    heat = sum(kg * h for kg, h in zip(by_heat, hours, strict=True))
    air = sum(kg * h for kg, h in zip(by_air, hours, strict=True))
    off = math.log(max(heat, 1e-6) / max(air, 1e-6))
    gone = math.exp(TAKEN * math.log(max(heat, 1e-6)) + (1.0 - TAKEN) * math.log(max(air, 1e-6)))
    late_hours = late = 0.0
    for kg, h in zip(reversed(by_heat), reversed(hours), strict=True):
        if late_hours < LATE:
            late, late_hours = late + kg * h, late_hours + h
    rate = late / late_hours * gone / max(heat, 1e-6)
    first = night[0].outside if night[0].outside is not None else one.outside
    warmed = max(part.pit for part in night) - first
    p = one.p
    stored = (p[at.LAYER_1] + 0.85 * p[at.LAYER_2] + 0.7 * p[at.LAYER_3]) * p[at.WALL_AREA] + p[at.METAL_J]
    return gone + max(0.0, warmed) * stored / one.heat, rate, off


def ahead(known: Known) -> tuple[float | None, Range | None, Said]:
    """(kg left, 50 %; when it no longer holds the band, 10, 50, 90 %; a sentence). None, None and why where too little
    is known, None for an end more than LONGEST ahead."""
    night = bins(known)
    if not night or sum(part.hours for part in night) * HOUR < LEAST:
        return None, None, "The fuel is not judged yet: it takes 20 min of readings."
    refills = [note for note in known.notes if note.kind == "fuel_added" and note.at >= known.columns.at[0] - HOUR]
    meat = MEAT_W * sum(one.mass or 5.0 for one in known.pieces if one.place == "pit" and one.on_at)
    if _out(known):
        return None, None, "The pit has lost its band: what is left of the fuel burns no more, or not for long."
    fading = _fades(known)
    rows = []
    for one in members(known.cooker):
        gone, rate, off = _burned(one, night, meat)
        weight = math.exp(-0.5 * (off / AGREE) ** 2)
        told = known.fuel * math.exp(WEIGHED * one.scoop) if known.fuel is not None else one.fill
        left = max(told + sum(_added(note, one) for note in refills) - gone, 0.0)
        hours = max(left - one.rest, 0.0) / (rate * math.exp(AGAIN * one.ahead))
        if not hours:  # the pit still burns: this one is hardly it
            weight *= SPENT
        if fading:
            weight *= SIGN * math.exp(-hours / SIGN_H)
        rows.append((weight + 1e-6, left, hours, rate))
    left, rate = (quantile([(row[0], row[i]) for row in rows], 0.5) for i in (1, 3))
    ends = [(row[0], row[2]) for row in rows]
    if fading:
        total = sum(weight for weight, _ in ends)
        ends += [(total / len(SIGNED), hours) for hours in SIGNED]
    early, likely, late = (quantile(ends, odds) for odds in ODDS)
    why = "from the mass that was filled in" if known.fuel is not None else "a wide guess: the fill is not known"
    said: list[Said] = [text("It burns about {mass} an hour, {why}.", mass=Mass(rate), why=why)]
    if not known.cooker:
        said.append("Naming the kind of cooker narrows the range.")
    if fading:
        said.append("The fire needs clearly more air than it did, so it is near its end.")
    if likely > LONGEST:
        said.append(text("It lasts for more than {time}.", time=Duration(3600.0 * LONGEST)))
        return left, None, sentences(said)
    ends_at = (known.now + round(min(h, 2.0 * LONGEST) * HOUR) for h in (early, likely, late))
    return left, Range(*ends_at), sentences(said)


def _fades(known: Known) -> bool:
    """Whether the fan of the last 20 min is MORE above what the pit has needed in its band these 5 h."""
    columns = known.columns
    rows = [(known.now - t, pit, fan) for t, pit, fan in zip(columns.at, columns.pit, columns.fan, strict=True) if pit]
    late = [fan for ago, _, fan in rows if ago <= 20 * MINUTE]
    usual = [fan for ago, pit, fan in rows if 45 * MINUTE < ago <= 300 * MINUTE and pit >= known.low - 3.0]
    return len(late) >= 10 and len(usual) >= 60 and median(late) - median(usual) >= MORE


def _out(known: Known) -> bool:
    """Whether the pit has held its band and has been far below it for OUT_FOR, and hardly rises."""
    rows = [(t, pit) for t, pit in zip(known.columns.at, known.columns.pit, strict=True) if pit is not None]
    late = [pit for t, pit in rows if known.now - t <= OUT_FOR * MINUTE]
    held = any(pit >= known.low for _, pit in rows)
    if not held or len(late) < 10 or max(late) >= known.low - OUT_C:
        return False
    return late[-1] <= late[0] + (COLD_RISE if max(late) < COLD_C else 0.0)


def _added(note: Note, one: Member) -> float:
    if note.value is not None:
        return note.value * math.exp(WEIGHED * one.scoop)
    return REFILL * math.exp(SCOOPED * one.scoop)


def quantile(rows: Sequence[tuple[float, float]], odds: float) -> float:
    """The value below which `odds` of the weight lies; rows of (weight, value)."""
    total, so_far = sum(weight for weight, _ in rows), 0.0
    ordered = sorted(rows, key=lambda row: row[1])
    for weight, value in ordered:
        so_far += weight
        if so_far >= odds * total:
            return value
    return ordered[-1][1]

"""What is known of a piece and its place before the night says more: a cloud of normal numbers, and their meaning.

A member of the ensemble is a row of NAMES, each N(0, 1) beforehand; `members` turns rows into pieces for the meat's
kernel, only the probed part of each (the other part does not touch it in the model). The spreads are judged, no
source; the meat's own are those of `tuyere.meat.parameters.SPREAD`, but for what a `Belief` says.
`tests/bench/forecast.py` and `tests/bench/meat_strangers.py` show what comes of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tuyere.forecast import exchange
from tuyere.meat import piece_slots as at
from tuyere.meat.cuts import THICK, cut, mix
from tuyere.meat.doneness import FEEL
from tuyere.meat.parameters import SPREAD, Parameters
from tuyere.meat.piece import GRADED, PieceOfMeat, depths, slab

Array = Any  # a numpy array of float64
NAMES = (
    *SPREAD, "intake", "conduction", "air", "seen", "humid", "humid_late", "humid_h", "mass", "thick", "fat", "start",
    "tip", "tip_before",
)  # fmt: skip
COLUMN = {name: i for i, name in enumerate(NAMES)}
FAR = 3.5  # no number of a member is farther out
# Mean and sd of the air at the piece less what the pit's probe reads, and of what the piece sees, cold walls and the
# hot metal over the coal, less that air; in a pit at AT_C. Both come of lost heat, so they go with the pit's excess.
SEEN_C = (5.0, 3.0)
AT_C, OUTSIDE_C = 130.0, 20.0
# The pit's vapour, kg/kg, rises as pan and pieces warm, to a level, in this many hours, and once the pieces are wrapped
# it is a share of that: medians and sd of the logarithm. By a mass balance: 0.2-1.5 kg an hour, in 4-8 kg of air.
HUMID, HUMID_LATE, HUMID_H = (0.17, 0.35), (0.6, 0.3), (1.0, 0.4)
# The same for a known kind of cooker: the air, what a piece sees in the middle of a cook, the vapour. Begun with
# the means of 20 rehearsed cookers of each kind; what is seen was then moved by up to 5 C, so that the finishes of 200
# more rehearsed cooks fell about the middle. Real cookers are untried; for "" and for a plan the wide prior stands.
KINDS = {
    "upright": ((-4.0, 3.0), (7.0, 9.0), (0.28, 0.3)),
    "ceramic": ((-2.0, 2.5), (1.0, 8.0), (0.28, 0.3)),
    "drum": ((-6.5, 3.5), (19.0, 12.0), (0.22, 0.3)),
    "cabinet": ((-2.5, 2.5), (10.0, 7.0), (0.42, 0.3)),
    "offset": ((-6.0, 4.0), (18.0, 12.0), (0.19, 0.3)),
}
# While the pieces are cold they take more heat, so the metal over the coal is hotter and the air cooler than the probe,
# which sees that metal, too. What a piece sees less its air is f(t) = FALL_C (e^(-t/FALL_H) - (t - MIDDLE_H) / FALL_S)
# higher, less WRAPPED_C once it is wrapped, the air a quarter of that lower; t the hours since it went on, to LAST_H.
FALL_C, FALL_H, FALL_S, MIDDLE_H, LAST_H = 12.0, 0.7, 12.0, 4.5, 9.0
WRAPPED_C = 4.0
MASS, MASS_GUESSED = 0.02, 0.22  # sd of the logarithm: weighed, and not
THICK_KNOWN, THICK_GUESSED = 0.05, 0.12  # measured at one place, and not
FAT = 0.30
START_KNOWN_C, START_GUESSED_C = 1.0, 3.0
TIP = (-1.6, 0.9)  # of the logit of the tip's distance from the middle over half the thickness: 9 mm in 1 of 6 flats
MOST_OFF = 0.9
SLOWER = 1.4  # power with which heat taken and led must fall for a course to be longer, found with `finish.before`
LOWER_C = 2.0  # a target this far below the usual ones is a lower one


@dataclass(frozen=True)
class Belief:
    """What meat is taken to be like before a night shows it: medians over those of the meat's report, and sd of the
    logarithm. intake: of radiation, and its root of convection (view, crust). conduction: fibre, fat seams, what melts.
    own: of each number of `SPREAD` that is not as there. air_c: mean and sd at the piece less what the probe reads.
    foil_shines: emissivity of foil. trusted: share of its members beside the carried rise where they fit (`mixed`),
    bare and wrapped. wrapped: what its hours to go are lengthened by in a wrap, and sd of the logarithm of that. drawn:
    the power with which they are drawn to their middle."""

    intake: tuple[float, float]
    conduction: tuple[float, float]
    own: Mapping[str, tuple[float, float]]
    air_c: tuple[float, float] = (0.0, 3.0)
    foil_shines: float = Parameters.foil_emissivity
    trusted: tuple[float, float] = (0.75, 0.52)
    wrapped: tuple[float, float] = (1.0, 0.0)
    drawn: float = 1.0

    def spread(self) -> dict[str, tuple[float, float]]:
        """Of each number of SPREAD: its median over the usual one, and sd of the logarithm."""
        return {name: self.own.get(name, (1.0, sd)) for name, sd in SPREAD.items()}

    def slower(self, times: float) -> Belief:
        """The belief under which a piece takes that many times as long: less heat comes in and is led on."""
        less = times**-SLOWER
        intake, conduction = (self.intake[0] * less, self.intake[1]), (self.conduction[0] * less, self.conduction[1])
        return replace(self, intake=intake, conduction=conduction)


# The meat's report as it stands: quick, most of all late.
QUICK = Belief((1.0, 0.12), (1.0, 0.10), {}, trusted=(0.95, 0.95), drawn=0.7)
# Common practice, no source: 5-7 kg in paper at 121-135 C take 9-15 h. What holds the tail is less sure than there.
SLOW = Belief(
    (0.56, 0.20), (0.54, 0.28),
    {
        "convection": (1.15, 0.12), "emissivity": (0.95, 0.05), "gap": (1.0, 0.40), "greased": (0.7, 0.50),
        "crust": (0.8, 0.60), "crust_s": (1.0, 0.60), "wetted": (0.6, 0.35), "seep": (0.8, 0.40), "drip": (1.0, 0.40),
        "hold_fall": (0.9, 0.12),
    },
    (2.5, 2.5), 0.13, wrapped=(1.25, 0.22),
)  # fmt: skip


@dataclass
class Members:
    """Pieces in the kernel's form, one a row of m and q, and of each: its air and what it sees less the pit's reading
    (K), the pit's humidity (bare and wrapped, kg/kg, and the hours in which it rises), half its thickness (m), the
    tip's distance from the middle now and in the seat before (m), the raw mass of the part (kg), and how much of `fall`
    its pit shows (0 where the kind of cooker is not known: the wide prior is of whole cooks)."""

    m: Array
    q: Array
    air: Array
    seen: Array
    humid: Array
    humid_late: Array
    humid_h: Array
    half: Array
    tip: Array
    tip_before: Array
    mass: Array
    falls: Array


def cloud(members: int, seed: int) -> Array:
    """Members before any evidence, [members, NAMES]: mirrored in pairs, so that their means are exactly 0."""
    half = np.random.default_rng(seed).standard_normal(((members + 1) // 2, len(NAMES)))
    return np.clip(np.concatenate([half, -half])[:members], -FAR, FAR)


def checked(one: exchange.KnownPiece) -> PieceOfMeat:
    """The piece as the meat's own model has it. ValueError, one sentence, for an impossible piece."""
    mass = cut(one.cut).kg[1] if one.mass is None else one.mass
    start = 5.0 if one.start is None else one.start
    return PieceOfMeat(
        one.name or "The piece", one.cut, mass, one.flat, one.point, start, one.intact, done_c=one.target
    )


def feel(one: exchange.KnownPiece) -> float:
    """The dissolved share of its collagen that a piece waits for, too: 0, except where its target lies below what its
    cut is cooked to. There it is the time at the target that makes it tender."""
    return FEEL if one.target < cut(one.cut).target_c[0] - LOWER_C else 0.0


def members(
    one: exchange.KnownPiece, rows: Array, pit_c: float = AT_C, kind: str = "", belief: Belief = SLOW
) -> Members:
    """Lay out `rows` of NAMES as pieces in a pit of a kind that is held at pit_c; "" or a stranger: the wide prior.
    ValueError, one sentence, for an impossible piece."""
    given = checked(one)
    what = cut(given.cut)
    part = what.parts[0]
    low, high = (limit * part.thick_m for limit in THICK)
    by = {name: rows[:, i] for name, i in COLUMN.items()}
    mass = given.mass_kg * np.exp((MASS if one.mass is not None else MASS_GUESSED) * by["mass"])
    thick = given.thick_m(0) * np.exp((THICK_KNOWN if one.flat is not None else THICK_GUESSED) * by["thick"])
    if one.flat is None:
        thick = thick * (mass / given.mass_kg) ** (1.0 / 3.0)
    thick = np.clip(thick, low, high)
    fat = np.clip(part.fat * np.exp(FAT * by["fat"]), 0.01, 0.45)
    start = given.start_c + (START_KNOWN_C if one.start is not None else START_GUESSED_C) * by["start"]
    start = np.clip(start, -1.5, 40.0)
    usual = Parameters()
    spread = belief.spread()
    intake = belief.intake[0] * np.exp(belief.intake[1] * by["intake"])
    count = len(rows)
    m, q = np.zeros((count, at.SIZE)), np.zeros((count, at.QSIZE))
    for i in range(count):
        own = {
            name: getattr(usual, name) * over * float(np.exp(sd * by[name][i])) for name, (over, sd) in spread.items()
        }
        own["emissivity"] *= float(intake[i])
        own["convection"] *= float(intake[i]) ** 0.5
        for share in ("emissivity", "hold_least", "drip"):
            own[share] = min(own[share], 1.0)
        changed = Parameters(foil_emissivity=belief.foil_shines, **own)
        kg = float(mass[i]) * part.share
        one_m, one_q = slab(kg, float(thick[i]), float(start[i]), mix(float(fat[i])), changed, part=part)
        m[i, at.SLAB : at.SLAB + at.SLAB_SIZE] = one_m
        q[i, at.Q_SLAB : at.Q_SLAB + at.SLAB_Q] = one_q
    conduction = at.Q_SLAB + at.DRY + at.N
    q[:, conduction : conduction + at.N - 1] *= (
        belief.conduction[0] * np.exp(belief.conduction[1] * by["conduction"])
    )[:, None]
    m[:, at.PROBE] = m[:, at.BEFORE] = start
    m[:, at.COME_UP_S] = m[:, at.DONE_S] = -1.0
    q[:, at.DONE_C], q[:, at.DONE_FEEL] = given.done_c, feel(one)
    excess = max(pit_c - OUTSIDE_C, 0.0) / (AT_C - OUTSIDE_C)
    air_c, seen_c, level = KINDS.get(kind, (belief.air_c, SEEN_C, HUMID))
    air = excess * (air_c[0] + air_c[1] * by["air"])
    tips = [_off(by[name]) * thick / 2.0 if one.probe else np.zeros(count) for name in ("tip", "tip_before")]
    humid = level[0] * np.exp(level[1] * by["humid"])
    late = humid * np.minimum(HUMID_LATE[0] * np.exp(HUMID_LATE[1] * by["humid_late"]), 1.0)
    rises = HUMID_H[0] * np.exp(HUMID_H[1] * by["humid_h"])
    seen = air + excess * (seen_c[0] + seen_c[1] * by["seen"])
    falls = np.full(count, 1.0 if kind in KINDS else 0.0)
    made = Members(m, q, air, seen, humid, late, rises, thick / 2.0, tips[0], tips[1], mass * part.share, falls)
    seat(made, made.tip)
    return made


def fall(hours: Array, wrapped: Array) -> Array:
    """The surplus of what a piece sees over the middle of a cook, C, by hours since it went on."""
    t = np.minimum(hours, LAST_H)
    return FALL_C * (np.exp(-t / FALL_H) - (t - MIDDLE_H) / FALL_S) - WRAPPED_C * wrapped


def seat(made: Members, off: Array) -> None:
    """Put each member's probe `off` m from the middle."""
    unit = np.array(depths(1.0, at.N, GRADED))
    depth = 1.0 - off / made.half
    low = np.clip(np.searchsorted(unit, depth, side="right") - 1, 0, at.N - 2)
    made.q[:, at.PROBE_LOW] = low
    made.q[:, at.PROBE_SHARE] = np.clip((depth - unit[low]) / (unit[low + 1] - unit[low]), 0.0, 1.0)


def _off(number: Array) -> Array:
    return MOST_OFF / (1.0 + np.exp(-(TIP[0] + TIP[1] * number)))


def few(made: Members, chosen: Array) -> Members:
    """Copies of the chosen members."""
    return Members(**{name: value[chosen].copy() for name, value in vars(made).items()})


def joined(some: Sequence[Members]) -> Members:
    """The members of all, one after the other."""
    return Members(**{name: np.concatenate([vars(one)[name] for one in some]) for name in vars(some[0])})

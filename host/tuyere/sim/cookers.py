"""Five kinds of charcoal cooker, each a spread and not one number.

A kind is a table of ranges; `draw(kind, seed)` takes one cooker out of it. Ranges are common practice and plain
geometry, no source; the tests check what they add up to (heat lost, air needed, time to climb).
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from tuyere.meat.water import PRESSURE, boiling
from tuyere.sim import pit_slots as at

Range = tuple[float, float]


@dataclass(frozen=True)
class Kind:
    """Ranges (low, high) of a cooker of this kind. Areas m2 or cm2 as named; layers from inside to outside."""

    words: str
    volume: Range  # m3
    wall: Range  # m2
    layer_j: tuple[Range, Range, Range]  # J/m2K
    between: tuple[Range, Range]  # W/m2K
    outside_e: Range  # emissivity outside
    height: Range  # m, fire to exhaust
    leak_cm2: Range  # low: doors, ash drawer, the fan's idle mouth
    exhaust_cm2: Range
    bed_share: Range  # of the leaking air that passes the coal
    fan_full: Range  # kg/s
    fuel: Range  # kg
    lit: Range  # kg
    metal: Range  # kJ/K of grates, deflector
    metal_g: Range  # W/K to the gas
    to_metal: Range  # share of the bed's radiation
    bed_area: Range  # m2
    pan: Range  # kg of water, 0 none
    wind_face: Range  # share of the wind's pressure that helps the draught


KINDS: dict[str, Kind] = {
    "upright": Kind(
        "upright with a water pan", (0.09, 0.15), (1.1, 1.5), ((2600, 3400), (1300, 1700), (1300, 1700)),
        ((3000, 3000), (3000, 3000)),
        (0.80, 0.92), (0.6, 0.9), (0.3, 1.0), (5.0, 10.0), (0.6, 0.9), (0.0045, 0.0090), (6.0, 9.0),
        (0.08, 0.20), (2.5, 5.0), (5.0, 8.0),
        (0.45, 0.60), (0.020, 0.034), (2.0, 4.0), (0.02, 0.16),
    ),
    "ceramic": Kind(
        "ceramic", (0.06, 0.11), (0.8, 1.1), ((16000, 20000), (16000, 20000), (16000, 20000)),
        ((110, 170), (110, 170)),
        (0.85, 0.92), (0.45, 0.65), (0.10, 0.35), (2.0, 4.0), (0.8, 0.95), (0.0040, 0.0080), (3.5, 6.0),
        (0.05, 0.13), (3.5, 7.0), (4.0, 7.0),
        (0.50, 0.65), (0.016, 0.026), (0.0, 0.0), (0.02, 0.12),
    ),
    "drum": Kind(
        "drum", (0.18, 0.22), (1.5, 1.9), ((2500, 3000), (1200, 1500), (1200, 1500)), ((3000, 3000), (3000, 3000)),
        (0.80, 0.92), (0.7, 0.95), (0.3, 1.1), (5.0, 12.0), (0.7, 0.95), (0.0046, 0.0088), (6.0, 10.0),
        (0.10, 0.24), (2.0, 3.5), (4.0, 7.0),
        (0.30, 0.45), (0.024, 0.040), (0.0, 0.0), (0.02, 0.18),
    ),
    "cabinet": Kind(
        "insulated cabinet", (0.18, 0.35), (2.0, 3.0), ((5500, 8000), (1800, 3000), (4500, 6000)),
        ((2.5, 5.0), (2.5, 5.0)),
        (0.75, 0.92), (0.8, 1.1), (0.10, 0.40), (4.0, 8.0), (0.6, 0.9), (0.0030, 0.0058), (7.0, 12.0),
        (0.08, 0.20), (4.0, 7.0), (7.0, 12.0),
        (0.55, 0.70), (0.018, 0.030), (0.0, 4.0), (0.02, 0.10),
    ),
    "offset": Kind(
        "offset with a charcoal basket", (0.16, 0.26), (1.9, 2.6), ((7000, 11000), (3500, 5500), (3500, 5500)),
        ((3000, 3000), (3000, 3000)),
        (0.85, 0.95), (0.8, 1.1), (0.8, 2.0), (10.0, 20.0), (0.7, 0.95), (0.0085, 0.0150), (7.0, 12.0),
        (0.15, 0.32), (3.5, 7.0), (5.0, 9.0),
        (0.35, 0.50), (0.036, 0.060), (0.0, 0.0), (0.02, 0.20),
    ),
}  # fmt: skip


def draw(kind: str, seed: int) -> tuple[list[float], list[float]]:
    """One cooker of a kind: (s, p), its state when lit and its constants. ValueError on an unknown kind."""
    if kind not in KINDS:
        raise ValueError(f"Unknown cooker {kind!r}; choose one of {', '.join(KINDS)}.")
    k = KINDS[kind]
    r = random.Random(f"cooker {kind} {seed}")

    def pick(span: Range) -> float:
        return r.uniform(span[0], span[1])

    p = [0.0] * at.PARAMETERS
    p[at.SUBSTEP], p[at.SLOW] = 2.0, 10.0
    p[at.VOLUME_J] = pick(k.volume) * 1010.0 * 0.9
    p[at.WALL_AREA] = pick(k.wall)
    p[at.LAYER_1], p[at.LAYER_2], p[at.LAYER_3] = (pick(x) for x in k.layer_j)
    p[at.BETWEEN_12], p[at.BETWEEN_23] = (pick(x) for x in k.between)
    p[at.INSIDE_H] = r.uniform(6.0, 9.0)
    p[at.OUTSIDE_H], p[at.WIND_H], p[at.OUTSIDE_E] = r.uniform(3.5, 5.0), r.uniform(1.5, 3.0), pick(k.outside_e)
    p[at.HEIGHT], p[at.WIND_FACE] = pick(k.height), pick(k.wind_face)
    leak = pick(k.leak_cm2)
    p[at.LOW_M2], p[at.HIGH_M2] = leak * 1e-4, (pick(k.exhaust_cm2) + 0.7 * leak) * 1e-4
    p[at.BED_SHARE] = pick(k.bed_share)
    p[at.FAN_FULL], p[at.FAN_DEAD], p[at.FAN_BEND] = pick(k.fan_full), r.uniform(0.02, 0.10), r.uniform(0.9, 1.4)
    briquette = r.random() < 0.35  # else lump
    p[at.ASH_SHARE] = r.uniform(0.10, 0.20) if briquette else r.uniform(0.02, 0.05)
    p[at.ASH_HALF] = r.uniform(0.8, 2.5)
    # air per kg and heat per kg of air from the elements: lump C .80 H .03 O .08, briquette C .66 H .025 O .09,
    # heating value by Channiwala and Parikh (2002) less the latent heat of the water made
    p[at.STOICH], p[at.HEAT_PER_AIR] = (8.067, 2.976e6) if briquette else (9.893, 3.009e6)
    p[at.REACTIVE], p[at.USE_MOST] = r.uniform(0.0055, 0.0102), r.uniform(0.80, 0.95)
    p[at.AIR_HALF], p[at.GLOW_S] = r.uniform(0.0015, 0.0030), r.uniform(85.0, 220.0)
    p[at.REACT_C], p[at.REACT_W] = 300.0, 35.0
    p[at.SPREAD], p[at.DIE_S], p[at.UNLIT_HALF] = r.uniform(1.9, 2.5), r.uniform(4000.0, 8000.0), r.uniform(0.3, 0.7)
    p[at.BED_J], p[at.BED_AREA] = r.uniform(2400.0, 4800.0), pick(k.bed_area)
    p[at.BED_HALF], p[at.BED_FLOOR] = 0.3, 0.06
    p[at.METAL_J], p[at.METAL_G], p[at.METAL_WALL] = pick(k.metal) * 1000.0, pick(k.metal_g), r.uniform(1.5, 3.5)
    p[at.SHARE_METAL], p[at.STREAM_METAL] = pick(k.to_metal), r.uniform(0.5, 0.75)
    p[at.PREHEAT] = r.uniform(0.30, 0.55)
    # an open lid: W/K of air let through, kg/s more to the bed, W/m2K from the walls
    p[at.OPEN_FLOW], p[at.OPEN_BED] = r.uniform(18.0, 40.0), r.uniform(0.0015, 0.0035)
    p[at.OPEN_WALL] = r.uniform(3.0, 7.0)
    water = pick(k.pan)
    if 0.0 < water < 1.0:
        water = 0.0  # hardly a pan
    if water > 0.0:
        p[at.PAN_M2], p[at.PAN_J] = r.uniform(0.05, 0.10), 800.0
        p[at.PAN_H], p[at.SHARE_PAN] = r.uniform(6.0, 9.0), r.uniform(0.04, 0.10)
    p[at.PAN_J] = max(p[at.PAN_J], 1.0)
    p[at.PROBE_S], p[at.PROBE_RAD] = r.uniform(55.0, 145.0), r.uniform(0.15, 0.30)
    p[at.NOISE_C], p[at.QUANTUM] = r.uniform(0.08, 0.20), 1.0 / 128.0
    p[at.PROBE_RAD_METAL] = r.uniform(0.35, 0.55)
    p[at.MEAT_RAD_METAL] = 0.3 + (p[at.PROBE_RAD_METAL] - 0.45)  # the drip pan and the pieces hide some of it
    p[at.AIR_PA], p[at.BOILS] = PRESSURE, boiling(PRESSURE)

    s = [0.0] * at.STATE
    s[at.NOISE_SEED] = float(r.randrange(1, 2147483646))
    s[at.LIT] = pick(k.lit)
    s[at.GLOW] = 0.5 * s[at.LIT]
    p[at.COVER_HALF] = s[at.LIT] * r.uniform(0.15, 0.40)
    s[at.UNLIT] = pick(k.fuel) - s[at.LIT]
    s[at.PAN_KG] = water
    s[at.BED] = r.uniform(520.0, 620.0)
    s[at.REACH] = s[at.BRIDGE_TO] = 1.0
    s[at.ARRIVED] = s[at.MEAT_ON] = -1.0
    s[at.LOOK_AT] = at.LOOK_S
    return s, p


def settle(s: list[float], ambient: float, humidity: float) -> None:
    """Let everything but the lit coal stand at `ambient` C."""
    for i in (at.METAL, at.GAS, at.WALL_1, at.WALL_2, at.WALL_3, at.PAN, at.PROBE, at.READING, at.AMBIENT):
        s[i] = ambient
    s[at.HUMIDITY] = humidity

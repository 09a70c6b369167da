"""A piece of meat as a slab heated from both sides: half of it, in finite volumes.

Node 0 is a half cell at the surface, the last node a half cell at the middle. Each node
has a temperature and water. Heat is conducted; juice that warm meat can no longer hold is
pressed out towards the surface, and part of it drips; water also diffuses to a drier
surface; from the surface it evaporates as fast as the air takes it and as the surface has it
(falling rate). Nothing in here knows of a stall: it comes out of that balance.

`step` is plain arithmetic on two flat sequences of floats, for CPython and compilers alike:
`m` (what changes, SIZE numbers a piece) and `q` (what does not), both from `piece`.
Energies are counted from 0 C; water leaves with its own warmth.
"""

from __future__ import annotations

import math

from tuyere.meat.food import LEAN_AND_FAT, properties
from tuyere.meat.water import latent, wet_flux

N = 9
(
    ON, WRAP, RATE, EVAPORATED, DRIPPED, LOST_J, SURFACE, PROBE, LINK_G, LINK_R, T0,
) = range(11)  # fmt: skip
# in the pit 0/1; 0 bare, 1 paper, 2 foil; kg/s; kg; kg; J carried off by water; C; C at the middle;
# W/K by convection and by radiation, kept by the pit; temperatures, C
W0 = T0 + N  # water in each node, kg per m2 of surface
PIVOT = W0 + N  # scratch of the solver
RIGHT = PIVOT + N
SIZE = RIGHT + N

(
    AREA, CONVECTION, EMISSIVITY, PAPER_VAPOUR, PAPER_HEAT, DRIP, JUICE_S, DRY_HEAT, RUN_OFF,
    HOLD_LEAST, HOLD_MID, HOLD_WIDTH, WET_HALF, RAW, DRY,
) = range(15)  # fmt: skip
G0 = DRY + N  # conductance to the next node, W/m2K
D0 = G0 + N  # diffusion to the next node, m/s times kg water per kg dry: kg/m2s for a unit difference
QSIZE = D0 + N
WATER_HEAT = 4180.0  # J/kgK


def piece(
    mass: float = 3.0,
    half_mm: float = 22.0,
    start_c: float = 5.0,
    mix: dict[str, float] | None = None,
    convection: float = 6.0,
    emissivity: float = 0.9,
    graded: float = 1.35,
) -> tuple[list[float], list[float]]:
    """A raw piece of `mass` kg, `half_mm` thick from surface to middle: (m, q).

    The surface follows from mass and thickness. Properties are those of the mix at 45 C, conductivity the geometric
    mean. Juice: the share of its water that meat holds falls with temperature as a logistic curve, like R. van der
    Sman's water-holding capacity (2007; from memory), with its end fitted to the yields of whole briskets, 56-59 % at
    85-90 C and three hours (Meat Muscle Biol.). Assumed: diffusivity of water 5e-10 m2/s, the share of juice that
    drips, paper, soaked with fat, that lets 0.15 of the vapour through.
    ValueError on a mass or thickness out of range.
    """
    if not 0.05 <= mass <= 30.0 or not 3.0 <= half_mm <= 120.0:
        raise ValueError(f"A piece needs 0.05-30 kg and 3-120 mm to the middle, not {mass:g} kg and {half_mm:g} mm.")
    mix = mix or LEAN_AND_FAT
    mid = properties(mix, 45.0)
    water = mix.get("water", 0.0)
    m = [0.0] * SIZE
    q = [0.0] * QSIZE
    length = half_mm / 1000.0
    steps = [graded**i for i in range(N - 1)]
    scale = length / sum(steps)
    dx = [x * scale for x in steps]
    widths = [0.5 * ((dx[i - 1] if i else 0.0) + (dx[i] if i < N - 1 else 0.0)) for i in range(N)]
    q[AREA] = mass / (mid.density * length)
    q[CONVECTION], q[EMISSIVITY] = convection, emissivity
    q[PAPER_VAPOUR], q[PAPER_HEAT] = 0.15, 0.9
    q[DRIP], q[JUICE_S], q[WET_HALF] = 0.35, 2400.0, 0.12
    q[HOLD_LEAST], q[HOLD_MID], q[HOLD_WIDTH] = 0.42, 64.0, 6.0
    q[DRY_HEAT] = (mid.heat - water * WATER_HEAT) / (1.0 - water)
    for i in range(N):
        full = mid.density * widths[i]
        q[DRY + i] = full * (1.0 - water)
        m[T0 + i] = start_c
        m[W0 + i] = full * water
        if i < N - 1:
            q[G0 + i] = mid.middle / dx[i]
            q[D0 + i] = 5e-10 * mid.density * (1.0 - water) / dx[i]
    m[SURFACE] = m[PROBE] = start_c
    # the holding curve starts from the water of raw meat; a surface a quarter wetter than that runs off
    q[RAW] = water / (1.0 - water)
    q[RUN_OFF] = 1.25 * q[RAW]
    return m, q


def stored(m: list[float], q: list[float], o: int = 0, r: int = 0) -> float:
    """Heat in a piece above 0 C, J."""
    heat = 0.0
    for i in range(N):
        heat += (q[r + DRY + i] * q[r + DRY_HEAT] + m[o + W0 + i] * WATER_HEAT) * m[o + T0 + i]
    return heat * q[r + AREA]


def mass_kg(m: list[float], q: list[float], o: int = 0, r: int = 0) -> float:
    """What a piece weighs now, kg."""
    total = 0.0
    for i in range(N):
        total += q[r + DRY + i] + m[o + W0 + i]
    return total * q[r + AREA]


def step(m, o, q, r, dt, heat, air, pv, pressure):  # type: ignore[no-untyped-def]
    """Move a piece on by dt seconds (up to some 15 s), in which its surface took `heat` J from the pit.

    m, q: state and constants, this piece's begin at o and r. air: C of the air around; pv: its vapour, Pa.
    Writes the rate of evaporation (kg/s), the losses and the temperatures into m. The surface is taken at its
    temperature of the last step by the caller, which is why dt stays short against the surface node's own time.
    """
    area = q[r + AREA]
    lost = 0.0
    # juice that the warm meat no longer holds goes outwards; some of it drips
    keep = q[r + HOLD_LEAST]
    raw = q[r + RAW]
    out = 0.0
    part = 1.0 - math.exp(-dt / q[r + JUICE_S])
    for i in range(1, N):
        t = m[o + T0 + i]
        if t > 40.0:
            hold = keep + (1.0 - keep) / (1.0 + math.exp((t - q[r + HOLD_MID]) / q[r + HOLD_WIDTH]))
            over = m[o + W0 + i] - q[r + DRY + i] * raw * hold
            if over > 0.0:
                over = over * part
                m[o + W0 + i] -= over
                out += over
                lost += over * WATER_HEAT * t
    drip = out * q[r + DRIP]
    t0 = m[o + T0]
    m[o + W0] += out - drip
    lost -= (out - drip) * WATER_HEAT * t0
    # water drawn to a drier surface; it carries its warmth along
    for i in range(N - 1):
        a = m[o + W0 + i] / q[r + DRY + i] if q[r + DRY + i] > 0.0 else 0.0
        b = m[o + W0 + i + 1] / q[r + DRY + i + 1] if q[r + DRY + i + 1] > 0.0 else 0.0
        flow = q[r + D0 + i] * (b - a) * dt
        if flow > 0.0:
            m[o + W0 + i] += flow
            m[o + W0 + i + 1] -= flow
            lost += flow * WATER_HEAT * (m[o + T0 + i + 1] - m[o + T0 + i])
    top = q[r + DRY] * q[r + RUN_OFF]
    if m[o + W0] > top:
        drip += m[o + W0] - top
        lost += (m[o + W0] - top) * WATER_HEAT * t0
        m[o + W0] = top
    # evaporation, linear in the surface temperature of the end of the step
    wet = m[o + W0]
    e0 = 0.0
    slope = 0.0
    hfg = latent(t0)
    if wet > 0.0 and q[r + CONVECTION] > 0.0:
        dry = q[r + DRY]
        u = wet / dry
        activity = u / (u + q[r + WET_HALF])
        pass_on = 1.0
        if m[o + WRAP] == 1.0:
            pass_on = q[r + PAPER_VAPOUR]
        elif m[o + WRAP] == 2.0:
            pass_on = 0.02
        e0 = pass_on * wet_flux(q[r + CONVECTION], air, t0, activity, pv, pressure)
        e1 = pass_on * wet_flux(q[r + CONVECTION], air, t0 + 0.5, activity, pv, pressure)
        slope = 2.0 * (e1 - e0)
    # conduction: implicit; eliminate from the middle outwards, then walk back in
    c = (q[r + DRY + N - 1] * q[r + DRY_HEAT] + m[o + W0 + N - 1] * WATER_HEAT) / dt
    g = q[r + G0 + N - 2]
    m[o + PIVOT + N - 1] = c + g
    m[o + RIGHT + N - 1] = c * m[o + T0 + N - 1]
    for i in range(N - 2, 0, -1):
        c = (q[r + DRY + i] * q[r + DRY_HEAT] + m[o + W0 + i] * WATER_HEAT) / dt
        share = g / m[o + PIVOT + i + 1]
        right = c * m[o + T0 + i] + share * m[o + RIGHT + i + 1]
        pivot = c + g - g * share
        g = q[r + G0 + i - 1]
        m[o + PIVOT + i] = pivot + g
        m[o + RIGHT + i] = right
    c = (q[r + DRY] * q[r + DRY_HEAT] + wet * WATER_HEAT) / dt
    share = g / m[o + PIVOT + 1]
    right = c * t0 + heat / (area * dt) - hfg * (e0 - slope * t0) + share * m[o + RIGHT + 1]
    t = right / (c + g - g * share + hfg * slope)
    rate = e0 + slope * (t - t0)
    most = 0.8 * wet / dt
    if rate < 0.0 or rate > most:
        rate = 0.0 if rate < 0.0 else most
        t = (c * t0 + heat / (area * dt) - hfg * rate + share * m[o + RIGHT + 1]) / (c + g - g * share)
    m[o + T0] = t
    for i in range(1, N):
        t = (m[o + RIGHT + i] + q[r + G0 + i - 1] * t) / m[o + PIVOT + i]
        m[o + T0 + i] = t
    gone = rate * dt
    m[o + W0] = wet - gone
    # the water of this step leaves at the end-of-step surface temperature
    lost += gone * (hfg + WATER_HEAT * m[o + T0])
    m[o + RATE] = rate * area
    m[o + EVAPORATED] += gone * area
    m[o + DRIPPED] += drip * area
    m[o + LOST_J] += lost * area
    m[o + SURFACE] = m[o + T0]
    m[o + PROBE] = m[o + T0 + N - 1]

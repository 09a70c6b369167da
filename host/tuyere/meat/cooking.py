"""Pieces of meat moved on through a cook: links to the pit, wraps, spritz, and what the cook's judgement rests on.

Plain functions on the flat sequences of `slots`, for CPython and compilers alike. h and k: where a piece begins in m
and q. The pit's own loop (`tuyere.sim.course`) calls them step by step; `cook` runs many pieces against a given pit.
"""

import math

from tuyere.meat import piece_slots as at
from tuyere.meat.slab import step
from tuyere.meat.tables import COLLAGEN_E, COLLAGEN_K, COLLAGEN_T, LETHAL_C, LETHAL_MIN
from tuyere.meat.water import WATER_HEAT, boiling, vapour

SIGMA = 5.670374419e-8  # W/m2K4
JUDGE = 60.0  # s between two looks of `judge`
SLOW_RISE = 3.0 / 3600.0  # K/s: a probe between PLATEAU_C that rises slower stands on the plateau
PLATEAU_C = (55.0, 85.0)
GROWTH_C = (40.0 / 9.0, 60.0)  # as in `safety.py`: 40-140 F

# A plan for `cook`, a row each piece: which of the pits, seconds from its going on to the wrap, the wrap, seconds to
# its coming off, and 1 to stop when it is done.
P_PIT, P_WRAP_S, P_WRAP, P_BARE_S, P_STOP = range(5)
PLAN = 5
# A pit for `cook`, a row each step: air and what the meat sees, C; kg of water per kg of dry air.
S_AIR, S_SEEN, S_HUMIDITY = range(3)
SERIES = 3


def lethal_minutes(t):  # type: ignore[no-untyped-def]
    """Minutes at t C for a 6.5-log reduction of Salmonella in beef; 1e9 below the table."""
    if t < LETHAL_C[0]:
        return 1e9
    for i in range(1, len(LETHAL_C)):
        if t <= LETHAL_C[i]:
            share = (t - LETHAL_C[i - 1]) / (LETHAL_C[i] - LETHAL_C[i - 1])
            return math.exp(math.log(LETHAL_MIN[i - 1]) * (1.0 - share) + math.log(LETHAL_MIN[i]) * share)
    return 0.1 * LETHAL_MIN[-1]


def collagen_rate(t):  # type: ignore[no-untyped-def]
    """Share of the undissolved collagen that dissolves in a second at t C (Arrhenius; a fit, see `doneness`)."""
    return COLLAGEN_K * math.exp(COLLAGEN_E / 8.314462 * (1.0 / (COLLAGEN_T + 273.15) - 1.0 / (t + 273.15)))


def stored(m, h, q, k):  # type: ignore[no-untyped-def]
    """Heat in a piece above 0 C, J."""
    heat = 0.0
    for s in range(at.SECTIONS):
        o = h + at.SLAB + s * at.SLAB_SIZE + at.T0
        r = k + at.Q_SLAB + s * at.SLAB_Q
        one = 0.0
        for i in range(at.N):
            one += (q[r + at.DRY + i] * q[r + at.DRY_HEAT] + m[o + at.N + i] * WATER_HEAT) * m[o + i]
        heat += one * q[r + at.AREA]
    return heat


def link(m, h, q, k, seen):  # type: ignore[no-untyped-def]
    """Set how strongly a piece exchanges heat with the gas around it and with what it sees (C), from its surface and
    wrap now."""
    wrap = m[h + at.WRAP]
    a = seen + 273.15
    for s in range(at.SECTIONS):
        o = h + at.SLAB + s * at.SLAB_SIZE
        r = k + at.Q_SLAB + s * at.SLAB_Q
        b = m[o + at.T0] + 273.15
        shine = q[r + at.FOIL_E] if wrap == at.FOIL else q[r + at.EMISSIVITY]
        g = q[r + at.CONVECTION]
        e = shine * SIGMA * (a * a + b * b) * (a + b)
        area = q[r + at.AREA] * m[o + at.SPREAD]
        if wrap != at.BARE and area > 0.0:
            area *= q[r + at.GAP_H] / (q[r + at.GAP_H] + g + e)
        m[o + at.LINK_G] = g * area
        m[o + at.LINK_R] = e * area


def move(m, h, q, k, dt, gas, seen, grip, pv, pressure, boil):  # type: ignore[no-untyped-def]
    """Move a piece on by dt seconds, in which gas and what it sees stood at these means (C), by its links as set.

    grip 1: the links take its warming within the step into account; 0: the pit was already charged without.
    """
    wrap = m[h + at.WRAP]
    m[h + at.RATE] = 0.0
    m[h + at.COOKED_S] += dt
    if wrap != at.BARE:
        m[h + at.WRAPPED_S] += dt
    for s in range(at.SECTIONS):
        r = k + at.Q_SLAB + s * at.SLAB_Q
        if q[r + at.AREA] > 0.0:
            o = h + at.SLAB + s * at.SLAB_SIZE
            cover = 0.0
            if wrap == at.PAPER:
                soaked = 1.0 - math.exp(-m[h + at.WRAPPED_S] / q[r + at.GREASE_S])
                cover = q[r + at.PAPER_R] + (q[r + at.GREASED_R] - q[r + at.PAPER_R]) * soaked
            elif wrap == at.FOIL:
                cover = q[r + at.FOIL_R]
            g = m[o + at.LINK_G]
            e = m[o + at.LINK_R]
            t = m[o + at.T0]
            heat = (g * (gas - t) + e * (seen - t)) * dt
            step(m, h, o, q, r, dt, heat, grip * (g + e), wrap, cover, gas, pv, pressure, boil)
    tip = h + at.SLAB + int(q[k + at.PROBE_IN]) * at.SLAB_SIZE + at.T0 + int(q[k + at.PROBE_LOW])
    m[h + at.PROBE] = m[tip] + (m[tip + 1] - m[tip]) * q[k + at.PROBE_SHARE]
    m[h + at.JUDGE_S] += dt
    if m[h + at.JUDGE_S] >= JUDGE - 1e-6:
        judge(m, h, q, k)


def judge(m, h, q, k):  # type: ignore[no-untyped-def]
    """Add the time since the last look to plateau, growth, lethality and collagen; note come-up and done."""
    dt = m[h + at.JUDGE_S]
    probe = m[h + at.PROBE]
    if PLATEAU_C[0] < probe < PLATEAU_C[1] and probe - m[h + at.BEFORE] < SLOW_RISE * dt:
        m[h + at.PLATEAU_S] += dt
    m[h + at.BEFORE] = probe
    m[h + at.JUDGE_S] = 0.0
    skin, middle = 999.0, 999.0
    for s in range(at.SECTIONS):
        if q[k + at.Q_SLAB + s * at.SLAB_Q + at.AREA] > 0.0:
            o = h + at.SLAB + s * at.SLAB_SIZE
            t = m[o + at.T0 + at.N - 1]
            skin = min(skin, m[o + at.T0])
            middle = min(middle, t)
            if t >= LETHAL_C[0]:
                m[o + at.LETHAL] += dt / 60.0 / lethal_minutes(t)
                m[o + at.COLLAGEN] += (1.0 - m[o + at.COLLAGEN]) * (1.0 - math.exp(-collagen_rate(t) * dt))
    if GROWTH_C[0] < skin < GROWTH_C[1]:
        m[h + at.SURFACE_S] += dt
    if GROWTH_C[0] < middle < GROWTH_C[1]:
        m[h + at.CENTRE_S] += dt
    if m[h + at.COME_UP_S] < 0.0 and middle >= LETHAL_C[0]:
        m[h + at.COME_UP_S] = m[h + at.COOKED_S]
    if m[h + at.DONE_S] < 0.0 and probe >= q[k + at.DONE_C] and m[h + at.SLAB + at.COLLAGEN] >= q[k + at.DONE_FEEL]:
        m[h + at.DONE_S] = m[h + at.COOKED_S]


def wrap_in(m, h, q, k, wrap):  # type: ignore[no-untyped-def]
    """Put a piece into a wrap, or out of it (BARE): the juice that stood in a foil runs off. Returns its heat, J."""
    heat = 0.0
    m[h + at.WRAP] = wrap
    m[h + at.WRAPPED_S] = 0.0
    if wrap != at.FOIL:
        for s in range(at.SECTIONS):
            o = h + at.SLAB + s * at.SLAB_SIZE
            r = k + at.Q_SLAB + s * at.SLAB_Q
            over = m[o + at.T0 + at.N] - q[r + at.RUN_OFF] * q[r + at.RAW] * q[r + at.DRY]
            if over > 0.0:
                m[o + at.T0 + at.N] -= over
                m[o + at.DRIPPED] += over * q[r + at.AREA]
                heat += over * q[r + at.AREA] * WATER_HEAT * m[o + at.T0]
    m[h + at.LOST_J] += heat
    return heat


def spritz(m, h, q, k, kg, t):  # type: ignore[no-untyped-def]
    """Spray kg of water at t C onto a piece, by surface; what does not stay runs off in the next step; its J."""
    total = 0.0
    for s in range(at.SECTIONS):
        total += q[k + at.Q_SLAB + s * at.SLAB_Q + at.AREA]
    for s in range(at.SECTIONS):
        r = k + at.Q_SLAB + s * at.SLAB_Q
        if q[r + at.AREA] > 0.0:
            o = h + at.SLAB + s * at.SLAB_SIZE + at.T0
            add = kg / total
            c = q[r + at.DRY] * q[r + at.DRY_HEAT] + m[o + at.N] * WATER_HEAT
            m[o] = (c * m[o] + add * WATER_HEAT * t) / (c + add * WATER_HEAT)
            m[o + at.N] += add
    return kg * WATER_HEAT * t


def cook(m, q, count, pits, rows, dt, plan, pressure, each, trace):  # type: ignore[no-untyped-def]
    """Cook `count` pieces, each in its own pit of `rows` steps of dt seconds (20 to 60), from the state they are in.

    m, q: the pieces behind each other, m is moved on. pits: pits of `rows` rows of SERIES, behind each other. plan:
    PLAN numbers a piece. trace: for each piece rows // each readings of its probe, C, one every `each` steps; after it
    has stopped, its last.
    """
    boil = boiling(pressure)
    readings = rows // each
    for i in range(count):
        h, k, p = i * at.SIZE, i * at.QSIZE, i * PLAN
        pit = int(plan[p + P_PIT]) * rows * SERIES
        m[h + at.ON] = 1.0
        row = 0
        while row < rows and (plan[p + P_STOP] == 0.0 or m[h + at.DONE_S] < 0.0):
            passed = m[h + at.COOKED_S]
            if passed >= plan[p + P_BARE_S]:
                if m[h + at.WRAP] != at.BARE:
                    wrap_in(m, h, q, k, at.BARE)
            elif passed >= plan[p + P_WRAP_S] and m[h + at.WRAP] != plan[p + P_WRAP]:
                wrap_in(m, h, q, k, plan[p + P_WRAP])
            now = pit + row * SERIES
            seen = pits[now + S_SEEN]
            link(m, h, q, k, seen)
            pv = vapour(pits[now + S_HUMIDITY], pressure)
            move(m, h, q, k, dt, pits[now + S_AIR], seen, 1.0, pv, pressure, boil)
            row += 1
            if row % each == 0:
                trace[i * readings + row // each - 1] = m[h + at.PROBE]
        for left in range(row // each, readings):
            trace[i * readings + left] = m[h + at.PROBE]

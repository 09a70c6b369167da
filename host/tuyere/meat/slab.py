"""One slab of meat moved on in time: heat, juice, drying surface, boiling. Plain arithmetic, for CPython and compilers.

Half a slab, heated alike from both faces, as nodes from the surface (0, a half cell) to the middle (a half cell).
Each has a temperature and water. Heat is conducted; juice that warm meat can no longer hold is pressed out to the
surface and carries its warmth along; water also diffuses to a drier surface. From there it evaporates as fast as the
air takes it through bark and wrap, and as the surface has it (falling rate); onto a surface below the dew point it
condenses. What boils leaves as steam. Nothing in here knows of a stall: it comes out of that balance.
Energies count from 0 C; water leaves with its own warmth.
"""

import math

from tuyere.meat import piece_slots as at
from tuyere.meat.water import MOST, R_VAPOUR, WATER_HEAT, latent, saturation, transfer

JUICE_FROM = 40.0  # C: below it meat gives no juice worth counting


def step(m, h, o, q, r, dt, heat, grip, wrap, cover, air, pv, pressure, boil):  # type: ignore[no-untyped-def]
    """Move the slab at o in m (constants at r in q, its piece's head at h) on by dt seconds, up to 60.

    heat: J that reach its surface if that keeps its temperature; grip: W/K by which the inflow falls as it warms (0
    where the heat is final). wrap, cover: the wrap and its resistance to vapour, 1 / (kg/m2s). air: C around; pv: its
    vapour, Pa; boil: where water boils, C. Adds to the losses of slab and head; returns the J taken in. Conduction,
    grip and evaporation are implicit; diffusion is not, which is what bounds dt.
    """
    n = int(q[r + at.NODES])
    area = q[r + at.AREA]
    spread = m[o + at.SPREAD]  # what is a m2 below is of raw surface: all that crosses it goes with the surface of now
    tt = o + at.T0
    ww = tt + n
    pivots, rights, warmths = ww + n, ww + 2 * n, ww + 3 * n
    dry = r + at.DRY
    gg = dry + n
    dd = gg + n
    dry_heat = q[r + at.DRY_HEAT]
    least, mid, width, fall = q[r + at.HOLD_LEAST], q[r + at.HOLD_MID], q[r + at.HOLD_WIDTH], q[r + at.HOLD_FALL]
    raw = q[r + at.RAW]
    part = 1.0 - math.exp(-dt / q[r + at.JUICE_S])
    # From the middle outwards: first the water, then this node's row of the conduction equations is eliminated.
    juice = 0.0  # on its way out, kg a m2
    seeped = 0.0  # come into this node by diffusion
    water = 0.0  # all in the nodes passed
    came, warm = 0.0, 0.0  # W/K of water come in from the node before, and that times its temperature
    below, share, rest = 0.0, 0.0, 0.0  # conductance to that node; of its row, how much counts, and its right side
    for i in range(n - 1, 0, -1):
        t = m[tt + i]
        w = m[ww + i]
        solid = q[dry + i]
        u = w / solid
        over = 0.0
        if t > JUICE_FROM:
            hold = least + (1.0 - least) / (1.0 + math.exp((t - mid) / width)) - fall * max(t - mid, 0.0)
            hold = raw * max(hold, 0.0)
            if u > hold:
                over = (u - hold) * solid * part
                juice += over
        seep = max(spread * q[dd + i - 1] * (u - m[ww + i - 1] / q[dry + i - 1]) * dt, 0.0)
        w += seeped - over - seep
        seeped = seep
        m[ww + i] = w
        water += w
        c = (solid * dry_heat + w * WATER_HEAT) / dt
        g = spread * q[gg + i - 1]
        rest = c * t + warm - came * t + share * rest
        pivot = c + below - below * share + g
        m[warmths + i], m[rights + i], m[pivots + i] = c, rest, pivot
        below = g
        share = g / pivot
        came = (juice + seeped) * WATER_HEAT / dt
        warm = came * t
    # The surface: juice arrives, some of it drips; in foil nothing does.
    t0 = m[tt]
    solid = q[dry]
    wet = m[ww] + juice + seeped
    most = solid * raw * q[r + at.RUN_OFF]
    drip = 0.0
    if wrap != at.FOIL:
        drip = max(juice * (q[r + at.DRIP] if wrap == at.BARE else q[r + at.SOAK]), wet - most)
        wet -= drip
    # Evaporation, linear in the surface's temperature and water at the end of the step.
    flux, by_t, by_w = 0.0, 0.0, 0.0
    hfg = latent(t0)
    if q[r + at.CONVECTION] > 0.0:
        pure = saturation(t0)
        dryer = math.exp(-wet / (solid * q[r + at.WETTED]))  # 1 less the water activity
        top = (1.0 - dryer) * pure
        through = transfer(q[r + at.CONVECTION], air, t0)
        through = spread * through / (1.0 + through * (cover + q[r + at.CRUST_R] * m[o + at.CRUST]))
        if top < MOST * pressure:
            k = t0 + 273.15
            by_t = through * top * hfg / (R_VAPOUR * k * k * (pressure - top))
            by_w = through * pure * dryer / (q[r + at.WETTED] * solid * (pressure - top))
        else:
            top = MOST * pressure
        flux = through * math.log((pressure - pv) / (pressure - top))
    damp = 1.0 / (1.0 + by_w * dt)
    flux *= damp
    by_t *= damp
    grip /= area
    c = (solid * dry_heat + wet * WATER_HEAT) / dt
    right = c * t0 + warm - came * t0 + share * rest + heat / (area * dt) + grip * t0
    pivot = c + below - below * share + grip
    t = (right - hfg * (flux - by_t * t0)) / (pivot + hfg * by_t)
    rate = flux + by_t * (t - t0)
    if rate * dt > wet:
        rate = wet / dt
        t = (right - hfg * rate) / pivot
    gone = rate * dt
    m[warmths] = c - rate * WATER_HEAT
    m[ww] = wet - gone
    m[tt] = t
    lost = drip * WATER_HEAT * t0 + gone * (hfg + WATER_HEAT * t)
    taken = heat - grip * area * dt * (t - t0)
    for i in range(1, n):
        t = (m[rights + i] + spread * q[gg + i - 1] * t) / m[pivots + i]
        m[tt + i] = t
    for i in range(n):  # nothing wet gets hotter than water boils
        t = m[tt + i]
        if t > boil and m[ww + i] > 0.0:
            heat_k = m[warmths + i] * dt
            steam = min(heat_k * (t - boil) / latent(boil), m[ww + i])
            off = steam * (latent(boil) + WATER_HEAT * boil)
            m[tt + i] = (heat_k * t - off) / (heat_k - steam * WATER_HEAT)
            m[ww + i] -= steam
            gone += steam
            lost += off
    dryness = max(1.0 - m[ww] / (solid * raw), 0.0)
    m[o + at.CRUST] += (dryness - m[o + at.CRUST]) * dt / (dt + q[r + at.CRUST_S])
    m[o + at.SPREAD] = 1.0 - q[r + at.SHRINK] * (1.0 - (water + min(m[ww], most)) / q[r + at.FULL])
    m[o + at.EVAPORATED] += gone * area
    m[o + at.DRIPPED] += drip * area
    m[h + at.RATE] += gone * area / dt
    m[h + at.LOST_J] += lost * area
    return taken

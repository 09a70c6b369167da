"""One time step of a slab of meat: heat, juice, drying surface, boiling. Plain arithmetic, for CPython and compilers.

The model is half a slab, because both faces are heated alike. Its nodes run from the surface (0, a half cell) to the
middle (a half cell). Each node has a temperature and water. Heat is conducted. Warm meat holds less juice; the rest is
pressed out to the surface and carries its heat along. Water also diffuses to a drier surface. There it evaporates as
fast as bark, wrap and air let it through and the surface supplies it (falling rate). Below the dew point it condenses
on the surface. Boiling water leaves as steam. The code has no term for the stall: the stall follows from this balance.
Energies count from 0 C; water that leaves takes its heat along.
"""

import math

from tuyere.meat import piece_slots as at
from tuyere.meat.heat import PHASE, SIDE, WARMTH, boil_off, eliminate, fold, phase_of, put_back, settle
from tuyere.meat.water import MOST, R_VAPOUR, WATER_HEAT, latent, saturation, transfer

JUICE_FROM = 40.0  # C: colder meat releases hardly any juice
PASSES = 20  # limit of solutions per step; a million steps in random pits needed at most 4, a few never settle
FAR = 1.0  # K; if the surface moves further in a step, its evaporation is linearised again
TANGENTS = 8  # limit of linearisations per solution


def evaporation(t, wet, dry_w, through, pv, pressure, dt):  # type: ignore[no-untyped-def]
    """Mean evaporation over dt seconds from a surface at t C with wet kg/m2 of water: (kg/m2s, its slope per K).

    The rate falls as the surface loses water during the step. It is negative for condensation. through: `transfer`
    through bark and wrap. dry_w: water at which the surface's activity is 1 - 1/e, kg/m2. pv, pressure: Pa.
    """
    dryer = math.exp(-wet / dry_w)  # 1 minus the water activity
    pure = saturation(t)
    top = min((1.0 - dryer) * pure, MOST * pressure)
    k = t + 273.15
    steep = through / (pressure - top)
    damp = 1.0 / (1.0 + steep * pure * dryer / dry_w * dt)
    flux = through * math.log((pressure - pv) / (pressure - top))
    return flux * damp, steep * top * latent(t) / (R_VAPOUR * k * k) * damp


def step(m, h, o, q, r, dt, heat, grip, wrap, cover, air, pv, pressure, boil):  # type: ignore[no-untyped-def]
    """Advance the slab at o in m (constants at r in q, head of its piece at h) by dt seconds, at most 60.

    heat: J that reach the surface if it keeps its temperature. grip: W/K by which that inflow falls as the surface
    warms; 0 for a fixed inflow. wrap, cover: the wrap and its resistance to vapour, 1 / (kg/m2s). air: temperature
    around it, C. pv: vapour pressure of the air, Pa. boil: boiling point of water, C. Adds to the losses of slab and
    head. Returns the heat taken in, J.

    Conduction, grip, evaporation, boiling and drying out are implicit. Diffusion is explicit and limits dt. Steps of
    20 s agree with steps of 2 s within 1.5 C in every node (800 random cooks in pits up to 250 C, dry and steamy) and
    within 0.3 C in 99 of 100. A node may dry out up to 3 min sooner or later. The first 10 min of a cold piece differ
    by up to 3 C. Steps of 60 s agree with steps of 5 s within 0.5 C at the probe in a pit of 121 C.
    """
    n = int(q[r + at.NODES])
    area = q[r + at.AREA]
    spread = m[o + at.SPREAD]  # quantities per m2 refer to the raw surface; flows scale with the present one
    tt = o + at.T0
    ww = tt + n
    dry = r + at.DRY
    gg = dry + n
    dd = gg + n
    dry_heat = q[r + at.DRY_HEAT]
    least, mid, width, fall = q[r + at.HOLD_LEAST], q[r + at.HOLD_MID], q[r + at.HOLD_WIDTH], q[r + at.HOLD_FALL]
    raw = q[r + at.RAW]
    part = 1.0 - math.exp(-dt / q[r + at.JUICE_S])
    # From the middle outwards: the water of each node, then its row of the conduction equations.
    juice = 0.0  # juice on its way out, kg per m2
    seeped = 0.0  # water that diffused into this node
    water = 0.0  # sum over the nodes so far
    below, right_below = 0.0, 0.0  # what the node before adds to this one's equation
    off = latent(boil)
    came, warm = 0.0, 0.0  # water from the node before, W/K, and the same times its temperature
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
        m[tt + WARMTH * n + i] = c
        m[tt + SIDE * n + i] = c * t + warm - came * t
        m[tt + PHASE * n + i] = phase_of(t, w, boil)
        below, right_below = fold(m, tt + i, n, spread * q[gg + i - 1], below, right_below, off / dt, boil)
        came = (juice + seeped) * WATER_HEAT / dt
        warm = came * t
    # The surface: juice arrives and part of it drips, but not in foil.
    t0 = m[tt]
    solid = q[dry]
    wet = m[ww] + juice + seeped
    most = solid * raw * q[r + at.RUN_OFF]
    drip = 0.0
    if wrap != at.FOIL:
        drip = max(juice * (q[r + at.DRIP] if wrap == at.BARE else q[r + at.SOAK]), wet - most)
        wet -= drip
    # Evaporation is linear in the surface temperature at the end of the step. Wet meat is never hotter than boiling.
    hfg = latent(t0)
    dry_w = solid * q[r + at.WETTED]
    through = 0.0
    if q[r + at.CONVECTION] > 0.0:
        through = transfer(q[r + at.CONVECTION], air, t0)
        through = spread * through / (1.0 + through * (cover + q[r + at.CRUST_R] * m[o + at.CRUST]))
    near = min(t0, boil)
    flux, by_t = evaporation(near, wet, dry_w, through, pv, pressure, dt)
    grip /= area
    c = (solid * dry_heat + wet * WATER_HEAT) / dt
    side = c * t0 + warm - came * t0 + heat / (area * dt) + grip * t0
    t, rate, steam, turn, hot = t0, 0.0, 0.0, hfg, False
    for again in range(PASSES, 0, -1):
        pivot, right = below + c + grip, right_below + side
        t = (right - hfg * (flux - by_t * near)) / (pivot + hfg * by_t)
        for _ in range(TANGENTS):  # a wet surface near boiling that meets dry air falls by tens of K
            if abs(min(t, boil) - near) < FAR:
                break
            near = min(t, boil)
            flux, by_t = evaporation(near, wet, dry_w, through, pv, pressure, dt)
            t = (right - hfg * (flux - by_t * near)) / (pivot + hfg * by_t)
        rate, steam, turn = flux + by_t * (t - near), 0.0, hfg
        if t > boil or rate * dt > wet:  # it boils, or loses all its water
            rate = min(flux + by_t * (boil - near), wet / dt)
            if rate < 0.0:  # water that condenses does so at boiling, and boils off again
                turn = off
            steam = wet / dt - rate
            t = (right - turn * rate - off * steam) / pivot
            if t < boil and steam > 0.0:
                t = boil
                steam = (right - turn * rate - pivot * boil) / off
        hot = put_back(m, o, q, r, t, boil)
        if not hot or settle(m, o, q, r, dt, boil):
            break
        if again > 1:  # after the last pass the row still holds the steam of each node, as `boil_off` needs it
            below, right_below = eliminate(m, o, q, r, dt, boil)
    gone = min((rate + steam) * dt, wet)
    m[ww] = wet - gone
    lost = drip * WATER_HEAT * t0 + (rate * turn + steam * off) * dt + gone * WATER_HEAT * t
    taken = heat - grip * area * dt * (t - t0)
    if hot:
        boiled, carried = boil_off(m, o, q, r, dt, boil)
        gone += boiled
        lost += carried
    dryness = max(1.0 - m[ww] / (solid * raw), 0.0)
    m[o + at.CRUST] += (dryness - m[o + at.CRUST]) * dt / (dt + q[r + at.CRUST_S])
    m[o + at.SPREAD] = 1.0 - q[r + at.SHRINK] * (1.0 - (water + min(m[ww], most)) / q[r + at.FULL])
    m[o + at.EVAPORATED] += gone * area
    m[o + at.DRIPPED] += drip * area
    m[h + at.RATE] += gone * area / dt
    m[h + at.LOST_J] += lost * area
    return taken

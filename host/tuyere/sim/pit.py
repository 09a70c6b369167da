"""The pit: air, fire, gas, walls and probe, moved on by short steps. One plain kernel.

Each step, causes first: how much air comes in (fan, leaks, stack
effect, wind); what it burns (limited by the air, and by how much coal is lit and hot); how
the bed warms and passes its heat on; the gas, exactly, with everything around it held still for the step; the
walls, implicitly; the lit mass, which grows where there is burning and dies slowly; the probe.
Every flow of heat is one number, taken from one side and given to the other, so the energy closes to rounding.
"""

import math

from tuyere.sim.pit_slots import (
    AIR_HALF,
    AIR_IN,
    AIR_SUM,
    AMBIENT,
    ASH,
    ASH_HALF,
    ASH_SHARE,
    BED,
    BED_AIR,
    BED_AREA,
    BED_FLOOR,
    BED_HALF,
    BED_J,
    BED_SHARE,
    BETWEEN_12,
    BETWEEN_23,
    BURN_SUM,
    BURN_W,
    COVER_HALF,
    DIE_S,
    DRAUGHT_PA,
    FAN,
    FAN_BEND,
    FAN_DEAD,
    FAN_FULL,
    GAS,
    GAS_SUM,
    GLOW,
    GLOW_S,
    HEAT_PER_AIR,
    HEIGHT,
    HIGH_M2,
    IN_J,
    INSIDE_H,
    LAYER_1,
    LAYER_2,
    LAYER_3,
    LIT,
    LOW_M2,
    MEAT_G,
    MEAT_GT,
    MEAT_R,
    MEAT_RAD_METAL,
    MEAT_RT,
    METAL,
    METAL_G,
    METAL_J,
    METAL_WALL,
    NOW,
    OPEN_BED,
    OPEN_FLOW,
    OPEN_UNTIL,
    OPEN_WALL,
    OUT_J,
    OUTSIDE_E,
    OUTSIDE_H,
    PAN,
    PAN_H,
    PAN_M2,
    PAN_SUM,
    PREHEAT,
    PROBE,
    PROBE_NEAR,
    PROBE_OFF,
    PROBE_RAD,
    PROBE_RAD_METAL,
    PROBE_S,
    RAD_SUM,
    REACH,
    REACT_C,
    REACT_W,
    REACTIVE,
    SHARE_METAL,
    SHARE_PAN,
    SPREAD,
    STOICH,
    STREAM_METAL,
    UNEVEN,
    UNLIT,
    UNLIT_HALF,
    USE_MOST,
    VOLUME_J,
    WALL_1,
    WALL_2,
    WALL_3,
    WALL_AREA,
    WIND,
    WIND_FACE,
    WIND_H,
)

CP_AIR = 1010.0  # J/kgK
SIGMA = 5.670374419e-8  # W/m2K4
DISCHARGE = 0.65  # of a plain opening; 0.65-0.70 in the stack-effect literature
STACK = 101325.0 * 9.80665 * 0.0289652 / 8.314462  # Pa K per m
RHO_K = 101325.0 * 0.0289652 / 8.314462  # density of air times its temperature, kg K/m3


def fourth(x: float) -> float:
    """x to the fourth by products: the same bits interpreted and compiled."""
    square = x * x
    return square * square


def stack_pa(height: float, outside: float, inside: float) -> float:
    """Draught of a column of `height` m: (rho_o - rho_i) g H in Pa, temperatures in C."""
    return STACK * height * (1.0 / (outside + 273.15) - 1.0 / (inside + 273.15))


def leak_in(dp: float, fan: float, low: float, high: float, outside: float, inside: float) -> float:
    """Air drawn in (negative: pushed out) through the low openings, kg/s.

    dp: draught in Pa over the height between low and high openings (areas in m2); fan: kg/s blown in besides.
    What goes in at the bottom leaves at the top; the pressure at the bottom settles so that this holds.
    """
    kl2 = 2.0 * RHO_K / (outside + 273.15) * (DISCHARGE * low) * (DISCHARGE * low)
    ku2 = 2.0 * RHO_K / (inside + 273.15) * (DISCHARGE * high) * (DISCHARGE * high)
    kl = math.sqrt(kl2)
    b = fan * kl
    c = fan * fan - ku2 * dp
    if c <= 0.0:
        a = kl2 + ku2
        return kl * (math.sqrt(b * b - a * c) - b) / a
    return -kl * c / (b + math.sqrt(ku2 * (fan * fan + kl2 * dp - ku2 * dp)))


def fan_air(u: float, full: float, dead: float, bend: float) -> float:
    """Air of the fan at drive u (0..1), kg/s: nothing up to the dead zone, then a bent line to `full`."""
    if u <= dead:
        return 0.0
    return full * ((u - dead) / (1.0 - dead)) ** bend


def run(s, p, dt, n):  # type: ignore[no-untyped-def]
    """Move the pit state s with constants p on by n steps of dt seconds, at the fan, weather and meat standing in s."""
    amb, wind = s[AMBIENT], s[WIND]
    opened = 1.0 if s[NOW] < s[OPEN_UNTIL] else 0.0
    choke = 1.0 / (1.0 + s[ASH] / p[ASH_HALF])
    fan = fan_air(s[FAN], p[FAN_FULL], p[FAN_DEAD], p[FAN_BEND]) * choke
    use_most = p[USE_MOST] * s[REACH] * (1.0 + s[UNEVEN])
    cover_half, air_half = p[COVER_HALF], p[AIR_HALF]
    glow_part = 1.0 - math.exp(-dt / p[GLOW_S])
    reactive, stoich, heat_per_air, share = p[REACTIVE], p[STOICH], p[HEAT_PER_AIR], p[BED_SHARE] * choke
    bed_j, metal_j, gas_j, metal_g, metal_wall = p[BED_J], p[METAL_J], p[VOLUME_J], p[METAL_G], p[METAL_WALL]
    area = p[WALL_AREA]
    to_metal, to_pan, to_deflector = p[SHARE_METAL], p[SHARE_PAN], p[STREAM_METAL]
    preheat = p[PREHEAT]
    inside = p[INSIDE_H] * area
    c1, c2, c3 = p[LAYER_1] * area, p[LAYER_2] * area, p[LAYER_3] * area
    k12, k23 = p[BETWEEN_12] * area * dt, p[BETWEEN_23] * area * dt
    outer_h = (p[OUTSIDE_H] + p[WIND_H] * wind) * area
    outer_e = p[OUTSIDE_E] * SIGMA * area
    amb_k4 = fourth(amb + 273.15)
    pan_k4 = fourth(s[PAN] + 273.15)
    pan_g, pan_t = p[PAN_H] * p[PAN_M2], s[PAN]
    meat_g, meat_gt, meat_r, meat_rt, mix = s[MEAT_G], s[MEAT_GT], s[MEAT_R], s[MEAT_RT], p[MEAT_RAD_METAL]
    probe_mix = p[PROBE_RAD_METAL]
    open_flow, open_wall, open_bed = p[OPEN_FLOW] * opened, p[OPEN_WALL] * opened * area, p[OPEN_BED] * opened
    gust = p[WIND_FACE] * 0.6 * wind * wind
    probe_part = 1.0 - math.exp(-dt / p[PROBE_S])
    probe_rad = p[PROBE_RAD]
    bed, metal, gas, w1, w2, w3, probe = s[BED], s[METAL], s[GAS], s[WALL_1], s[WALL_2], s[WALL_3], s[PROBE]
    lit, unlit, ash, glow = s[LIT], s[UNLIT], s[ASH], s[GLOW]
    in_j, out_j = 0.0, 0.0
    gas_sum, rad_sum, air_sum, burn_sum, pan_sum = 0.0, 0.0, 0.0, 0.0, 0.0
    dp, bed_air, air_in, burn_w = 0.0, 0.0, 0.0, 0.0
    for _ in range(n):
        # air
        dp = stack_pa(p[HEIGHT], amb, gas) + gust
        dp = max(dp, 0.02)
        leak = leak_in(dp, fan, p[LOW_M2], p[HIGH_M2], amb, gas)
        if leak > 0.0:
            bed_air = fan + share * leak + open_bed
            air_in = fan + leak + open_bed
        else:
            bed_air = fan + open_bed
            air_in = bed_air
        # fire: part of the air meets lit coal, the more the wider the fire; along the coal that glows it loses its
        # oxygen like a gas along a reacting wall. How much of the lit coal glows follows the air, in its own time.
        cover = use_most * lit / (lit + cover_half)
        sat = bed_air / (bed_air + air_half * lit + 1e-9)
        glow += (sat * lit - glow) * glow_part
        hot = 1.0 / (1.0 + math.exp((p[REACT_C] - bed) / p[REACT_W]))
        through = cover * bed_air
        x = reactive * glow / (through + 1e-9)
        used = through * (1.0 - math.exp(-x * hot))
        burn = used / stoich
        if burn * dt > 0.5 * lit:
            burn = 0.5 * lit / dt
            used = burn * stoich
        burn_w = used * heat_per_air
        in_j += burn_w * dt
        # bed: burning in; air and radiation out, linear over the step
        shine = p[BED_AREA] * (lit / (lit + p[BED_HALF]) + p[BED_FLOOR]) * SIGMA
        b_k = bed + 273.15
        m_k = metal + 273.15
        w_k = w1 + 273.15
        sink4 = to_metal * fourth(m_k) + (1.0 - to_metal - to_pan) * fourth(w_k) + to_pan * pan_k4
        radiated = shine * (fourth(b_k) - sink4)
        slope = 4.0 * shine * b_k * b_k * b_k
        blown = through * CP_AIR * (1.0 - math.exp(-x))  # heat is transferred like the oxygen (Reynolds' analogy)
        change = dt * (burn_w - blown * (bed - amb) - radiated) / (bed_j + dt * (blown + slope))
        to_gas = blown * (bed + change - amb)
        stream = to_deflector * to_gas
        # air that has passed no fire passes the hot grates and deflector on its way up
        picked = preheat * (air_in - through) * CP_AIR * (metal - amb)
        to_gas += picked - stream
        radiated = radiated + slope * change
        bed += change
        # gas: exact over the step with its surroundings held
        flow = air_in * CP_AIR + open_flow
        conduct = flow + inside + metal_g + pan_g + meat_g
        rest = (to_gas + flow * amb + inside * w1 + metal_g * metal + pan_g * pan_t + meat_gt) / conduct
        x = conduct * dt / gas_j
        decay = math.exp(-x)
        mean = rest + (gas - rest) * (1.0 - decay) / x
        gas = rest + (gas - rest) * decay
        out_j += flow * (mean - amb) * dt
        # what lies inside: deflector, grates
        seen = mix * metal + (1.0 - mix) * w1
        meat_rad = meat_r * seen - meat_rt
        cross = metal_wall * (metal - w1)
        old = metal
        warmed = to_metal * radiated + stream - picked - metal_g * (old - mean) - cross - mix * meat_rad
        metal += dt * warmed / metal_j
        pan_sum += (to_pan * radiated + pan_g * (mean - pan_t)) * dt
        # walls: the heat that reaches the inner face is known; conduction and the loss outside are implicit
        reach = (1.0 - to_metal - to_pan) * radiated + inside * (mean - w1) + cross - (1.0 - mix) * meat_rad
        spill = open_wall * (w1 - amb)
        o_k = w3 + 273.15
        o_slope = outer_h + 4.0 * outer_e * o_k * o_k * o_k
        o_loss = outer_h * (w3 - amb) + outer_e * (fourth(o_k) - amb_k4)
        a1 = c1 + k12
        r1 = c1 * w1 + dt * (reach - spill)
        a3 = c3 + k23 + dt * o_slope
        r3 = c3 * w3 + dt * (o_slope * w3 - o_loss)
        w2 = (c2 * w2 + k12 * r1 / a1 + k23 * r3 / a3) / (c2 + k12 + k23 - k12 * k12 / a1 - k23 * k23 / a3)
        w1 = (r1 + k12 * w2) / a1
        new = (r3 + k23 * w2) / a3
        out_j += dt * (spill + o_loss + o_slope * (new - w3))
        w3 = new
        # coal: what burns lights its neighbours; what gets no air goes out
        light = p[SPREAD] * burn * unlit / (unlit + p[UNLIT_HALF])
        after = (lit + dt * (light - burn)) / (1.0 + dt / p[DIE_S])
        unlit += lit - after - dt * burn
        lit = after
        ash += burn * p[ASH_SHARE] * dt
        around = probe_mix * metal + (1.0 - probe_mix) * w1
        probe += ((1.0 - probe_rad) * mean + probe_rad * around - probe) * probe_part
        gas_sum += mean * dt
        rad_sum += seen * dt
        air_sum += air_in * dt
        burn_sum += burn * dt
    s[BED], s[METAL], s[GAS], s[WALL_1], s[WALL_2], s[WALL_3] = bed, metal, gas, w1, w2, w3
    # a fallen probe, with its own time constant: near the cold foot of the pit, on the meat or in the pan
    if s[PROBE_OFF] > 0.0:
        near = s[PROBE_NEAR] if s[PROBE_NEAR] > 0.0 else amb
        probe = s[PROBE] + (near + s[PROBE_OFF] * (gas - near) - s[PROBE]) * (1.0 - math.exp(-dt * n / p[PROBE_S]))
    s[PROBE] = probe
    s[LIT], s[UNLIT], s[ASH], s[GLOW] = lit, unlit, ash, glow
    s[IN_J] += in_j
    s[OUT_J] += out_j
    s[GAS_SUM] += gas_sum
    s[RAD_SUM] += rad_sum
    s[AIR_SUM] += air_sum
    s[BURN_SUM] += burn_sum
    s[PAN_SUM] += pan_sum
    s[AIR_IN], s[BED_AIR], s[BURN_W], s[DRAUGHT_PA] = air_in, bed_air, burn_w, dp
    s[NOW] += dt * n

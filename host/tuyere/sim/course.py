"""The course of a cook: weather, events, meat and pan around the pit's kernel.

`advance` moves everything on by any number of seconds. Plain functions on flat sequences, like `pit.run`:
s state, p constants, m and q the pieces (PIECES of them), e events, w weather; see `slots`.
"""

import math

from tuyere.meat import piece_slots as piece
from tuyere.meat.cooking import link, move, spritz, stored, wrap_in
from tuyere.meat.water import WATER_HEAT, latent, vapour, wet_flux
from tuyere.sim.pit import CP_AIR, run
from tuyere.sim.pit_slots import (
    AIR_PA,
    AIR_SUM,
    AMBIENT,
    AMBIENT_W,
    ARRIVAL_C,
    ARRIVED,
    ASH,
    ASH_KNOCK,
    BED,
    BED_J,
    BOILS,
    BRIDGE,
    BRIDGE_S,
    BRIDGE_TO,
    BURN_SUM,
    DUE,
    E_A,
    E_AT,
    E_B,
    E_CLOCK,
    E_DONE,
    E_KIND,
    EVENT,
    FAULTS,
    FELT,
    GAS,
    GAS_SUM,
    HIGH_M2,
    HUMIDITY,
    IN_J,
    LATER,
    LAYER_1,
    LAYER_2,
    LAYER_3,
    LEAK,
    LIT,
    LOOK_AT,
    LOOK_S,
    LOW_M2,
    MEAT_AFTER,
    MEAT_G,
    MEAT_GT,
    MEAT_ON,
    MEAT_OPEN,
    MEAT_OUT,
    MEAT_R,
    MEAT_RAD_METAL,
    MEAT_RT,
    MEAT_TOLD,
    MEAT_WAIT,
    METAL,
    METAL_J,
    NOISE_C,
    NOISE_SEED,
    NOW,
    OPEN_FLOW,
    OPEN_UNTIL,
    OPENING,
    OPENINGS,
    OUT_J,
    OUT_OPEN,
    PAN,
    PAN_FILL,
    PAN_H,
    PAN_J,
    PAN_KG,
    PAN_M2,
    PAN_RATE,
    PAN_SUM,
    PIECES,
    PROBE,
    PROBE_FALLS,
    PROBE_FAULT,
    PROBE_NEAR,
    PROBE_OFF,
    QUANTUM,
    RAD_SUM,
    REACH,
    READING,
    REFUEL,
    SETTLING,
    SLOW,
    SPRITZ,
    SUBSTEP,
    TOLD,
    UNEVEN,
    UNLIT,
    VAPOUR_RATE,
    VOLUME_J,
    W_AMBIENT,
    W_UNEVEN,
    W_WIND,
    WALL_1,
    WALL_2,
    WALL_3,
    WALL_AREA,
    WEATHER,
    WEATHER_S,
    WIND,
    WRAPPING,
)

NEARLY = 3.0  # K below its target at which a tender piece comes out together with another
CHUNK = 2.0  # s between two looks at weather and noise
FUEL_WATER = 0.325  # kg of water made by burning a kg of lump (H .03 and .055 of moisture)


def open_lid(s, seconds, told):  # type: ignore[no-untyped-def]
    """The lid goes up now for `seconds`."""
    s[OPEN_UNTIL] = s[NOW] + seconds
    s[OPENINGS] += 1.0
    if told > 0.0:
        s[TOLD] = 1.0


def happen(s, p, m, q, kind, a, b):  # type: ignore[no-untyped-def]
    """Let one event of the script happen; kinds and their numbers are in `slots`."""
    if kind == OPENING:
        open_lid(s, a, b)
    elif kind == WRAPPING:
        for i in range(PIECES):
            if m[i * piece.SIZE + piece.ON] > 0.0 and (b == 0.0 or b == i + 1.0):
                s[OUT_J] += wrap_in(m, i * piece.SIZE, q, i * piece.QSIZE, a)
        meat_links(s, p, m, q)
    elif kind == SPRITZ:
        for i in range(PIECES):
            if m[i * piece.SIZE + piece.ON] > 0.0 and m[i * piece.SIZE + piece.WRAP] == piece.BARE:
                s[IN_J] += spritz(m, i * piece.SIZE, q, i * piece.QSIZE, a, s[AMBIENT])
        meat_links(s, p, m, q)
    elif kind == REFUEL:
        s[LIT] += a * b
        s[UNLIT] += a * (1.0 - b)
    elif kind == BRIDGE:  # the coal burns out below an arch and the air passes by
        s[BRIDGE_S] = b
        s[BRIDGE_TO] = 1.0 - a
    elif kind == SETTLING:
        fallen = a if a < s[UNLIT] else s[UNLIT]
        s[REACH] = s[BRIDGE_TO] = 1.0
        s[LIT] += fallen
        s[UNLIT] -= fallen
    elif kind == PROBE_FALLS:
        s[PROBE_OFF] = a
        s[PROBE_NEAR] = b
    elif kind == PROBE_FAULT:
        s[FAULTS] = a
    elif kind == PAN_FILL:
        fresh = WATER_HEAT * a * s[AMBIENT]
        s[IN_J] += fresh
        before = p[PAN_J] + WATER_HEAT * s[PAN_KG]
        s[PAN_KG] += a
        s[PAN] = (before * s[PAN] + fresh) / (p[PAN_J] + WATER_HEAT * s[PAN_KG])
    elif kind == ASH_KNOCK:
        s[ASH] = s[ASH] * (1.0 - a)
    elif kind == MEAT_OUT:
        for i in range(PIECES):
            if a == 0.0 or a == i + 1.0:
                take_out(s, m, q, i)
        meat_links(s, p, m, q)
    elif kind == LEAK:
        p[LOW_M2] += a * 1e-4
        p[HIGH_M2] += b * 1e-4


def meat_on(s, p, m, q):  # type: ignore[no-untyped-def]
    """The first pieces go in, by one opening."""
    s[MEAT_ON] = s[NOW]
    put_on(s, p, m, q)
    open_lid(s, p[MEAT_OPEN], p[MEAT_TOLD])


def put_on(s, p, m, q):  # type: ignore[no-untyped-def]
    """The pieces whose time has come go in; how many."""
    count = 0
    for i in range(PIECES):
        h = i * piece.SIZE
        fresh = m[h + piece.ON] == 0.0 and m[h + piece.COOKED_S] == 0.0
        if fresh and q[i * piece.QSIZE + piece.Q_SLAB + piece.AREA] > 0.0 and s[NOW] >= s[MEAT_ON] + p[LATER + i]:
            m[h + piece.ON] = 1.0
            s[IN_J] += stored(m, h, q, i * piece.QSIZE)
            count += 1
    if count > 0:
        meat_links(s, p, m, q)
    return count


def take_out(s, m, q, i):  # type: ignore[no-untyped-def]
    """Piece i comes out, if it is in."""
    if m[i * piece.SIZE + piece.ON] > 0.0:
        m[i * piece.SIZE + piece.ON] = 0.0
        s[OUT_J] += stored(m, i * piece.SIZE, q, i * piece.QSIZE)


def felt(s, p, m, i):  # type: ignore[no-untyped-def]
    """Whether piece i is in and somebody feels it by now."""
    return m[i * piece.SIZE + piece.ON] > 0.0 and s[NOW] >= s[MEAT_ON] + p[FELT + i]


def done_out(s, p, m, q):  # type: ignore[no-untyped-def]
    """The cook takes out what is felt and done, by one opening, and with it what is tender and nearly there."""
    some = 0.0
    for i in range(PIECES):
        if felt(s, p, m, i) and m[i * piece.SIZE + piece.DONE_S] >= 0.0:
            some = 1.0
    if some > 0.0:
        for i in range(PIECES):
            if not felt(s, p, m, i):
                continue
            h, k = i * piece.SIZE, i * piece.QSIZE
            tender = m[h + piece.SLAB + piece.COLLAGEN] >= q[k + piece.DONE_FEEL]
            if m[h + piece.DONE_S] >= 0.0 or (tender and m[h + piece.PROBE] >= q[k + piece.DONE_C] - NEARLY):
                take_out(s, m, q, i)
                if m[h + piece.DONE_S] < 0.0:
                    m[h + piece.DONE_S] = m[h + piece.COOKED_S]
        open_lid(s, p[OUT_OPEN], p[MEAT_TOLD])
        meat_links(s, p, m, q)


def meat_links(s, p, m, q):  # type: ignore[no-untyped-def]
    """Set how strongly the pieces exchange heat with the gas and with what they see, from their surfaces now."""
    g, gt, r, rt, rate = 0.0, 0.0, 0.0, 0.0, 0.0
    seen = p[MEAT_RAD_METAL] * s[METAL] + (1.0 - p[MEAT_RAD_METAL]) * s[WALL_1]
    for i in range(PIECES):
        h = i * piece.SIZE
        if m[h + piece.ON] > 0.0:
            link(m, h, q, i * piece.QSIZE, seen)
            for j in range(piece.SECTIONS):
                o = h + piece.SLAB + j * piece.SLAB_SIZE
                t = m[o + piece.T0]
                g += m[o + piece.LINK_G]
                gt += m[o + piece.LINK_G] * t
                r += m[o + piece.LINK_R]
                rt += m[o + piece.LINK_R] * t
            rate += m[h + piece.RATE]
    s[MEAT_G], s[MEAT_GT], s[MEAT_R], s[MEAT_RT], s[VAPOUR_RATE] = g, gt, r, rt, rate


def pan(s, p, dt, gas, pv):  # type: ignore[no-untyped-def]
    """The water pan over dt seconds in which it took PAN_SUM J: warms, evaporates, boils, runs dry."""
    t, kg = s[PAN], s[PAN_KG]
    c = p[PAN_J] + WATER_HEAT * kg
    heat = s[PAN_SUM]
    gone = 0.0
    if kg > 0.0:
        hfg = latent(t)
        e0 = p[PAN_M2] * wet_flux(p[PAN_H], gas, t, 1.0, pv, p[AIR_PA])
        e1 = p[PAN_M2] * wet_flux(p[PAN_H], gas, t + 0.5, 1.0, pv, p[AIR_PA])
        slope = 2.0 * (e1 - e0)
        new = t + (heat - dt * e0 * hfg) / (c + dt * slope * hfg)
        gone = dt * (e0 + slope * (new - t))
        if new > p[BOILS]:  # all other heat makes steam
            new = p[BOILS]
            gone = (heat - c * (new - t)) / hfg
        if gone < 0.0 or gone > kg:
            gone = 0.0 if gone < 0.0 else kg
            new = t + (heat - gone * hfg) / c
        s[OUT_J] += gone * (hfg + WATER_HEAT * new)
        s[PAN_KG] = kg - gone
    else:
        new = t + heat / c
    s[PAN] = new
    s[PAN_RATE] = gone / dt


def slow(s, p, m, q):  # type: ignore[no-untyped-def]
    """The slow part, over the DUE seconds since the last one: meat, pan, the air's water, the bridge in the coal."""
    dt = s[DUE]
    gas = s[GAS_SUM] / dt
    pv = vapour(s[HUMIDITY], p[AIR_PA])
    if s[MEAT_G] > 0.0:  # each piece takes what its links let through since the last slow part
        seen = s[RAD_SUM] / dt
        for i in range(PIECES):
            h = i * piece.SIZE
            if m[h + piece.ON] > 0.0:
                before = m[h + piece.LOST_J]
                move(m, h, q, i * piece.QSIZE, dt, gas, seen, 0.0, pv, p[AIR_PA], p[BOILS])
                s[OUT_J] += m[h + piece.LOST_J] - before
        meat_links(s, p, m, q)
    if p[PAN_M2] > 0.0:
        pan(s, p, dt, gas, pv)
    flow = s[AIR_SUM] / dt + 1e-6
    if s[NOW] < s[OPEN_UNTIL]:
        flow += p[OPEN_FLOW] / CP_AIR
    rest = p[AMBIENT_W] + (s[VAPOUR_RATE] + s[PAN_RATE] + FUEL_WATER * s[BURN_SUM] / dt) / flow
    s[HUMIDITY] = rest + (s[HUMIDITY] - rest) * math.exp(-flow * dt * CP_AIR / p[VOLUME_J])
    if s[REACH] != s[BRIDGE_TO]:
        s[REACH] += (s[BRIDGE_TO] - s[REACH]) * (1.0 - math.exp(-dt / s[BRIDGE_S]))
    s[DUE], s[GAS_SUM], s[RAD_SUM], s[AIR_SUM], s[BURN_SUM], s[PAN_SUM] = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0


def script(s, p, m, q, e):  # type: ignore[no-untyped-def]
    """Let the events that are due happen. The first meat goes on at its hour or a while after the first arrival,
    whichever is later; what has its own time, by an opening of its own."""
    now = s[NOW]
    if s[ARRIVED] < 0.0 and s[PROBE] >= p[ARRIVAL_C]:
        s[ARRIVED] = now
    on = s[MEAT_ON]
    if on < 0.0 and s[ARRIVED] >= 0.0 and now >= p[MEAT_AFTER] and now >= s[ARRIVED] + p[MEAT_WAIT]:
        meat_on(s, p, m, q)
        on = now
    elif on >= 0.0 and put_on(s, p, m, q) > 0:
        open_lid(s, p[MEAT_OPEN], p[MEAT_TOLD])
    if p[OUT_OPEN] > 0.0:
        done_out(s, p, m, q)
    for i in range(0, len(e), EVENT):
        if e[i + E_DONE] == 0.0:
            at = e[i + E_AT]
            if e[i + E_CLOCK] > 0.0:
                if on < 0.0:
                    continue
                at += on
            if now >= at:
                e[i + E_DONE] = 1.0
                happen(s, p, m, q, e[i + E_KIND], e[i + E_A], e[i + E_B])


def read(s, p):  # type: ignore[no-untyped-def]
    """The probe's reading: the sheath's temperature with noise, in the converter's steps."""
    seed = int(s[NOISE_SEED])
    total = 0.0
    for _ in range(4):
        seed = (seed * 16807) % 2147483647  # Lehmer, in whole numbers: the same everywhere
        total += seed / 2147483647.0
    s[NOISE_SEED] = float(seed)
    noisy = s[PROBE] + (total - 2.0) * 1.7320508 * p[NOISE_C]
    s[READING] = math.floor(noisy / p[QUANTUM] + 0.5) * p[QUANTUM]


def advance(s, p, m, q, e, w, seconds):  # type: ignore[no-untyped-def]
    """Move the whole cook on by `seconds` with the fan standing in s[FAN]; then take a reading."""
    left = seconds
    rows = len(w) // WEATHER - 1
    while left > 1e-9:
        chunk = CHUNK if left > CHUNK else left
        row = int(s[NOW] / WEATHER_S)
        row = min(row, rows)
        row *= WEATHER
        s[AMBIENT], s[WIND], s[UNEVEN] = w[row + W_AMBIENT], w[row + W_WIND], w[row + W_UNEVEN]
        n = math.ceil(chunk / p[SUBSTEP] - 1e-9)
        run(s, p, chunk / n, n)
        s[DUE] += chunk
        left -= chunk
        if s[DUE] >= p[SLOW] - 1e-6:
            slow(s, p, m, q)
        if s[NOW] >= s[LOOK_AT] - 1e-6:
            s[LOOK_AT] = s[NOW] + LOOK_S
            if s[DUE] > 0.0:  # the slow part must be done before an event changes the pieces
                slow(s, p, m, q)
            script(s, p, m, q, e)
    read(s, p)


def account(s, p, m, q):  # type: ignore[no-untyped-def]
    """Heat that stands in pit and meat above 0 C, J. What went in less what went out must change it as much."""
    heat = p[BED_J] * s[BED] + p[METAL_J] * s[METAL] + p[VOLUME_J] * s[GAS]
    heat += p[WALL_AREA] * (p[LAYER_1] * s[WALL_1] + p[LAYER_2] * s[WALL_2] + p[LAYER_3] * s[WALL_3])
    heat += (p[PAN_J] + WATER_HEAT * s[PAN_KG]) * s[PAN]
    for i in range(PIECES):
        if m[i * piece.SIZE + piece.ON] > 0.0:
            heat += stored(m, i * piece.SIZE, q, i * piece.QSIZE)
    return heat

"""The conduction equations of a slab for one step, with nodes that boil. Plain arithmetic, for CPython and compilers.

Water keeps a node at boiling until all of it has evaporated. A node therefore ends a step in one of three phases:
below boiling or without water (UNDER), at boiling (BOILING), or dried out in this step (DRIED). Within a phase the
node's equation is linear. The equations are solved with the phases of the start. They are solved again while a node
leaves its phase. A boiling node therefore never looks hotter than boiling to its neighbours, however long the step is.

Scratch rows follow the water of a slab (`piece_slots`), one number per node: PIVOT and RIGHT (the eliminated
equation), WARMTH (heat capacity per time step, W/K per m2), SIDE (right side before elimination), PHASE.
"""

from tuyere.meat import piece_slots as at
from tuyere.meat.water import WATER_HEAT, latent

PIVOT, RIGHT, WARMTH, SIDE, PHASE = 2, 3, 4, 5, 6  # rows; 0 and 1 are temperature and water
UNDER, BOILING, DRIED = 0.0, 1.0, 2.0
NEAR = 1e-9  # K; a node this close to boiling counts as boiling


def phase_of(t, w, boil):  # type: ignore[no-untyped-def]
    """The phase in which a node at t C with w kg of water starts a step."""
    if w <= 0.0 or t < boil - NEAR:
        return UNDER
    return BOILING if t < boil + NEAR else DRIED


def fold(m, row, n, g, below, right_below, steam_j, boil):  # type: ignore[no-untyped-def]
    """Eliminate the node whose temperature is m[row]. Returns what it adds to the next node out: (pivot, right side).

    g: conductance to that node, W/K per m2. below, right_below: what the node further in added to this one.
    """
    phase = m[row + PHASE * n]
    if phase == BOILING:
        return g, g * boil
    pivot = m[row + WARMTH * n] + below + g
    right = m[row + SIDE * n] + right_below
    if phase == DRIED:
        right -= steam_j * m[row + n]
    m[row + PIVOT * n], m[row + RIGHT * n] = pivot, right
    share = g / pivot
    return g - g * share, share * right


def eliminate(m, o, q, r, dt, boil):  # type: ignore[no-untyped-def]
    """Eliminate the inner nodes from the middle outwards. Returns what they add to the surface, as `fold` does."""
    n = int(q[r + at.NODES])
    spread, steam_j = m[o + at.SPREAD], latent(boil) / dt
    below, right = 0.0, 0.0
    for i in range(n - 1, 0, -1):
        g = spread * q[r + at.DRY + n + i - 1]
        below, right = fold(m, o + at.T0 + i, n, g, below, right, steam_j, boil)
    return below, right


def put_back(m, o, q, r, t, boil):  # type: ignore[no-untyped-def]
    """Set all temperatures, starting from the surface at t C. True if any inner node is above boiling or not UNDER."""
    n = int(q[r + at.NODES])
    tt, gg = o + at.T0, r + at.DRY + n
    spread = m[o + at.SPREAD]
    hot = False
    m[tt] = t
    for i in range(1, n):
        phase = m[tt + PHASE * n + i]
        if phase == BOILING:
            t = boil
        else:
            t = (m[tt + RIGHT * n + i] + spread * q[gg + i - 1] * t) / m[tt + PIVOT * n + i]
        m[tt + i] = t
        hot = hot or phase != UNDER or t > boil
    return hot


def settle(m, o, q, r, dt, boil):  # type: ignore[no-untyped-def]
    """Write each node's steam (kg per m2) to RIGHT and move nodes that left their phase. True if no node left it."""
    n = int(q[r + at.NODES])
    tt, gg = o + at.T0, r + at.DRY + n
    spread, steam_j = m[o + at.SPREAD], latent(boil) / dt
    settled = True
    for i in range(1, n):
        t, w, phase = m[tt + i], m[tt + n + i], m[tt + PHASE * n + i]
        found, steam = phase, 0.0
        if phase == BOILING:
            heat = m[tt + SIDE * n + i] - m[tt + WARMTH * n + i] * boil
            heat += spread * q[gg + i - 1] * (m[tt + i - 1] - boil)
            if i < n - 1:
                heat += spread * q[gg + i] * (m[tt + i + 1] - boil)
            steam = heat / steam_j
            if steam < 0.0:
                found = UNDER
            elif steam > w:
                found = DRIED
        elif phase == DRIED:
            steam = w
            if t < boil - NEAR:
                found = BOILING
        elif t > boil + NEAR and w > 0.0:
            found = BOILING
        m[tt + RIGHT * n + i] = steam
        if found != phase:
            m[tt + PHASE * n + i] = found
            settled = False
    return settled


def boil_off(m, o, q, r, dt, boil):  # type: ignore[no-untyped-def]
    """Remove the steam found by `settle` from the inner nodes. Returns (kg, J) per m2.

    If the phases did not settle, a node gives off what brings it to boiling, as far as its water goes. Energy and water
    are conserved in both cases.
    """
    n = int(q[r + at.NODES])
    tt, off = o + at.T0, latent(boil)
    gone, lost = 0.0, 0.0
    for i in range(1, n):
        warmth = m[tt + WARMTH * n + i] * dt
        t = m[tt + i] + m[tt + RIGHT * n + i] * off / warmth  # its temperature if no water had boiled
        steam = min(max(warmth * (t - boil) / off, 0.0), m[tt + n + i])
        t -= steam * off / warmth
        m[tt + i] = t
        m[tt + n + i] -= steam
        gone += steam
        lost += steam * (off + WATER_HEAT * t)
    return gone, lost

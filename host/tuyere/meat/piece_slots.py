"""Where each number of a piece of meat stands in its flat sequences: what changes in `m`, what does not in `q`.

A piece is a head and SECTIONS slabs (flat and point; a cut of one part leaves the second empty). A slab is a head
and rows of n numbers, one for each node from the surface (0) to the middle (n - 1). Flat floats, so that one kernel
serves CPython and compilers alike. Units: C, kg, s, W, J, m, Pa unless said; "a m2" is of a slab's surface.
"""

N = 9  # nodes of a slab that is cooked; tests take others
SECTIONS = 2  # flat and point

# -- m: a piece's head ------------------------------------------------------------------
(
    ON, WRAP, WRAPPED_S, PROBE, RATE, LOST_J, COOKED_S, JUDGE_S, PLATEAU_S, BEFORE, COME_UP_S, SURFACE_S, CENTRE_S,
    DONE_S,
) = range(14)  # fmt: skip
# ON 1 in the pit; WRAP one of BARE, PAPER, FOIL; WRAPPED_S since then; PROBE what its probe stands in, C;
# RATE kg/s that evaporate; LOST_J carried off by water; COOKED_S in the pit; JUDGE_S since the last look of `judge`,
# BEFORE the probe then; PLATEAU_S of slow rise; COME_UP_S when the coldest middle passed 54.4 C; SURFACE_S, CENTRE_S
# between 4 and 60 C; DONE_S when it was done. Times from its going on; COME_UP_S and DONE_S are -1 until then.
BARE, PAPER, FOIL = 0.0, 1.0, 2.0
SLAB = DONE_S + 1  # the first slab

# -- m: a slab's head, and rows of n ----------------------------------------------------
LINK_G, LINK_R, SPREAD, EVAPORATED, DRIPPED, CRUST, COLLAGEN, LETHAL = range(8)
# W/K by convection and by radiation; surface now, of what it was raw; kg; kg; bark, 0..1; share of the middle's
# collagen that has dissolved; times over that the middle has had the table's 6.5-log heat
T0 = LETHAL + 1  # then water, kg a m2; then five rows of scratch
ROWS = 7

# -- q: a piece's head ------------------------------------------------------------------
PROBE_IN, PROBE_LOW, PROBE_SHARE, DONE_C, DONE_FEEL = range(5)
# the section the probe is in; the node outside of its tip; how far on to the next, 0..1; done at so many C with so
# much of the collagen dissolved
Q_SLAB = DONE_FEEL + 1

# -- q: a slab's head, and rows of n ----------------------------------------------------
(
    NODES, AREA, CONVECTION, EMISSIVITY, FOIL_E, GAP_H, PAPER_R, GREASED_R, GREASE_S, FOIL_R,
    CRUST_R, CRUST_S, WETTED, DRIP, SOAK, JUICE_S, HOLD_LEAST, HOLD_MID, HOLD_WIDTH, HOLD_FALL, DRY_HEAT, RAW,
    RUN_OFF, FULL, SHRINK,
) = range(25)  # fmt: skip
DRY = SHRINK + 1  # dry matter, kg a m2; then conductance to the next node, W/K a m2; then water's, kg/s a m2
Q_ROWS = 3


def slab_size(n: int) -> int:
    """Numbers of a slab in m."""
    return T0 + ROWS * n


def slab_constants(n: int) -> int:
    """Numbers of a slab in q."""
    return DRY + Q_ROWS * n


SLAB_SIZE = T0 + ROWS * N
SLAB_Q = DRY + Q_ROWS * N
SIZE = SLAB + SECTIONS * SLAB_SIZE
QSIZE = Q_SLAB + SECTIONS * SLAB_Q

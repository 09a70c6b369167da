"""The layout of a piece of meat in two flat sequences: `m` holds what changes, `q` holds constants.

A piece is a head and SECTIONS slabs (flat and point; a cut of one part leaves the second empty). A slab is a head
and rows of n numbers, one per node from the surface (0) to the middle (n - 1). The sequences are flat floats, so that
CPython and compilers run the same kernel. Units are C, kg, s, W, J, m, Pa unless stated; "per m2" means of a slab's
raw surface.
"""

N = 9  # nodes of a slab in a cook; tests use other numbers
SECTIONS = 2  # flat and point

# -- m: a piece's head ------------------------------------------------------------------
(
    ON, WRAP, WRAPPED_S, PROBE, RATE, LOST_J, COOKED_S, JUDGE_S, PLATEAU_S, BEFORE, COME_UP_S, SURFACE_S, CENTRE_S,
    DONE_S,
) = range(14)  # fmt: skip
# ON: 1 in the pit. WRAP: BARE, PAPER or FOIL. WRAPPED_S: time since the wrap. PROBE: temperature at its probe, C.
# RATE: evaporation, kg/s. LOST_J: heat carried off by water. COOKED_S: time in the pit. JUDGE_S: time since `judge`
# last ran; BEFORE: the probe at that time. PLATEAU_S: time of slow rise. COME_UP_S: when its coldest middle passed
# 54.4 C.
# SURFACE_S, CENTRE_S: time between 4 and 60 C. DONE_S: when the piece was done. COME_UP_S and DONE_S count from the
# time the piece went on, and are -1 before they happen.
BARE, PAPER, FOIL = 0.0, 1.0, 2.0
SLAB = DONE_S + 1  # the first slab

# -- m: a slab's head, and rows of n ----------------------------------------------------
LINK_G, LINK_R, SPREAD, EVAPORATED, DRIPPED, CRUST, COLLAGEN, LETHAL = range(8)
# LINK_G, LINK_R: W/K by convection and by radiation. SPREAD: present surface as a share of the raw one. EVAPORATED,
# DRIPPED: kg. CRUST: bark, 0..1. COLLAGEN: share dissolved in the middle. LETHAL: heat of the middle as a multiple of
# the table's 6.5 logs
T0 = LETHAL + 1  # temperatures; water, kg per m2, follows; then five rows of scratch
ROWS = 7

# -- q: a piece's head ------------------------------------------------------------------
PROBE_IN, PROBE_LOW, PROBE_SHARE, DONE_C, DONE_FEEL = range(5)
# PROBE_IN: the section that holds the probe. PROBE_LOW: the node outside of its tip. PROBE_SHARE: share of the way to
# the next node, 0..1. DONE_C, DONE_FEEL: target of the probe, C, and of the dissolved collagen, share
Q_SLAB = DONE_FEEL + 1

# -- q: a slab's head, and rows of n ----------------------------------------------------
(
    NODES, AREA, CONVECTION, EMISSIVITY, FOIL_E, GAP_H, PAPER_R, GREASED_R, GREASE_S, FOIL_R,
    CRUST_R, CRUST_S, WETTED, DRIP, SOAK, JUICE_S, HOLD_LEAST, HOLD_MID, HOLD_WIDTH, HOLD_FALL, DRY_HEAT, RAW,
    RUN_OFF, FULL, SHRINK,
) = range(25)  # fmt: skip
DRY = SHRINK + 1  # dry matter, kg per m2; conductance to the next node, W/K per m2, and for water, kg/s per m2, follow
Q_ROWS = 3


def slab_size(n: int) -> int:
    """How many numbers of m a slab of n nodes takes."""
    return T0 + ROWS * n


def slab_constants(n: int) -> int:
    """How many numbers of q a slab of n nodes takes."""
    return DRY + Q_ROWS * n


SLAB_SIZE = T0 + ROWS * N
SLAB_Q = DRY + Q_ROWS * N
SIZE = SLAB + SECTIONS * SLAB_SIZE
QSIZE = Q_SLAB + SECTIONS * SLAB_Q

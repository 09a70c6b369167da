"""A firebox beside a chamber, blown by a real fan: it must be spun up, gives way to back pressure, and has a flap.

The wheel starts at one duty and stops at a lower one, and takes seconds to turn. Its pressure falls with the flow; a
bed that fills with ash pushes back harder. A flap opens at a pressure and shuts at a lower one, and lets little by.
What is alight grows like a population that lives on the air, slowly when small, and shrinks in its own time. What it
makes warms the firebox first; the chamber gets what flows over.
"""

from math import sqrt

from strangers.places import X_AIR, X_BREATH, X_FUEL, X_IN, X_OUT, X_OWN

WHEEL, FLAP, ALIGHT, BOX, BOX_WALL, WALL, RACK, ASHES = range(X_OWN, X_OWN + 8)
SIZE = ASHES + 1
(
    START, STOP, SPIN_S, REST_PA, DROOPS, BED_PA, CHAMBER_PA, FLAP_OPENS, FLAP_SHUTS, SEEP, ASH_HALF, ASH_SHARE,
    USE, GROWS_S, SHRINKS_S, EMBER, MIXES_S, SHARE_WALL, GLOW_J, BOX_W, BOX_J, BOX_OUT, ROUND, WALL_W, WALL_J,
    WALL_OUT, WIND_OUT, HITS, RACK_W, RACK_J, BOX_TO_WALL, SHINES, LID_W, LID_AIR,
    RUSHES,
) = range(35)  # fmt: skip
DEAD = START


def wheel(x, c, duty):
    """Turn the wheel for a second."""
    turns = x[WHEEL] > 0.02
    goes = duty >= c[STOP] if turns else duty >= c[START]
    aim = duty if goes else 0.0
    x[WHEEL] += (aim - x[WHEEL]) * (1.0 if c[SPIN_S] < 1.0 else 1.0 / c[SPIN_S])
    if aim == 0.0 and x[WHEEL] < 0.02:
        x[WHEEL] = 0.0


def blown(x, c, amb, wind):
    """Air through flap and bed, kg/s: where the fan's falling curve meets the bed's rising one."""
    push = c[REST_PA] * x[WHEEL] * x[WHEEL]
    if push > c[FLAP_OPENS]:
        x[FLAP] = 1.0
    elif push < c[FLAP_SHUTS]:
        x[FLAP] = 0.0
    clog = 1.0 + x[ASHES] / c[ASH_HALF]
    resists = c[BED_PA] * clog * clog + c[CHAMBER_PA]  # Pa at 1 g/s
    pull = 0.0011 * max(0.0, x[X_AIR] - amb) * 9.81 * 0.6 + 0.01 * wind * wind
    seeps = c[SEEP] * sqrt(pull) / clog
    if x[FLAP] < 0.5:
        return seeps
    return max(seeps, 1e-3 * sqrt((push + pull) / (resists + c[DROOPS])))


def step(x, c, duty, extra, amb, wind, lid, g, t):
    """One second. duty 0..1; extra kg/s of air; lid 0 or 1; g W/K and t C of the meat's surface."""
    wheel(x, c, duty)
    breath = blown(x, c, amb, wind) + extra + c[LID_AIR] * lid
    # the fire: it burns what air it gets up to what is alight; that grows like a population and shrinks slowly
    feeds = c[USE] * breath / (1.0 + breath / c[RUSHES]) * x[X_FUEL] / (x[X_FUEL] + 0.3)
    alight = x[ALIGHT]
    if feeds > alight:
        alight += alight * (1.0 - alight / feeds) / c[GROWS_S]
    else:
        alight -= (alight - feeds) / c[SHRINKS_S]
    alight = max(alight, c[EMBER])
    burns = min(alight, feeds)
    made = burns * 3.0e6
    # the glow in the firebox, which outlasts the air; then the chamber's gas: in balance, mixed within MIXES_S
    box, box_wall, wall, rack = x[BOX], x[BOX_WALL], x[WALL], x[RACK]
    in_box = breath * 1010.0
    over = in_box + c[ROUND]  # what blows over, and what goes round by itself
    into_wall = c[SHARE_WALL] * made
    warms = made - into_wall + in_box * amb + c[ROUND] * x[X_AIR] + c[BOX_W] * box_wall - (over + c[BOX_W]) * box
    lid_w = c[LID_W] * lid
    hits = c[HITS] * over * (box - rack)  # the stream meets rack and baffle first
    holds = over + lid_w + c[WALL_W] + c[RACK_W] + g
    gas = (over * box - hits + lid_w * amb + c[WALL_W] * wall + c[RACK_W] * rack + g * t) / holds
    # the round trip uses the mixed gas: book the difference, so that no heat is lost
    owed = c[ROUND] * (gas - x[X_AIR])
    k0 = amb + 273.15
    kb, kw = box_wall + 273.15, wall + 273.15
    bridge = c[BOX_TO_WALL] * (box_wall - wall)
    out_box = c[BOX_OUT] * (1.0 + c[WIND_OUT] * wind) * (box_wall - amb) + 0.3 * c[SHINES] * (
        kb * kb * kb * kb - k0 * k0 * k0 * k0
    )
    out_wall = c[WALL_OUT] * (1.0 + c[WIND_OUT] * wind) * (wall - amb) + c[SHINES] * (
        kw * kw * kw * kw - k0 * k0 * k0 * k0
    )
    x[BOX_WALL] = box_wall + (into_wall + c[BOX_W] * (box - box_wall) - bridge - out_box) / c[BOX_J]
    x[WALL] = wall + (c[WALL_W] * (gas - wall) + bridge - out_wall + owed) / c[WALL_J]
    x[RACK] = rack + (hits + c[RACK_W] * (gas - rack)) / c[RACK_J]
    x[X_AIR] += (gas - x[X_AIR]) / c[MIXES_S]
    x[BOX] = box + warms / c[GLOW_J]
    x[ALIGHT] = alight
    x[X_IN] += made
    x[X_OUT] += out_box + out_wall + in_box * (gas - amb) + lid_w * (gas - amb) + g * (gas - t)
    x[X_BREATH] += breath
    x[X_FUEL] = max(0.0, x[X_FUEL] - burns / 9.6)
    x[ASHES] += burns / 9.6 * c[ASH_SHARE]


def draw(r):
    """One cooker: its constants, from a `random.Random`."""
    c = [0.0] * 35
    c[START] = r.uniform(0.06, 0.14)
    c[STOP], c[SPIN_S] = c[START] * r.uniform(0.4, 0.8), r.uniform(1.0, 4.0)
    c[REST_PA], c[DROOPS] = r.uniform(80.0, 240.0), r.uniform(2.0, 8.0)
    c[BED_PA], c[CHAMBER_PA] = r.uniform(1.0, 8.0), r.uniform(0.5, 2.0)
    c[FLAP_OPENS] = c[REST_PA] * c[START] ** 2 * r.uniform(0.5, 1.5)
    c[FLAP_SHUTS], c[SEEP] = c[FLAP_OPENS] * r.uniform(0.3, 0.8), r.uniform(0.00004, 0.00022)
    c[ASH_HALF], c[ASH_SHARE] = r.uniform(0.6, 2.0), r.uniform(0.02, 0.12)
    c[USE], c[GROWS_S], c[SHRINKS_S] = r.uniform(0.6, 0.95), r.uniform(120.0, 450.0), r.uniform(1200.0, 5000.0)
    c[EMBER] = r.uniform(4e-6, 1.5e-5)
    c[RUSHES] = r.uniform(0.005, 0.015)  # kg/s at which half the air rushes by
    c[MIXES_S], c[SHARE_WALL] = r.uniform(20.0, 80.0), r.uniform(0.25, 0.45)
    c[GLOW_J] = r.uniform(1500.0, 5000.0)
    c[BOX_W], c[BOX_J], c[BOX_OUT] = r.uniform(3.0, 8.0), r.uniform(6e3, 16e3), r.uniform(1.5, 3.5)
    c[ROUND], c[WALL_W], c[WALL_J] = r.uniform(3.0, 7.0), r.uniform(9.0, 20.0), r.uniform(5e3, 20e3)
    c[WALL_OUT], c[WIND_OUT], c[RACK_W] = r.uniform(3.0, 6.5), r.uniform(0.03, 0.15), r.uniform(6.0, 15.0)
    c[HITS] = r.uniform(0.3, 0.75)
    c[RACK_J], c[BOX_TO_WALL], c[SHINES] = r.uniform(1.5e3, 10e3), r.uniform(1.0, 4.0), r.uniform(3e-8, 7e-8)
    c[LID_W], c[LID_AIR] = r.uniform(12.0, 40.0), r.uniform(0.0, 0.0008)
    return c


def nasty(c, r):
    """Makes one of the family's awkward cookers of it."""
    which = r.randrange(3)
    if which == 0:
        c[ASH_HALF], c[ASH_SHARE] = 0.3, 0.18  # an ash that closes
    elif which == 1:
        c[START], c[STOP] = 0.18, 0.15
        c[FLAP_OPENS] = c[REST_PA] * 0.05  # opens at a fifth of the duty, and then it is much
    else:
        c[GROWS_S], c[SHRINKS_S], c[WALL_J] = c[GROWS_S] * 1.6, 400.0, c[WALL_J] * 0.6


def light(c, amb, fuel):
    """Its state when lit: cold, with a small fire."""
    x = [amb] * SIZE
    x[X_IN] = x[X_OUT] = x[X_BREATH] = x[WHEEL] = x[FLAP] = x[ASHES] = 0.0
    x[X_FUEL], x[ALIGHT] = fuel, 0.00012
    return x


def stored(x, c):
    """Heat in it, J, above 0 C."""
    return x[BOX] * c[GLOW_J] + x[BOX_WALL] * c[BOX_J] + x[WALL] * c[WALL_J] + x[RACK] * c[RACK_J]


def scale_fan(c, times):
    """A fan of so many times the air: its pressure grows with the square."""
    c[REST_PA] *= times * times
    c[FLAP_OPENS] *= times * times
    c[FLAP_SHUTS] *= times * times


def full_air(c):
    """Air of the full fan, kg/s, through a clean bed."""
    return 1e-3 * sqrt(c[REST_PA] / (c[BED_PA] + c[CHAMBER_PA] + c[DROOPS]))

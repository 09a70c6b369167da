"""A thin, leaky pit in gusts: wind blows through its cracks, feeds the fire or holds the fan's air back.

A front of burning coal widens and narrows, quicker than it dies; what it makes comes out through hot embers, a little
later. The walls are two thin skins with a gap that the wind blows through. Wind comes from one side: on some cookers
a gust feeds the fire, on others it stands against the mouth of the fan.
"""

from math import sqrt

from strangers.places import X_AIR, X_BREATH, X_FUEL, X_IN, X_OUT, X_OWN

FRONT, EMBERS, INNER, OUTER, PLATE = range(X_OWN, X_OWN + 5)
SIZE = PLATE + 1
(
    FULL, DEAD, CURVE, CRACKS, DRAUGHT, FACING, AGAINST, USE, HALF_AIR, WIDENS_S, NARROWS_S, EMBER_S, SHARE_PLATE,
    PLATE_J, PLATE_W, TO_INNER, INNER_J, OUTER_J, GAP_W, GAP_WIND, OUT_W, OUT_WIND, OUT_SHINE,
    THROUGH_WIND, GAS_S, LID_W, LID_AIR, RUSHES,
) = range(28)  # fmt: skip


def step(x, c, duty, extra, amb, wind, lid, g, t):
    """One second. duty 0..1; extra kg/s of air; lid 0 or 1; g W/K and t C of the meat's surface."""
    gas, inner, outer, plate = x[X_AIR], x[INNER], x[OUTER], x[PLATE]
    share = max(0.0, duty - c[DEAD]) / (1.0 - c[DEAD])
    fan = c[FULL] * (share + c[CURVE] * share * (1.0 - share))
    fan *= max(0.2, 1.0 - c[AGAINST] * wind * wind)
    moves = c[DRAUGHT] * max(0.0, gas - amb) * 0.01 + c[FACING] * wind * wind  # Pa, may suck the other way
    leak = c[CRACKS] * sqrt(moves) if moves > 0.0 else -0.5 * c[CRACKS] * sqrt(-moves)
    breath = max(0.1 * fan, fan + leak) + extra + c[LID_AIR] * lid
    # the front heads for what the air lets it be
    aim = breath / (breath + c[HALF_AIR])
    front = x[FRONT]
    front += (aim - front) / (c[WIDENS_S] if aim > front else c[NARROWS_S])
    used = c[USE] / (1.0 + breath / c[RUSHES]) * front / (front + 0.15) * 1.15 * x[X_FUEL] / (x[X_FUEL] + 0.25)
    made = breath * used * 3.0e6
    embers = x[EMBERS]  # J held in them
    given = embers / c[EMBER_S]
    x[EMBERS] = embers + made - given
    shone = c[SHARE_PLATE] * given
    # cracks let wind through the chamber as well
    through = breath * 1010.0 + c[THROUGH_WIND] * wind
    lid_w = c[LID_W] * lid
    holds = through + lid_w + c[PLATE_W] + c[TO_INNER] + g
    balanced = (given - shone + (through + lid_w) * amb + c[PLATE_W] * plate + c[TO_INNER] * inner + g * t) / holds
    x[PLATE] = plate + (shone + c[PLATE_W] * (balanced - plate)) / c[PLATE_J]
    over = (c[GAP_W] + c[GAP_WIND] * wind) * (inner - outer)
    k, k0 = outer + 273.15, amb + 273.15
    lost = (c[OUT_W] + c[OUT_WIND] * wind) * (outer - amb) + c[OUT_SHINE] * (k * k * k * k - k0 * k0 * k0 * k0)
    x[INNER] = inner + (c[TO_INNER] * (balanced - inner) - over) / c[INNER_J]
    x[OUTER] = outer + (over - lost) / c[OUTER_J]
    x[X_AIR] = gas + (balanced - gas) / c[GAS_S]
    x[FRONT] = front
    x[X_IN] += made
    x[X_OUT] += lost + (through + lid_w) * (balanced - amb) + g * (balanced - t)
    x[X_BREATH] += breath
    x[X_FUEL] = max(0.0, x[X_FUEL] - breath * used / 9.2)


def draw(r):
    """One cooker: its constants, from a `random.Random`."""
    c = [0.0] * 28
    c[FULL], c[DEAD], c[CURVE] = r.uniform(0.0010, 0.0020), r.uniform(0.02, 0.10), r.uniform(-0.4, 0.5)
    c[CRACKS], c[DRAUGHT] = r.uniform(0.00005, 0.00014), r.uniform(0.6, 1.6)
    c[FACING] = r.choice((-1.0, 1.0, 1.0)) * r.uniform(0.005, 0.06)
    c[AGAINST] = r.uniform(0.0, 0.012)
    c[USE], c[HALF_AIR] = r.uniform(0.6, 0.85), r.uniform(0.0002, 0.0006)
    c[WIDENS_S], c[NARROWS_S], c[EMBER_S] = r.uniform(100.0, 320.0), r.uniform(300.0, 1300.0), r.uniform(80.0, 280.0)
    c[SHARE_PLATE], c[PLATE_J], c[PLATE_W] = r.uniform(0.45, 0.7), r.uniform(2.5e3, 8.0e3), r.uniform(7.0, 15.0)
    c[RUSHES] = r.uniform(0.002, 0.006)  # kg/s at which half the air rushes by
    area = r.uniform(1.0, 1.8)
    c[TO_INNER] = area * r.uniform(9.0, 15.0)
    c[INNER_J], c[OUTER_J] = area * r.uniform(2.5e3, 5.5e3), area * r.uniform(2.5e3, 5.5e3)
    c[GAP_W], c[GAP_WIND] = area * r.uniform(5.0, 9.0), area * r.uniform(0.1, 0.8)
    c[OUT_W], c[OUT_WIND] = area * r.uniform(3.0, 5.0), area * r.uniform(1.0, 2.5)
    c[OUT_SHINE] = area * r.uniform(3.5e-8, 5e-8)
    c[THROUGH_WIND], c[GAS_S] = r.uniform(0.0, 0.35), r.uniform(5.0, 15.0)
    c[LID_W], c[LID_AIR] = r.uniform(12.0, 35.0), r.uniform(0.0002, 0.0012)
    return c


def nasty(c, r):
    """Makes one of the family's awkward cookers of it."""
    which = r.randrange(3)
    if which == 0:
        c[CRACKS], c[FACING] = c[CRACKS] * 1.6, 0.08  # every gust feeds it
    elif which == 1:
        c[AGAINST], c[FACING], c[THROUGH_WIND] = 0.03, -0.05, 0.6  # every gust chokes and cools it
    else:
        c[WIDENS_S], c[EMBER_S], c[FULL] = 60.0, 40.0, c[FULL] * 1.4  # nervous


def light(c, amb, fuel):
    """Its state when lit: cold, with a small fire."""
    x = [amb] * SIZE
    x[X_IN] = x[X_OUT] = x[X_BREATH] = x[EMBERS] = 0.0
    x[X_FUEL], x[FRONT] = fuel, 0.08
    return x


def stored(x, c):
    """Heat in it, J, above 0 C."""
    return x[EMBERS] + x[INNER] * c[INNER_J] + x[OUTER] * c[OUTER_J] + x[PLATE] * c[PLATE_J]


def scale_fan(c, times):
    """A fan of so many times the air."""
    c[FULL] *= times


def full_air(c):
    """Air of the full fan, kg/s."""
    return c[FULL]

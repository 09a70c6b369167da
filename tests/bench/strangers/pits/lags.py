"""A dead time and two lags: what a person sees who knows nothing of fires and writes down what the fan does.

The fan's air becomes heat after a dead time and through a lag that is slower downwards; one lump takes the heat up and
loses it by a straight and a radiating part. An open lid takes air from above the lump, quickly, and lets it come back.
"""

from math import sqrt

from strangers.places import X_AIR, X_BREATH, X_FUEL, X_IN, X_OUT, X_OWN

LUMP, HEAT, DROP, HEAD, LINE = range(X_OWN, X_OWN + 5)
LONGEST = 180  # s, of the dead time
COASTS_C = 60.0
SIZE = LINE + LONGEST
(
    FULL, DEAD, BEND, IDLE, HEAT_PER_AIR, DELAY, UP_S, DOWN_S, LUMP_J, LOSS, WIND_LOSS, SHINE, DEPTH, DROP_S, BACK_S,
    LID_W, LID_AIR, LOW_FUEL,
) = range(18)  # fmt: skip


def step(x, c, duty, extra, amb, wind, lid, g, t):
    """One second. duty 0..1; extra kg/s of air; lid 0 or 1; g W/K and t C of the meat's surface."""
    lump, heat = x[LUMP], x[HEAT]
    fan = c[FULL] * ((duty - c[DEAD]) / (1.0 - c[DEAD])) ** c[BEND] if duty > c[DEAD] else 0.0
    breath = fan + extra + c[LID_AIR] * lid + c[IDLE] * sqrt(max(0.0, lump - amb) * 0.01)
    asked = breath * c[HEAT_PER_AIR] * x[X_FUEL] / (x[X_FUEL] + c[LOW_FUEL])
    head = int(x[HEAD])
    x[LINE + head] = asked
    head = head + 1 if head + 1 < int(c[DELAY]) else 0
    x[HEAD] = head
    asked = x[LINE + head]
    heat += (asked - heat) / (c[UP_S] if asked > heat else c[DOWN_S])
    k, k0 = lump + 273.15, amb + 273.15
    gone = (c[LOSS] + c[WIND_LOSS] * wind + c[LID_W] * lid) * (lump - amb) + c[SHINE] * (
        k * k * k * k - k0 * k0 * k0 * k0
    )
    gone += g * (lump - x[DROP] - t)
    lump += (heat - gone) / c[LUMP_J]
    aim = lid * c[DEPTH] * (lump - amb)
    x[DROP] += (aim - x[DROP]) / (c[DROP_S] if aim > x[DROP] else c[BACK_S])
    x[LUMP], x[HEAT] = lump, heat
    x[X_AIR] = lump - x[DROP]
    x[X_IN] += heat
    x[X_OUT] += gone
    x[X_BREATH] += breath
    x[X_FUEL] = max(0.0, x[X_FUEL] - heat / 28.5e6)


def draw(r):
    """One cooker: its constants, from a `random.Random`."""
    c = [0.0] * 18
    steel = r.random() < 0.6
    c[FULL], c[DEAD], c[BEND] = r.uniform(0.0012, 0.0036), r.uniform(0.02, 0.10), r.uniform(0.8, 1.4)
    c[IDLE] = r.uniform(0.00001, 0.00010)
    c[HEAT_PER_AIR] = 3.0e6 * r.uniform(0.55, 0.90)
    c[DELAY] = float(int(r.uniform(5.0, 70.0)))
    c[UP_S] = r.uniform(30.0, 220.0)
    c[DOWN_S] = c[UP_S] * r.uniform(1.0, 2.0)
    c[LUMP_J] = r.uniform(6.5e3, 26e3) if steel else r.uniform(26e3, 60e3)
    c[LOSS] = r.uniform(4.5, 8.0) if steel else r.uniform(3.0, 5.5)
    c[WIND_LOSS], c[SHINE] = c[LOSS] * r.uniform(0.02, 0.10), r.uniform(1.0e-8, 2.4e-8)
    c[DEPTH], c[DROP_S], c[BACK_S] = r.uniform(0.25, 0.6), r.uniform(12.0, 35.0), r.uniform(30.0, 110.0)
    c[LID_W], c[LID_AIR] = c[LOSS] * r.uniform(0.3, 1.5), r.uniform(0.0, 0.0006)
    c[LOW_FUEL] = r.uniform(0.05, 0.3)
    bound(c)
    return c


def bound(c):
    """No more fan than it stands: the heat on its way when the fan stops lifts the lump by COASTS_C at most."""
    on_its_way = c[HEAT_PER_AIR] * (c[DELAY] + 0.7 * c[DOWN_S]) / c[LUMP_J]
    c[FULL] = min(c[FULL], COASTS_C / on_its_way)


def nasty(c, r):
    """Makes one of the family's awkward cookers of it."""
    which = r.randrange(3)
    if which == 0:
        c[DELAY], c[LUMP_J] = r.uniform(70.0, 110.0), c[LUMP_J] * 0.9
    elif which == 1:
        c[DOWN_S] = max(c[DOWN_S], r.uniform(240.0, 360.0))  # hot coals for minutes
    else:
        c[LUMP_J], c[UP_S], c[DOWN_S] = r.uniform(6e3, 9e3), r.uniform(20.0, 40.0), r.uniform(30.0, 70.0)
    bound(c)


def light(c, amb, fuel):
    """Its state when lit: cold, with a small fire."""
    x = [0.0] * SIZE
    x[X_AIR] = x[LUMP] = amb
    x[X_FUEL] = fuel
    for i in range(X_OWN + 4, SIZE):
        x[i] = 150.0
    x[HEAT] = 150.0
    return x


def stored(x, c):
    """Heat in it, J."""
    return x[LUMP] * c[LUMP_J]


def scale_fan(c, times):
    """A fan of so many times the air."""
    c[FULL] *= times


def full_air(c):
    """Air of the full fan, kg/s."""
    return c[FULL]

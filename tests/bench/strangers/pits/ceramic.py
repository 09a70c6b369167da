"""Heavy radiating walls: a dome and a foot of many layers, and coals that shine at them.

The coals' own temperature decides: oxygen reaches them through a boundary layer and reacts at a rate of Arrhenius,
two resistances in a row; hot coals light their neighbours, those below a dull red go out. They shine at a stone plate
and at the dome. Dome and foot are slabs of LAYERS, warmed over hours. The fan's pressure keeps the leaks' air out.
"""

from math import exp, sqrt

from strangers.places import X_AIR, X_BREATH, X_FUEL, X_IN, X_OUT, X_OWN

LAYERS = 6
COALS, FACE, STONE, DOME, FOOT = X_OWN, X_OWN + 1, X_OWN + 2, X_OWN + 3, X_OWN + 3 + LAYERS
SIZE = FOOT + LAYERS
(
    FULL, DEAD, LEAK, BLOCKS, HEIGHT, MOST, FILM, RATE, WARM_C, SPREAD_S, CHOKE_S, FACE_MOST, COALS_J, COALS_M2,
    TO_STONE, CATCHES,
    STONE_J, STONE_W, GAS_S, DOME_M2, FOOT_M2, INSIDE, LAYER_J, ACROSS, BLANKET, OUT_H, OUT_WIND, OUT_E,
    LID_W, LID_AIR, LID_DOME,
) = range(31)  # fmt: skip
SIGMA = 5.670374419e-8


def wall(x, first, c, area, taken, amb, wind):
    """One second of a slab of LAYERS whose inner face takes `taken` W; returns what it loses outside, W."""
    across = c[ACROSS] * area
    mass = c[LAYER_J] * area
    down = taken
    for i in range(LAYERS - 1):
        here = first + i
        gap = across if i < LAYERS - 2 else across * c[BLANKET] / (across / area + c[BLANKET])
        flow = gap * (x[here] - x[here + 1])
        x[here] += (down - flow) / mass
        down = flow
    last = first + LAYERS - 1
    k, k0 = x[last] + 273.15, amb + 273.15
    lost = area * (
        (c[OUT_H] + c[OUT_WIND] * wind) * (x[last] - amb) + c[OUT_E] * SIGMA * (k * k * k * k - k0 * k0 * k0 * k0)
    )
    x[last] += (down - lost) / mass
    return lost


def step(x, c, duty, extra, amb, wind, lid, g, t):
    """One second. duty 0..1; extra kg/s of air; lid 0 or 1; g W/K and t C of the meat's surface."""
    gas, coals, face, stone = x[X_AIR], x[COALS], x[FACE], x[STONE]
    fan = c[FULL] * max(0.0, duty - c[DEAD]) / (1.0 - c[DEAD])
    rise = max(0.0, gas - amb)
    draught = 0.0342 * 101325.0 * c[HEIGHT] * rise / ((amb + 273.15) * (gas + 273.15)) + 0.02 * wind * wind
    leak = c[LEAK] * sqrt(max(0.0, draught - c[BLOCKS] * fan * fan * 1e6))
    breath = fan + leak + extra + c[LID_AIR] * lid
    k = coals + 273.15
    reacts = c[RATE] * exp(-9000.0 / k)
    meets = 1.0 / (1.0 / c[FILM] + 1.0 / (reacts + 1e-12))  # kg of air a second and m2 of glowing face
    used = c[MOST] * (1.0 - exp(-meets * face / (breath + 1e-9)))
    left = x[X_FUEL] / (x[X_FUEL] + 0.2)
    used *= left
    burnt = breath * used / 9.7
    made = breath * used * 3.0e6
    # the glowing face spreads in the heat and shrinks without
    hot = (coals - c[WARM_C]) / 200.0
    face += face * (
        min(hot, 1.0) / c[SPREAD_S] * (1.0 - face / c[FACE_MOST]) if hot > 0.0 else max(hot, -1.0) / c[CHOKE_S]
    )
    face = min(max(face, 0.03 * c[FACE_MOST]), c[FACE_MOST])
    # coals: what they make goes into the passing air, to the stone and to the dome
    touches = 1.0 - exp(-c[FILM] * face / (breath + 1e-9))  # heat takes the way of the oxygen through the film
    blown = breath * 1010.0 * touches * (coals - amb)
    caught = c[CATCHES] * blown
    s, d = stone + 273.15, x[DOME] + 273.15
    shine = SIGMA * c[COALS_M2] * (0.3 + 0.7 * face / c[FACE_MOST])
    at_stone = c[TO_STONE] * shine * (k * k * k * k - s * s * s * s)
    at_dome = (1.0 - c[TO_STONE]) * shine * (k * k * k * k - d * d * d * d)
    coals += (made - blown - at_stone - at_dome) / c[COALS_J]
    # gas: in balance with all it touches, mixed within GAS_S
    through = breath * 1010.0
    lid_w = c[LID_W] * lid
    dome_w, foot_w = c[INSIDE] * c[DOME_M2], c[INSIDE] * c[FOOT_M2]
    holds = through + lid_w + c[STONE_W] + dome_w + foot_w + g
    warm = blown - caught + (through + lid_w) * amb + c[STONE_W] * stone + dome_w * x[DOME] + foot_w * x[FOOT] + g * t
    aim = warm / holds
    gas += (aim - gas) / c[GAS_S]
    cross = 4.0 * SIGMA * 0.15 * s * s * s * (stone - x[DOME])  # the stone shines at the dome, too
    x[STONE] = stone + (at_stone + caught + c[STONE_W] * (aim - stone) - cross) / c[STONE_J]
    spill = c[LID_DOME] * lid * (x[DOME] - amb)
    lost = wall(x, DOME, c, c[DOME_M2], at_dome + cross + dome_w * (aim - x[DOME]) - spill, amb, wind)
    lost += wall(x, FOOT, c, c[FOOT_M2], foot_w * (aim - x[FOOT]), amb, wind)
    x[X_AIR], x[COALS], x[FACE] = gas, coals, face
    x[X_IN] += made
    x[X_OUT] += lost + spill + (through + lid_w) * (aim - amb) + g * (aim - t)
    x[X_BREATH] += breath
    x[X_FUEL] = max(0.0, x[X_FUEL] - burnt)


def draw(r):
    """One cooker: its constants, from a `random.Random`."""
    c = [0.0] * 31
    c[FULL], c[DEAD], c[LEAK] = r.uniform(0.0013, 0.0028), r.uniform(0.02, 0.10), r.uniform(0.00002, 0.00008)
    c[BLOCKS], c[HEIGHT], c[MOST] = r.uniform(0.2, 2.0), r.uniform(0.35, 0.65), r.uniform(0.75, 0.95)
    c[FILM], c[RATE], c[WARM_C] = r.uniform(0.007, 0.018), r.uniform(400.0, 1200.0), r.uniform(300.0, 370.0)
    c[SPREAD_S], c[CHOKE_S], c[FACE_MOST] = r.uniform(120.0, 700.0), r.uniform(800.0, 4000.0), r.uniform(0.15, 0.40)
    c[COALS_J], c[COALS_M2], c[TO_STONE] = r.uniform(1000.0, 3000.0), r.uniform(0.008, 0.022), r.uniform(0.3, 0.6)
    c[STONE_J], c[STONE_W], c[GAS_S] = r.uniform(2.5e3, 8e3), r.uniform(6.0, 14.0), r.uniform(8.0, 30.0)
    c[CATCHES] = r.uniform(0.35, 0.75)
    c[DOME_M2], c[FOOT_M2], c[INSIDE] = r.uniform(0.45, 0.80), r.uniform(0.40, 0.70), r.uniform(6.0, 11.0)
    thick = r.uniform(0.018, 0.032)
    c[LAYER_J], c[ACROSS] = thick / LAYERS * 2100.0 * 900.0, r.uniform(0.9, 1.5) / (thick / LAYERS)
    c[BLANKET] = r.uniform(8.0, 20.0) if r.random() < 0.3 else 1e6
    c[OUT_H], c[OUT_WIND], c[OUT_E] = r.uniform(3.0, 5.0), r.uniform(1.0, 2.5), r.uniform(0.80, 0.93)
    c[LID_W], c[LID_AIR], c[LID_DOME] = r.uniform(10.0, 28.0), r.uniform(0.0002, 0.0012), r.uniform(0.5, 2.5)
    return c


def nasty(c, r):
    """Makes one of the family's awkward cookers of it."""
    which = r.randrange(3)
    if which == 0:
        c[LAYER_J], c[STONE_J] = c[LAYER_J] * 1.9, 12e3  # slow, heavy walls
    elif which == 1:
        c[SPREAD_S], c[CHOKE_S] = 120.0, 500.0
    else:
        c[FULL], c[LEAK] = 0.0011, c[LEAK] * 0.5  # a fan that hardly does


def light(c, amb, fuel):
    """Its state when lit: cold, with a small fire."""
    x = [amb] * SIZE
    x[X_IN] = x[X_OUT] = x[X_BREATH] = 0.0
    x[X_FUEL] = fuel
    x[COALS], x[FACE] = 750.0, 0.15 * c[FACE_MOST]
    return x


def stored(x, c):
    """Heat in it, J, above 0 C."""
    walls = sum(x[DOME + i] * c[DOME_M2] + x[FOOT + i] * c[FOOT_M2] for i in range(LAYERS))
    return x[COALS] * c[COALS_J] + x[STONE] * c[STONE_J] + walls * c[LAYER_J]


def scale_fan(c, times):
    """A fan of so many times the air."""
    c[FULL] *= times


def full_air(c):
    """Air of the full fan, kg/s."""
    return c[FULL]

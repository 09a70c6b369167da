"""A bed that draught and fan together feed, through one and the same inlet; what glows of it grows and dies.

The fan's pressure and the draught add up in front of one opening, so the air goes with their square root, and a warm
pit breathes without a fan. How much oxygen is used goes with how deep the glowing bed is for that air. Every kg burnt
lights more than a kg while there is air for it; what lacks air goes out. One skin of steel, a shield over the coals, a
water pan, no gas mass.
"""

from math import exp, sqrt

from strangers.places import X_AIR, X_BREATH, X_FUEL, X_IN, X_OUT, X_OWN

SKIN, SHIELD, PAN, PAN_KG, GLOWING, ASHES, COALS = range(X_OWN, X_OWN + 7)
SIZE = COALS + 1
(
    HEIGHT, INLET, STILL, FAN_PA, DEAD, WIND_PA, USE, DEEP, DEEPER, LIGHTS, DIES_S, HUNGER, ASH_HALF, ASH_SHARE,
    COALS_S, SHARE_SKIN, SHARE_SHIELD, SHIELD_J, SHIELD_W, GAS_S, TO_SKIN, SKIN_J, OUT_H, OUT_WIND, OUT_SHINE,
    PAN_W, PAN_WET, LID_W, LID_AIR, LID_SKIN,
) = range(30)  # fmt: skip


def step(x, c, duty, extra, amb, wind, lid, g, t):
    """One second. duty 0..1; extra kg/s of air; lid 0 or 1; g W/K and t C of the meat's surface."""
    gas, skin, shield, pan, glowing = x[X_AIR], x[SKIN], x[SHIELD], x[PAN], x[GLOWING]
    push = max(0.0, (duty - c[DEAD]) / (1.0 - c[DEAD]))
    pull = 3460.0 * c[HEIGHT] * max(0.0, 1.0 / (amb + 273.15) - 1.0 / (max(gas, amb) + 273.15))
    over = pull + c[WIND_PA] * wind * wind + c[FAN_PA] * push * push
    mouth = c[INLET] * (1.0 if push > 0.0 else c[STILL]) / (1.0 + x[ASHES] / c[ASH_HALF])
    breath = mouth * sqrt(2.4 * over) + extra + c[LID_AIR] * lid
    used = c[USE] * (1.0 - exp(-glowing / (c[DEEP] + c[DEEPER] * breath)))
    burnt = breath * used / 9.5
    made = breath * used * 3.0e6
    fresh = max(0.0, x[X_FUEL] - glowing)
    fed = breath / (breath + c[HUNGER] * glowing + 1e-9)
    glowing += burnt * (c[LIGHTS] * fresh / (fresh + 0.4) - 1.0) - glowing * (1.0 - fed) / c[DIES_S]
    glowing = min(max(glowing, 0.0), x[X_FUEL])
    # the gas has no mass: all that warms and cools it balances; it mixes within GAS_S
    given = x[COALS] / c[COALS_S]  # coals are hot for a while, with air or without
    x[COALS] += made - given
    shone, caught = c[SHARE_SKIN] * given, c[SHARE_SHIELD] * given
    through = breath * 1010.0
    pan_on = 1.0 if x[PAN_KG] > 0.0 else 0.0
    pan_w = c[PAN_W] * pan_on
    lid_w = c[LID_W] * lid
    holds = through + lid_w + c[TO_SKIN] + c[SHIELD_W] + pan_w + g
    warm = given - shone - caught + (through + lid_w) * amb
    warm += c[TO_SKIN] * skin + c[SHIELD_W] * shield + pan_w * pan + g * t
    aim = warm / holds
    gas += (aim - gas) / c[GAS_S]
    # what the skin, the pan and the meat get is what the balanced gas gives them
    k, k0 = skin + 273.15, amb + 273.15
    lost = (c[OUT_H] + c[OUT_WIND] * wind + c[LID_SKIN] * lid) * (skin - amb)
    lost += c[OUT_SHINE] * (k * k * k * k - k0 * k0 * k0 * k0)
    x[SKIN] = skin + (shone + c[TO_SKIN] * (aim - skin) - lost) / c[SKIN_J]
    x[SHIELD] = shield + (caught + c[SHIELD_W] * (aim - shield)) / c[SHIELD_J]
    gone = lost + (through + lid_w) * (aim - amb) + g * (aim - t)
    if pan_on > 0.0:
        steam = c[PAN_WET] * exp(0.05 * (min(pan, 100.0) - 60.0)) if x[PAN_KG] > 0.3 else 0.0  # kg/s
        x[PAN] = pan + (pan_w * (aim - pan) - steam * 2.3e6) / (4186.0 * x[PAN_KG] + 800.0)
        gone += steam * (2.3e6 + 4186.0 * x[PAN])
        x[PAN_KG] -= steam
    x[X_AIR], x[GLOWING] = gas, glowing
    x[X_IN] += made
    x[X_OUT] += gone
    x[X_BREATH] += breath
    x[X_FUEL] = max(0.0, x[X_FUEL] - burnt)
    x[ASHES] += burnt * c[ASH_SHARE]


def draw(r):
    """One cooker: its constants, from a `random.Random`."""
    c = [0.0] * 30
    c[HEIGHT], c[INLET], c[STILL] = r.uniform(0.35, 0.9), 0.65e-4 * r.uniform(1.2, 2.6), r.uniform(0.25, 0.7)
    c[FAN_PA], c[DEAD], c[WIND_PA] = r.uniform(60.0, 180.0), r.uniform(0.02, 0.10), r.uniform(0.0, 0.08)
    c[USE], c[DEEP], c[DEEPER] = r.uniform(0.75, 0.95), r.uniform(0.05, 0.12), r.uniform(40.0, 130.0)
    c[LIGHTS], c[DIES_S], c[HUNGER] = r.uniform(2.0, 3.0), r.uniform(1500.0, 5000.0), r.uniform(0.0006, 0.0025)
    c[ASH_HALF], c[ASH_SHARE] = r.uniform(0.5, 2.0), r.uniform(0.02, 0.15)
    c[COALS_S] = r.uniform(60.0, 300.0)
    c[SHARE_SKIN], c[SHARE_SHIELD], c[GAS_S] = r.uniform(0.15, 0.35), r.uniform(0.40, 0.55), r.uniform(6.0, 20.0)
    c[SHIELD_J], c[SHIELD_W] = r.uniform(1.5e3, 10.0e3), r.uniform(6.0, 20.0)
    area = r.uniform(0.9, 1.7)
    c[TO_SKIN], c[SKIN_J] = area * r.uniform(8.0, 14.0), area * r.uniform(3.5e3, 12e3)
    c[OUT_H], c[OUT_WIND], c[OUT_SHINE] = area * r.uniform(3.0, 5.0), area * r.uniform(0.8, 2.2), area * 4.5e-8
    c[PAN_W], c[PAN_WET] = r.uniform(0.8, 2.2), r.uniform(2e-5, 6e-5)
    c[LID_W], c[LID_AIR], c[LID_SKIN] = r.uniform(12.0, 35.0), r.uniform(0.0003, 0.0015), area * r.uniform(1.0, 4.0)
    return c


def nasty(c, r):
    """Makes one of the family's awkward cookers of it."""
    which = r.randrange(3)
    if which == 0:
        c[ASH_HALF], c[ASH_SHARE] = 0.3, 0.20  # an ash that closes
    elif which == 1:
        c[DIES_S], c[HUNGER] = r.uniform(600.0, 1000.0), 0.004  # goes out in no time
    else:
        c[LIGHTS], c[DIES_S], c[FAN_PA] = 3.6, 9000.0, c[FAN_PA] * 1.5  # catches like dry leaves


def light(c, amb, fuel):
    """Its state when lit: cold, with a small fire. A pan of 2 to 4 kg where the fuel's third decimal is odd."""
    x = [0.0] * SIZE
    x[X_AIR] = x[SKIN] = x[SHIELD] = amb
    x[PAN] = max(amb, 5.0)
    x[X_FUEL], x[GLOWING] = fuel, 0.06
    x[PAN_KG] = 2.0 + fuel % 2.0 if int(fuel * 1000.0) % 2 else 0.0
    return x


def stored(x, c):
    """Heat in it, J, above 0 C."""
    return (
        x[COALS]
        + x[SKIN] * c[SKIN_J]
        + x[SHIELD] * c[SHIELD_J]
        + x[PAN] * (4186.0 * x[PAN_KG] + 800.0) * (x[PAN_KG] > 0.0)
    )


def scale_fan(c, times):
    """A fan of so many times the air: the air goes with the root of its pressure."""
    c[FAN_PA] *= times * times


def full_air(c):
    """Air of the full fan, kg/s, at a warm pit's draught."""
    return c[INLET] * sqrt(2.4 * (c[FAN_PA] + 900.0 * c[HEIGHT] / 300.0))

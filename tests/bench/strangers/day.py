"""One cook, period by period: what the probe says, what happens, what the board decides, and two seconds of pit.

Plain functions on flat sequences; `build.py` compiles them together with the law and the pits.
"""

from math import exp

from hearth.core.decide import cycle

from strangers.pits import bed, blower, ceramic, gusty, lags
from strangers.places import (
    AIR_IN,
    ARRIVED,
    BAND_LOW,
    BY_HAND,
    CORE,
    DRAUGHT,
    DUTY,
    E_A,
    E_B,
    E_CLOCK,
    E_DONE,
    E_KIND,
    E_WHEN,
    EXTRA,
    FOLLOW,
    FROM_ARRIVAL,
    FROM_MEAT,
    FROM_START,
    FUEL_IS,
    FULL_AIR,
    HAND_FAN,
    HAND_S,
    HAND_WAIT,
    HANDS,
    HANGS,
    HIGHEST,
    HUNG,
    LID,
    LID_UNTIL,
    LIE,
    LIES_RIGHT,
    MEAT,
    MEAT_AT,
    MEAT_COLD,
    MEAT_KG,
    MEAT_M2,
    NOISE,
    NOTED,
    PERIOD_S,
    PRESS_AT,
    PRESS_EVERY,
    PRESSES,
    PROBE_S,
    QUANTUM,
    READING,
    RISEN,
    ROW,
    SAG,
    SAGS,
    SECOND,
    SECOND_PLACE,
    SECOND_S,
    SHEATH,
    SLIP,
    SPIKE,
    SPIKED,
    SUPPLY,
    SURFACE,
    T_ARRIVED,
    T_DUTY,
    T_FAN,
    T_LID,
    T_MEAT,
    T_READING,
    T_REASON,
    T_STATE,
    T_TRIP,
    T_TRUE,
    T_WITNESS,
    TIME,
    TOLD,
    WATER,
    WEATHER_S,
    X_AIR,
    X_FUEL,
)  # fmt: skip

# as in hearth.core.fields
ORDER_START, ORDER_FAN, ORDER_OPENED, ORDER_ACKNOWLEDGE, ORDER_WITNESS, ORDER_MEAT = 1, 4, 6, 7, 9, 13
ABSENT = -10000
SLEEPY = 150  # cycles from a trip until somebody has come, 5 min
NOTES_S = 180.0  # from the meat going on until it is noted
SUPPLY_MV = 11600.0
STEP = 0.05  # C, of a meat probe


def pit(family, x, c, duty, extra, amb, wind, lid, g, t):
    """One second of a pit of this family (0 lags, 1 bed, 2 ceramic, 3 blower, 4 gusty)."""
    if family == 0:
        lags.step(x, c, duty, extra, amb, wind, lid, g, t)
    elif family == 1:
        bed.step(x, c, duty, extra, amb, wind, lid, g, t)
    elif family == 2:
        ceramic.step(x, c, duty, extra, amb, wind, lid, g, t)
    elif family == 3:
        blower.step(x, c, duty, extra, amb, wind, lid, g, t)
    else:
        gusty.step(x, c, duty, extra, amb, wind, lid, g, t)


def happen(x, y, k, kind, a, b):
    """Let one event happen; the kinds are in `places`."""
    if kind in (LID, MEAT):
        y[LID_UNTIL] = y[TIME] + a
        if b > 0.0:
            y[TOLD] = 1.0
        if kind == MEAT and y[MEAT_AT] < 0.0 and k[MEAT_KG] > 0.0:
            y[MEAT_AT] = y[TIME]
            y[SURFACE] = y[CORE] = k[MEAT_COLD]
    elif kind == SLIP:
        y[FOLLOW] = a
        y[LIE] = b
    elif kind == SPIKED:
        y[SPIKE] = a
    elif kind == AIR_IN:
        y[EXTRA] = a
    elif kind == PRESSES:
        y[PRESS_AT] = y[TIME]
        y[PRESS_EVERY] = a
    elif kind == FUEL_IS:
        x[X_FUEL] = min(x[X_FUEL], a)
    elif kind == SAGS:
        k[SAG] = a
        y[SUPPLY] = SUPPLY_MV
    elif kind == BY_HAND:
        y[HAND_FAN] = a
        y[HAND_S] = b
    elif kind == HANGS:
        y[HUNG] = -1.0  # the board is not told yet
    elif kind == LIES_RIGHT:
        y[FOLLOW] = 1.0
        y[LIE] = 0.0
        y[DRAUGHT] = a


def look(x, y, k, e):
    """Let what is due happen. The meat goes on once, whichever of its events comes first."""
    y[HIGHEST] = max(y[HIGHEST], x[X_AIR])
    for i in range(0, len(e), ROW):
        if e[i + E_DONE] > 0.0:
            continue
        clock, when = e[i + E_CLOCK], e[i + E_WHEN]
        due = clock == FROM_START and y[TIME] >= when
        due = due or (clock == FROM_MEAT and y[MEAT_AT] >= 0.0 and y[TIME] >= y[MEAT_AT] + when)
        due = due or (clock == FROM_ARRIVAL and y[ARRIVED] >= 0.0 and y[TIME] >= y[ARRIVED] + when)
        due = due or (clock == RISEN and y[HIGHEST] >= when)
        if due:
            e[i + E_DONE] = 1.0
            if e[i + E_KIND] != MEAT or y[MEAT_AT] < 0.0:
                happen(x, y, k, e[i + E_KIND], e[i + E_A], e[i + E_B])


def read(y, k, noise):
    """What the converter says now, C: the sheath, its noise, a spike of one reading, in its steps."""
    value = y[SHEATH] + noise * k[NOISE]
    if y[ARRIVED] < 0.0 and value >= k[BAND_LOW]:
        y[ARRIVED] = y[TIME]
    value += y[SPIKE]
    y[SPIKE] = 0.0
    steps = value / k[QUANTUM]
    value = float(int(steps + 0.5) if steps >= 0.0 else -int(0.5 - steps)) * k[QUANTUM]
    y[READING] = min(500.0, max(-50.0, value))


def hundredths(value):
    """C -> 0.01 C, rounded."""
    return int(value * 100.0 + 0.5) if value >= 0.0 else -int(0.5 - value * 100.0)


def roast(y, k, air):
    """One second of meat: a wet rind around a core. Heat in from air and walls, out with water while there is any."""
    mass = k[MEAT_KG]
    g = 15.5 * k[MEAT_M2]
    wet = 3.0e-4 * k[MEAT_M2] * exp(0.045 * (min(y[SURFACE], 100.0) - 65.0)) * y[WATER]  # kg/s
    inwards = 16.0 * k[MEAT_M2] * (y[SURFACE] - y[CORE])
    y[SURFACE] += (g * (air - y[SURFACE]) - wet * 2.33e6 - inwards) / (0.12 * mass * 3500.0)
    y[CORE] += inwards / (0.88 * mass * 3500.0)
    y[WATER] = max(0.0, y[WATER] - wet / (0.30 * mass))


def run(family, x, c, y, k, e, w, seconds):
    """Let seconds pass with the fan at y[DUTY]."""
    for _ in range(seconds):
        look(x, y, k, e)
        j = min(int(y[TIME] / WEATHER_S), len(w) // 2 - 1) * 2
        amb, wind = w[j], w[j + 1]
        lid = 1.0 if y[TIME] < y[LID_UNTIL] else 0.0
        g = 15.5 * k[MEAT_M2] if y[MEAT_AT] >= 0.0 else 0.0
        pit(family, x, c, y[DUTY], y[EXTRA] * k[FULL_AIR], amb, wind, lid, g, y[SURFACE])
        if g > 0.0:
            roast(y, k, x[X_AIR])
        feels = x[X_AIR] if y[FOLLOW] >= 1.0 else amb + y[LIE] + y[FOLLOW] * (x[X_AIR] - amb)
        feels -= y[DRAUGHT] * (x[X_AIR] - amb)
        if y[HUNG] != 0.0:
            if y[MEAT_AT] >= 0.0:
                y[HUNG] = 2.0
            there = y[CORE] if y[HUNG] > 1.0 else amb + k[SECOND_PLACE] * (x[X_AIR] - amb)
            y[SECOND] += (there - y[SECOND]) * (1.0 - exp(-1.0 / k[SECOND_S]))
        y[SHEATH] += (feels - y[SHEATH]) * (1.0 - exp(-1.0 / k[PROBE_S]))
        y[TIME] += 1.0


def asked(y, k, trip):
    """The order of this cycle: the sleepy person's, an opening told, a fan by hand, the meat noted, a button that
    presses itself."""
    if trip != 0 and y[HANDS] > 0.0:
        y[HAND_WAIT] += 1.0
        if y[HAND_WAIT] >= SLEEPY:
            return ORDER_ACKNOWLEDGE
    elif y[HAND_WAIT] >= SLEEPY:
        y[HAND_WAIT] = 0.0
        y[HANDS] -= 1.0
        return ORDER_START
    if y[TOLD] > 0.0:
        y[TOLD] = 0.0
        return ORDER_OPENED
    if y[HAND_S] > 0.0:
        return ORDER_FAN
    if y[HUNG] < 0.0:
        return ORDER_WITNESS
    if k[NOTED] > 0.0 and y[MEAT_AT] >= 0.0 and y[TIME] >= y[MEAT_AT] + NOTES_S:
        return ORDER_MEAT
    if y[PRESS_EVERY] > 0.0 and y[TIME] >= y[PRESS_AT]:
        y[PRESS_AT] += y[PRESS_EVERY]
        return ORDER_OPENED
    return 0


def cook(settings, now, memory, out, family, x, c, y, k, e, w, noise, first, last, trace):
    """Run the board's law over cycles first..last of a cook; an order standing in `now` goes with the first of them."""
    for i in range(first, last):
        look(x, y, k, e)
        read(y, k, noise[i])
        now.dt = 2000
        now.pit = hundredths(y[READING])
        now.faults = 0
        now.meat_1 = min(30000, hundredths(y[CORE])) if y[MEAT_AT] >= 0.0 else ABSENT
        now.meat_2 = min(30000, hundredths(int(y[SECOND] / STEP + 0.5) * STEP)) if y[HUNG] != 0.0 else ABSENT
        if y[SUPPLY] > 0.0:
            now.supply = int(y[SUPPLY] - k[SAG] * 1000.0 * y[DUTY])
        if now.order == 0:
            now.order = asked(y, k, out.trip)
            if now.order == ORDER_FAN:
                now.first = int(y[HAND_FAN] * 10000.0)
                now.second = int(y[HAND_S])
                y[HAND_S] = 0.0
            if now.order == ORDER_MEAT:
                now.first = int(k[NOTED] * 10.0)
                k[NOTED] = 0.0
            if now.order == ORDER_WITNESS:
                now.first = 2
                y[HUNG] = 1.0
        cycle(settings, now, memory, out)
        now.order = 0
        now.first = 0
        now.second = 0
        y[DUTY] = out.duty / 10000.0
        note(x, y, trace, i, out.fan / 10000.0, out.state, out.reason, out.trip)
        trace[i, T_WITNESS] = out.witness
        run(family, x, c, y, k, e, w, 2)


def note(x, y, trace, i, fan, state, reason, trip):
    """One row of the trace."""
    trace[i, T_READING] = y[READING]
    trace[i, T_TRUE] = x[X_AIR]
    trace[i, T_FAN] = fan
    trace[i, T_DUTY] = y[DUTY]
    trace[i, T_STATE] = state
    trace[i, T_REASON] = reason
    trace[i, T_LID] = 1.0 if y[TIME] < y[LID_UNTIL] else 0.0
    trace[i, T_TRIP] = trip
    trace[i, T_MEAT] = 1.0 if y[MEAT_AT] >= 0.0 else 0.0
    trace[i, T_ARRIVED] = 1.0 if y[ARRIVED] >= 0.0 else 0.0


def keep(family, x, c, y, k, e, w, noise, first, last, trace, middle):
    """Hold `middle` C with eyes on the true air and no law of the board's: for judging what a pit can do at all."""
    owed = 0.0
    for i in range(first, last):
        look(x, y, k, e)
        read(y, k, noise[i])
        off = middle - x[X_AIR]
        owed = min(1.0, max(0.0, owed + off * PERIOD_S / 30000.0)) if abs(off) < 15.0 else owed
        y[DUTY] = min(1.0, max(0.0, owed + off / 25.0))
        note(x, y, trace, i, y[DUTY], 0, 0, 0)
        run(family, x, c, y, k, e, w, 2)


def still(family, x, c, y, k, w, duty, seconds):
    """Leave the fan at `duty` while nothing happens; returns the highest air and the mean of the last half hour, C."""
    y[DUTY] = duty
    y[LID_UNTIL] = y[TIME]
    nothing = w[:0]
    high, total = -300.0, 0.0
    for i in range(seconds):
        run(family, x, c, y, k, nothing, w, 1)
        high = max(high, x[X_AIR])
        if i >= seconds - 1800:
            total += x[X_AIR]
    return high, total / min(1800, seconds)

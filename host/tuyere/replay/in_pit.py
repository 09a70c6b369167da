"""A recorded night's disturbance found in front of a pit, and the law in front of the same pit and disturbance: plain
functions that `sim.compiled` compiles."""

from hearth.core.decide import cycle

from tuyere.sim.course import advance
from tuyere.sim.pit_slots import (
    AMBIENT,
    FAN,
    GAS,
    LIT,
    METAL,
    NOW,
    OPEN_UNTIL,
    PAN,
    PROBE,
    UNLIT,
    W_UNEVEN,
    WALL_1,
    WALL_2,
    WALL_3,
    WEATHER,
    WEATHER_S,
)

PERIOD_S = 2.0
ABSENT = -10000
TRACE = 6  # numbers a cycle: reading C, demand, duty, state, lid 0/1, kg of fuel
T_PIT, T_FAN, T_DUTY, T_STATE, T_OPEN, T_FUEL = range(TRACE)
ORDER = 4  # numbers an order: cycle, code, first, second


def heat(s, part):  # type: ignore[no-untyped-def]
    """Heat that comes from nowhere in the model: `part` K in the chamber, less in what is behind it."""
    s[METAL] += part
    s[GAS] += part
    s[PROBE] += part
    s[WALL_1] += part
    s[WALL_2] += 0.5 * part
    s[WALL_3] += 0.2 * part
    s[PAN] += 0.2 * part


def track(s, p, m, q, e, w, fan, pit, lead, share, lasting, most, every, parts, found):  # type: ignore[no-untyped-def]
    """Let the pit run under the recorded fan (0..1, one a period) and `lead` (how unevenly the bed burns, one for every
    `every` periods), and bring it to what was read.

    pit: means of the reading over `every` periods, C; below -900: none. share: of the difference at the end of each
    mean that is given, at most `most` K, evenly over the periods of the next: a law that looks ahead would see a jump.
    lasting: share of it that adds up, for what lasts. parts, found: what was given, K, and the model's means, C,
    filled.
    """
    total, owed, part = 0.0, 0.0, 0.0
    for i in range(len(pit) * every):
        k = i // every
        s[FAN] = fan[i]
        row = int(s[NOW] / WEATHER_S) * WEATHER + W_UNEVEN
        if row < len(w):
            w[row] = lead[k]
        advance(s, p, m, q, e, w, PERIOD_S)
        heat(s, part / every)
        total += s[PROBE]
        if (i + 1) % every == 0:
            found[k] = total / every
            total = 0.0
            part = 0.0
            off = pit[k] - found[k]
            if pit[k] > -900.0:
                owed = min(most, max(-most, owed + lasting * off))
                part = min(most, max(-most, share * off + owed))
            parts[k] = part


def again(s, p, m, q, e, w, fan, lead, parts, noise, every, found):  # type: ignore[no-untyped-def]
    """The same pit under the recorded fan with the disturbance that was found: its reading every period, C."""
    for i in range(len(found)):
        k = min(len(lead) - 1, i // every)
        s[FAN] = fan[i]
        row = int(s[NOW] / WEATHER_S) * WEATHER + W_UNEVEN
        if row < len(w):
            w[row] = lead[k]
        advance(s, p, m, q, e, w, PERIOD_S)
        if i >= every:
            heat(s, parts[min(len(parts), i // every) - 1] / every)
        found[i] = s[PROBE] + noise[i]


def play(settings, now, memory, out, s, p, m, q, e, w, orders, lead, parts, noise, first, every, trace):  # type: ignore[no-untyped-def]
    """The law in front of the pit, with the night's disturbance.

    settings, now, memory, out: records of the field table. orders: rows of ORDER numbers in the order of their cycles,
    one flat sequence. first: the reading of the first cycle, C. trace: rows of TRACE numbers, filled.
    """
    reading, at = first, 0
    for i in range(len(trace) // TRACE):
        now.dt = 2000
        now.pit = min(50000, max(-5000, int(reading * 100.0 + 0.5) if reading >= 0.0 else -int(0.5 - reading * 100.0)))
        now.faults = 0
        now.meat_1 = now.meat_2 = now.meat_3 = ABSENT
        now.ambient = min(12500, max(-5000, int(s[AMBIENT] * 100.0)))
        now.order = now.first = now.second = 0
        if at < len(orders) and orders[at] <= i:
            now.order, now.first, now.second = orders[at + 1], orders[at + 2], orders[at + 3]
            at += ORDER
        cycle(settings, now, memory, out)
        k = min(len(lead) - 1, i // every)
        s[FAN] = out.duty / 10000.0
        row = int(s[NOW] / WEATHER_S) * WEATHER + W_UNEVEN
        if row < len(w):
            w[row] = lead[k]
        advance(s, p, m, q, e, w, PERIOD_S)
        if i >= every:
            heat(s, parts[min(len(parts), i // every) - 1] / every)
        reading = s[PROBE] + noise[i]
        j = i * TRACE
        trace[j + T_PIT] = reading
        trace[j + T_FAN] = out.fan / 10000.0
        trace[j + T_DUTY] = s[FAN]
        trace[j + T_STATE] = out.state
        trace[j + T_OPEN] = 1.0 if s[NOW] < s[OPEN_UNTIL] else 0.0
        trace[j + T_FUEL] = s[LIT] + s[UNLIT]

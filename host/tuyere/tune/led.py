"""A pit under a recorded fan, led along what its probe read: one call, plain or compiled (see `sim/compiled.py`)."""

from tuyere.sim.course import advance
from tuyere.sim.pit_slots import (
    E_DONE,
    EVENT,
    FAN,
    GAS,
    METAL,
    NOW,
    PROBE,
    W_UNEVEN,
    WALL_1,
    WALL_2,
    WALL_3,
    WEATHER,
    WEATHER_S,
)

PERIOD_S = 2.0
MOST = 0.5  # of the fire: no bed burns more unevenly


def follow(s, p, m, q, e, w, fan, pit, nudge, pull, reset, keeps, every, found, lead, carry):  # type: ignore[no-untyped-def]
    """Let the pit run under `fan` (0..1, one a period of 2 s), and lead it along `pit` by how evenly its bed burns.

    s, p, m, q, e, w: the cook of `sim.outside.Outside`; w is written over. pit: means read, C, one for every `every`
    periods; NaN: none, the lead stands; below -900: none from here on, the lead dies away, `keeps` of it left each
    time. pull: lead for each C that the pit reads above the model; reset: s, how fast a lasting difference adds up.
    found, lead: the model's means of the probe, C, and what led it meanwhile, filled. This is an observer of the
    model's own slow disturbance; without readings, or with a pull of 0, it is the free run. nudge: share of that
    difference by which metal, walls, gas and probe are moved at the end of each mean: 0, but in a climb that the model
    need not explain. carry: two numbers of the observer, 0 at the beginning; a night can be followed in parts with it.
    """
    total, owed, now = 0.0, carry[0], carry[1]
    for i in range(len(pit) * every):
        s[FAN] = fan[i]
        row = int(s[NOW] / WEATHER_S) * WEATHER + W_UNEVEN
        if row < len(w):
            w[row] = now
        advance(s, p, m, q, e, w, PERIOD_S)
        total += s[PROBE]
        if (i + 1) % every == 0:
            k = i // every
            found[k] = total / every
            lead[k] = now
            if pit[k] > -900.0:
                off = pit[k] - found[k]
                off = min(20.0, max(-20.0, off))
                owed = min(MOST, max(-MOST, owed + pull * off * every * PERIOD_S / reset))
                now = min(MOST, max(-MOST, owed + pull * off))
                if nudge[k] > 0.0:
                    part = nudge[k] * (pit[k] - found[k])
                    s[METAL] += part
                    s[GAS] += part
                    s[PROBE] += part
                    s[WALL_1] += part
                    s[WALL_2] += 0.8 * part
                    s[WALL_3] += 0.5 * part
            elif pit[k] <= -900.0:
                owed *= keeps
                now *= keeps
            total = 0.0
    carry[0], carry[1] = owed, now


def stand(s, p, m, q, e, w, fan, uneven, periods, every, found):  # type: ignore[no-untyped-def]
    """Let the pit run with the fan standing at `fan` and its bed burning at `uneven`, in the weather of the moment, no
    lid; found: its probe, C, at the end of each `every` periods."""
    for i in range(0, len(w), WEATHER):
        w[i + W_UNEVEN] = uneven
    for i in range(0, len(e), EVENT):
        e[i + E_DONE] = 1.0
    for i in range(periods):
        s[FAN] = fan
        advance(s, p, m, q, e, w, PERIOD_S)
        if (i + 1) % every == 0:
            found[i // every] = s[PROBE]

"""The board's law and the pit in one loop: a whole cook in one call, plain or compiled (see `compiled.py`)."""

from hearth.core.decide import cycle

from tuyere.meat import piece_slots as piece
from tuyere.sim.course import advance
from tuyere.sim.pit_slots import AMBIENT, FAN, FAULTS, GAS, LIT, NOTED, NOW, OPEN_UNTIL, PIECES, READING, TOLD, UNLIT

PERIOD_S = 2.0
TOLD_ORDER = 6  # fields.ORDER_OPENED
MEAT_ORDER = 13  # fields.ORDER_MEAT
COLD_S = 3600.0  # this long a piece counts as cold
ABSENT = -10000
TRACE = 11  # numbers a cycle in the trace: C, share, code, code, 0/1, kg, three meats in C, C, share
T_PIT, T_FAN, T_STATE, T_REASON, T_OPEN, T_FUEL, T_MEAT, T_MEAT_2, T_MEAT_3, T_AIR, T_DUTY = range(TRACE)


def cook(settings, now, memory, out, s, p, m, q, e, w, cycles, trace, meat_at, meat_size, meat_on):  # type: ignore[no-untyped-def]
    """Run `cycles` periods: read, decide, drive, let 2 s of pit pass.

    settings, now, memory, out: records of the field table, carried on. s, p, m, q, e, w: the cook of `Outside`.
    trace: `cycles` rows of TRACE numbers, one flat sequence, filled. meat_at, meat_size, meat_on: where a piece's
    probe and its flag lie in m. An order standing in `now` is given with the first cycle.
    """
    for i in range(cycles):
        now.dt = 2000
        reading = int(s[READING] * 100.0 + 0.5) if s[READING] >= 0.0 else -int(0.5 - s[READING] * 100.0)
        now.pit = min(50000, max(-5000, reading))
        now.faults = int(s[FAULTS])
        now.meat_1 = meat(m, 0, meat_at, meat_size, meat_on)
        now.meat_2 = meat(m, 1, meat_at, meat_size, meat_on)
        now.meat_3 = meat(m, 2, meat_at, meat_size, meat_on)
        now.ambient = min(12500, max(-5000, int(s[AMBIENT] * 100.0)))
        if s[TOLD] > 0.0 and now.order == 0:
            now.order = TOLD_ORDER
        elif now.order == 0 and s[NOTED] >= 0.0 and s[NOW] >= s[OPEN_UNTIL]:
            kg = cold(m, q)
            if kg > s[NOTED]:
                now.order = MEAT_ORDER
                now.first = min(2000, int(kg * 10.0 + 0.5))
            s[NOTED] = kg
        cycle(settings, now, memory, out)
        now.order = 0
        now.first = 0
        now.second = 0
        s[FAN] = out.duty / 10000.0
        s[TOLD] = 0.0
        advance(s, p, m, q, e, w, PERIOD_S)
        k = i * TRACE
        trace[k + T_PIT] = s[READING]
        trace[k + T_FAN] = out.fan / 10000.0
        trace[k + T_STATE] = out.state
        trace[k + T_REASON] = out.reason
        trace[k + T_OPEN] = 1.0 if s[NOW] < s[OPEN_UNTIL] else 0.0
        trace[k + T_FUEL] = s[LIT] + s[UNLIT]
        trace[k + T_MEAT] = now.meat_1 / 100.0
        trace[k + T_MEAT_2] = now.meat_2 / 100.0
        trace[k + T_MEAT_3] = now.meat_3 / 100.0
        trace[k + T_AIR] = s[GAS]
        trace[k + T_DUTY] = s[FAN]


def meat(m, i, at, size, on):  # type: ignore[no-untyped-def]
    """A piece's probe in 0.01 C, in steps of 0.05 C; ABSENT while it is not in the pit."""
    if i >= PIECES or m[i * size + on] <= 0.0:
        return ABSENT
    return min(30000, max(-5000, int(m[i * size + at] * 20.0 + 0.5) * 5))


def cold(m, q):  # type: ignore[no-untyped-def]
    """Raw mass of what went on within COLD_S, kg."""
    kg = 0.0
    for i in range(PIECES):
        h = i * piece.SIZE
        if m[h + piece.ON] > 0.0 and m[h + piece.COOKED_S] < COLD_S:
            for j in range(piece.SECTIONS):
                o = i * piece.QSIZE + piece.Q_SLAB + j * piece.SLAB_Q
                if q[o + piece.AREA] > 0.0:
                    kg += q[o + piece.AREA] * q[o + piece.FULL] * (1.0 + 1.0 / q[o + piece.RAW])
    return kg

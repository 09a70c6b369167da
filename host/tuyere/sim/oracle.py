"""The upper reference: a controller that knows the future and every number of the pit.

A receding search over the true simulator. Every STEP cycles the whole pit is copied and tried on ahead over LOOK
cycles (openings, gusts, noise and all, as they will come): one level of the fan for the next STEP cycles, then a
second one, leant on by a plain pull to the middle of the band and a brake on the probe's true rise, so that both ends
of a trial are driven sensibly. The pair with the least cost is kept, its first level is driven, and the search begins
again. With `foresees` 0 it knows pit, weather and noise, but no lid before it goes up. The difference between the two
is the worth of foresight, which no real controller has. This is not a strict bound: two levels are a coarse plan.
Plain functions on flat sequences, compiled like the kernel.
"""

from hearth.core.drive import duty

from tuyere.sim.course import advance
from tuyere.sim.kernel import (
    PERIOD_S,
    T_AIR,
    T_FAN,
    T_FUEL,
    T_MEAT,
    T_MEAT_2,
    T_MEAT_3,
    T_OPEN,
    T_PIT,
    T_REASON,
    T_STATE,
    TRACE,
    meat,
)
from tuyere.sim.pit_slots import (
    E_DONE,
    E_KIND,
    EVENT,
    FAN,
    GAS,
    LIT,
    MEAT_AFTER,
    MEAT_ON,
    NOW,
    OPEN_UNTIL,
    OPENING,
    PROBE,
    READING,
    UNLIT,
)

STEP = 30  # cycles a first level is driven: 60 s
LOOK = 600  # cycles looked ahead: 20 min; in 10 min an insulated pit that is too hot is cheapest cooled by blowing
LEVELS = (0.0, 0.03, 0.06, 0.1, 0.15, 0.2, 0.27, 0.35, 0.45, 0.6, 0.8, 1.0)
LEANT = len(LEVELS)  # in place of a first level: the second from the start
PULL = 0.04  # fan a degree below the middle, in the part after the first level
AHEAD = 90.0  # s: how far ahead the rise is looked at there
# The cost of a cycle: 1 outside the band, a little a degree outside, and less the nearer the middle; at the end of
# the look ahead the pit should stand well.
PER_C = 0.05
MIDDLE = 0.01
STANDING = 20.0
# It must keep the law's rule: no first arrival far above the band. Only the time after the meat goes on is counted, and
# an overheated pit would take in the cold meat more quickly.
OVER_C = 3.0
OVER = 10.0


def note(s, m, trace, k, meat_at, meat_size, meat_on):  # type: ignore[no-untyped-def]
    """Note a period that has passed in the trace from k on, as `kernel.cook` does; no state and no reason (-1)."""
    trace[k + T_PIT] = s[READING]
    trace[k + T_STATE] = -1.0
    trace[k + T_REASON] = -1.0
    trace[k + T_OPEN] = 1.0 if s[NOW] < s[OPEN_UNTIL] else 0.0
    trace[k + T_FUEL] = s[LIT] + s[UNLIT]
    trace[k + T_MEAT] = meat(m, 0, meat_at, meat_size, meat_on) / 100.0
    trace[k + T_MEAT_2] = meat(m, 1, meat_at, meat_size, meat_on) / 100.0
    trace[k + T_MEAT_3] = meat(m, 2, meat_at, meat_size, meat_on) / 100.0
    trace[k + T_AIR] = s[GAS]


def cook(settings, memory, s, p, m, q, e, w, spare, cycles, trace, low, high, step, look, plan, foresees, at, size, on):  # type: ignore[no-untyped-def]
    """Run `cycles` periods under the search; arguments as in `kernel.cook` (at, size, on: meat_at and so on).

    spare: four sequences as long as s, p, m and e, written over. low, high: the band, C. plan: the pair of levels'
    numbers to begin with, carried on. foresees: 1, or 0 for one that expects no opening and no meat.
    """
    middle = (low + high) / 2.0
    before = s[PROBE]
    for i in range(cycles):
        if i % step == 0:
            choose(settings, memory, s, p, m, q, e, w, spare, low, high, step, look, plan, foresees, before)
        level = leant(plan[1], middle, s[PROBE], before) if plan[0] == LEANT else LEVELS[plan[0]]
        before = s[PROBE]
        trace[i * TRACE + T_FAN] = level
        s[FAN] = duty(settings, memory, int(level * 10000.0 + 0.5)) / 10000.0
        advance(s, p, m, q, e, w, PERIOD_S)
        note(s, m, trace, i * TRACE, at, size, on)


def leant(second, middle, probe, before):  # type: ignore[no-untyped-def]
    """The second level with its pull and brake, 0..1."""
    level = LEVELS[second] + PULL * (middle - probe - AHEAD * (probe - before) / PERIOD_S)
    return min(1.0, max(0.0, level))


def choose(settings, memory, s, p, m, q, e, w, spare, low, high, step, look, plan, foresees, before):  # type: ignore[no-untyped-def]
    """Find the pair of levels that costs least, one level at a time from the last pair, until neither gets better."""
    search = (low, high, step, look, foresees)
    plan[0] = LEANT
    best = trial(settings, memory, s, p, m, q, e, w, spare, search, plan[0], plan[1], before, 1e18)
    still = 0
    which = 1
    while still < 2:
        still += 1
        old = plan[which]
        for n in range(len(LEVELS) + 1 - which):
            if n == old:
                continue
            first = n if which == 0 else plan[0]
            second = n if which == 1 else plan[1]
            cost = trial(settings, memory, s, p, m, q, e, w, spare, search, first, second, before, best)
            if cost < best:
                best = cost
                plan[which] = n
                still = 1
        which = 1 - which


def trial(settings, memory, s, p, m, q, e, w, spare, search, first, second, before, most):  # type: ignore[no-untyped-def]
    """What a pair of levels would cost; given up as soon as it costs more than `most`."""
    low, high, step, look, foresees = search
    ts, tp, tm, te = spare
    copy(s, ts)
    copy(p, tp)
    copy(m, tm)
    copy(e, te)
    if foresees == 0:
        forget(ts, tp, te)
    credit, given = memory.credit, memory.duty
    middle, half = (low + high) / 2.0, (high - low) / 2.0
    cost = 0.0
    off = 0.0
    for i in range(look):
        level = LEVELS[first] if i < step and first < LEANT else leant(second, middle, ts[PROBE], before)
        before = ts[PROBE]
        ts[FAN] = duty(settings, memory, int(level * 10000.0 + 0.5)) / 10000.0
        advance(ts, tp, tm, q, te, w, PERIOD_S)
        pit = ts[READING]
        off = (pit - middle) / half
        cost += MIDDLE * min(off * off, 9.0)
        if pit < low:
            cost += 1.0 + PER_C * (low - pit)
        elif pit > high:
            cost += 1.0 + PER_C * (pit - high)
            if ts[MEAT_ON] < 0.0 and pit > high + OVER_C:
                cost += OVER
        if cost >= most:
            break
    memory.credit = credit
    memory.duty = given
    return cost + STANDING * min(off * off, 9.0)


def forget(s, p, e):  # type: ignore[no-untyped-def]
    """Take the openings to come and the meat out of a trial; a lid that is up still comes down at its time."""
    for i in range(0, len(e), EVENT):
        if e[i + E_KIND] == OPENING:
            e[i + E_DONE] = 1.0
    if s[MEAT_ON] < 0.0:
        p[MEAT_AFTER] = 1e9


def copy(source, target):  # type: ignore[no-untyped-def]
    """Copy one sequence into another of its length."""
    for i in range(len(source)):
        target[i] = source[i]

"""A search that knows the pit, its weather and its probe's noise, but no lid before it goes up: how well a stranger can
be held at all.

Every STEP cycles the whole pit is copied and tried on ahead over LOOK cycles: one level of the fan for the next STEP,
then a second one, leant on by a pull to the middle of the band and a brake on the probe's true rise. Level, second
level and strength of the pull are searched one at a time from the last choice. The best first level is driven, and the
search begins again. It is no strict bound, since its plans are coarse. Plain functions; `build.py` compiles them.
"""

from hearth.core.drive import duty

from strangers.day import look, note, read, run
from strangers.places import (
    DUTY,
    E_DONE,
    E_KIND,
    LID,
    MEAT,
    MEAT_AT,
    READING,
    ROW,
    SHEATH,
)

STEP = 30  # cycles a first level is driven: 60 s
LOOK = 600  # cycles looked ahead: 20 min
LEVELS = (0.0, 0.03, 0.06, 0.1, 0.15, 0.2, 0.27, 0.35, 0.45, 0.6, 0.8, 1.0)
LEANT = len(LEVELS)  # in place of a first level: the second from the start
PULLS = (0.005, 0.01, 0.02, 0.04, 0.08)  # fan a degree below the middle
AHEAD_S = 90.0  # how far ahead the rise is looked at
# The cost of a cycle: 1 outside the band and a little a degree outside; inside it less the nearer the middle. At the
# end of the look ahead the pit should stand well.
PER_C = 0.05
MIDDLE = 0.01
STANDING = 20.0
OVER_C, OVER = 3.0, 10.0  # it keeps the law's rule: no first arrival far above the band


def cook(settings, memory, family, x, c, y, k, e, w, noise, spare, cycles, trace, low, high, plan):
    """Run a whole cook under the search. settings, memory: the board's, for its fan's pulses. spare: sequences as long
    as x, y, k and e, written over. low, high: the band, C. plan: the numbers of the first level, the second and the
    pull to begin with, carried on."""
    before = y[SHEATH]
    for i in range(cycles):
        look(x, y, k, e)
        read(y, k, noise[i])
        if i % STEP == 0:
            choose(settings, memory, family, x, c, y, k, e, w, noise, spare, i, low, high, plan, before)
        level = leant(plan, (low + high) / 2.0, y[SHEATH], before) if plan[0] == LEANT else LEVELS[plan[0]]
        before = y[SHEATH]
        y[DUTY] = duty(settings, memory, int(level * 10000.0 + 0.5)) / 10000.0
        note(x, y, trace, i, level, 0, 0, 0)
        run(family, x, c, y, k, e, w, 2)


def leant(plan, middle, sheath, before):
    """The second level with its pull and brake, 0..1; before: the probe a period ago."""
    level = LEVELS[plan[1]] + PULLS[plan[2]] * (middle - sheath - AHEAD_S * (sheath - before) / 2.0)
    return min(1.0, max(0.0, level))


def choose(settings, memory, family, x, c, y, k, e, w, noise, spare, now, low, high, plan, before):
    """Find the plan that costs least, one of its numbers at a time, until none gets better."""
    plan[0] = LEANT
    best = trial(settings, memory, family, x, c, y, k, e, w, noise, spare, now, low, high, plan, before, 1e18)
    still = 0
    which = 1
    while still < 3:
        still += 1
        old = plan[which]
        choices = LEANT + 1 if which == 0 else LEANT if which == 1 else len(PULLS)
        found = old
        for n in range(choices):
            if n != old:
                plan[which] = n
                cost = trial(
                    settings, memory, family, x, c, y, k, e, w, noise, spare, now, low, high, plan, before, best
                )
                if cost < best:
                    best = cost
                    found = n
                    still = 1
        plan[which] = found
        which = (which + 1) % 3


def trial(settings, memory, family, x, c, y, k, e, w, noise, spare, now, low, high, plan, before, most):
    """What a plan would cost from this period on; given up as soon as it costs more than `most`."""
    tx, ty, tk, te = spare
    copy(x, tx)
    copy(y, ty)
    copy(k, tk)
    copy(e, te)
    for i in range(0, len(te), ROW):  # no lid to come is known of; one that is up comes down at its time
        if te[i + E_KIND] == LID or te[i + E_KIND] == MEAT:
            te[i + E_DONE] = 1.0
    credit, given = memory.credit, memory.duty
    middle, half = (low + high) / 2.0, (high - low) / 2.0
    cost = 0.0
    off = 0.0
    for j in range(min(LOOK, len(noise) - now)):
        if j > 0:
            look(tx, ty, tk, te)
            read(ty, tk, noise[now + j])
            off = (ty[READING] - middle) / half
            cost += MIDDLE * min(off * off, 9.0)
            if ty[READING] < low:
                cost += 1.0 + PER_C * (low - ty[READING])
            elif ty[READING] > high:
                cost += 1.0 + PER_C * (ty[READING] - high)
                if ty[MEAT_AT] < 0.0 and ty[READING] > high + OVER_C:
                    cost += OVER
            if cost >= most:
                break
        level = LEVELS[plan[0]] if j < STEP and plan[0] < LEANT else leant(plan, middle, ty[SHEATH], before)
        before = ty[SHEATH]
        ty[DUTY] = duty(settings, memory, int(level * 10000.0 + 0.5)) / 10000.0
        run(family, tx, c, ty, tk, te, w, 2)
    memory.credit = credit
    memory.duty = given
    return cost + STANDING * min(off * off, 9.0)


def copy(source, target):
    """Copy one sequence into another of its length."""
    for i in range(len(source)):
        target[i] = source[i]

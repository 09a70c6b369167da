"""What the board learns of its fire while it holds: how strongly to answer.

One gain does not suit every fire. A quick, strong one swings for hours between the edges of its band; a slow, heavy one
comes back late. So the law works with a share of the set gain (`share`). Swings lower it, late returns raise it. Each
needs far more than a quiet night shows, so it does not drift. What was learned stays for the next cook on this board:
that one climbs with the set gain and begins to hold half-way between the set gain and what was learned.
"""

from . import law, witness
from .fields import CARRIED, CLIMBING, HOLDING, SLUGGISH, STRONG, SWUNG, WHOLE
from .whole import clip, count_up

HALF = 240  # cycles, 8 min: a longer half swing is the weather's, not the law's
WIDE = 4 * 1600  # 1/1600 C: a smaller half swing costs nothing in a band of 14 C
ENOUGH = 4  # half swings in a row
LESS = 800  # of 1000: what is left of the share after them
OFF_AIM = 3 * 1600  # 1/1600 C: so far off the aim,
LATE = 200  # cycles, 6.7 min: for so long, though the fan could do more, or less
MORE = 1150  # of 1000
LEAST, MOST = 250, 1500  # of 1000
BEGIN_LEAST = 400  # of 1000


def begin(settings, memory):
    """The pit has arrived: the holding begins half-way between the set gain and what was learned before."""
    if settings.learn and memory.learned != WHOLE:
        memory.share = (WHOLE + memory.learned) // 2
        memory.lesson = CARRIED


def begin_with(memory, most):
    """The first arrival is over, and the fan has shown how strong it is: no more than this share, 0.1 %."""
    most = max(BEGIN_LEAST, most)
    if memory.share > most:
        memory.share = most
        memory.lesson = STRONG


def watch(settings, memory, demand):
    """Once a cycle while the band is held: count the swings and the late returns that nothing but the law explains."""
    if settings.learn == 0 or not calm(memory):
        memory.swings = 0
        memory.swing_at = memory.smooth
        memory.swing_for = 0
        memory.late = 0
        return
    watch_swings(memory)
    watch_returns(settings, memory, demand)


def calm(memory):
    """1 while the law alone moves the pit: no lid, hand, experiment, new band, doubt, fading fire or weak supply."""
    if memory.trial_left > 0 or witness.accuses(memory):
        return 0
    if memory.state != HOLDING and memory.state != CLIMBING:  # of the cycle before
        return 0
    if memory.recover_left > 0 or memory.weak_left > 0 or memory.more_cycles > 0 or memory.doubt:
        return 0
    return 1 if memory.aim == law.goal(memory) else 0


def watch_swings(memory):
    """Half swings in a row, each wide enough and short enough: answer less.

    A half swing ends when the pit has turned back by WIDE from its extreme, `swing_at`.
    """
    memory.swing_for = count_up(memory.swing_for)
    if memory.swing_up:
        memory.swing_at = max(memory.swing_at, memory.smooth)
    else:
        memory.swing_at = min(memory.swing_at, memory.smooth)
    if -WIDE <= memory.swing_at - memory.smooth <= WIDE:
        if memory.swing_for > HALF:
            memory.swings = 0
        return
    memory.swings = memory.swings + 1 if memory.swing_for <= HALF else 1
    memory.swing_up = 1 - memory.swing_up
    memory.swing_at = memory.smooth
    memory.swing_for = 0
    if memory.swings >= ENOUGH:
        memory.swings = 0
        memory.late = 0
        answer(memory, memory.share * LESS // WHOLE, SWUNG)


def watch_returns(settings, memory, demand):
    """Off the aim for long, though the fan could do more, or less: answer more."""
    off = memory.smooth - memory.aim
    short = off < -OFF_AIM and demand < settings.ceiling
    if memory.settled and (short or (off > OFF_AIM and demand > 0)):
        memory.late += 1
    else:
        memory.late = 0
    if memory.late >= LATE:
        memory.late = 0
        answer(memory, memory.share * MORE // WHOLE, SLUGGISH)


def answer(memory, share, lesson):
    """From now on the law works with this share of the set gain."""
    share = clip(share, LEAST, MOST)
    if share != memory.share:
        memory.share = memory.learned = share
        memory.lesson = lesson

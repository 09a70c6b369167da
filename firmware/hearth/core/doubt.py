"""Doubt: the fire takes more air than the reading explains. It is weak, or the probe reads cool and the pit is hot.

A slipped probe and cold meat look alike: both read low. Air tells them apart. `strain` adds up the fan used beyond the
recent need while the pit is below its band.
"""

from . import openings
from .climb import MOST_AIR
from .fields import CLIMB_COUNTED, CLIMB_UNSEEN, FULL
from .whole import clip, count_up, seconds

MORE_FOR = 20  # cycles
THROTTLED = 2000  # 0.01 %: a fire that needed less than this burns low
LEAST_CUT = THROTTLED // 2  # 0.01 %: keeps a low fire alive
TIMES_BEFORE = 2  # more than so many times what it took before the meat went on, cold meat does not explain
NEVER = 2 * FULL  # 0.01 %: more than any demand


def add_strain(memory, demand):
    """Add up the air beyond what was lately needed, while the pit is below its band."""
    if memory.smooth >= memory.low * 16:
        memory.strain = 0
    else:
        memory.strain = clip(memory.strain + max(0, demand - memory.lately // 1000), 0, MOST_AIR)


def strained(settings, memory):
    """1 when all the air beyond what it lately needed has not brought the pit into its band: one that has been there,
    or was started hot, or whose lid went up on the way; only a climb from the cold takes what it takes. The fire is
    weak, or the probe lies where it reads cool and the true pit is far hotter. Which, a person must see: until then the
    fan does no more than it lately did."""
    lid = memory.openings > 0 and memory.climb_seen == CLIMB_COUNTED
    shown = memory.arrived or memory.climb_seen == CLIMB_UNSEEN or lid
    return 1 if shown and memory.strain >= allowed(settings, memory) else 0


def allowed(settings, memory):
    """How much air beyond the usual may be spent on bringing the pit back, 0.01 % x cycles.

    Twice what the first climb took for its last 60 C: in rehearsals of five kinds of cooker with half, usual and twice
    the fan a true pit then stands at 120 to 220 C, and most cold meat takes less. Half of that after a later opening,
    by which no cold meat goes on; up to twice it where the fire burned low before and must be lit again.
    """
    most = seconds(settings.strain_after) * FULL
    if memory.climb_seen == CLIMB_COUNTED:
        most = clip(memory.climb, most // 8, most) * 2
    if openings.later(memory):
        most //= 2
    throttled = clip(THROTTLED - memory.lately // 1000, 0, THROTTLED)
    return most + most // THROTTLED * throttled


def cut_to(memory):
    """What is left to the fan of a strained fire, 0.01 %: what it lately did, and enough to keep a low fire alive."""
    return max(memory.lately // 1000, LEAST_CUT)


def watch_more(settings, memory):
    """Count how long the fire has needed clearly more than usual; while that is not known, far more than it needed
    before the first opening, more than cold meat explains: then the probe may have come to read cool."""
    known = memory.held >= seconds(settings.fade_known)
    more = memory.usual + settings.fade_more * 1000 if known else beyond_meat(memory) * 1000
    if memory.lately >= more:
        memory.more_cycles = count_up(memory.more_cycles)
    else:
        memory.more_cycles = 0
    if known:
        memory.doubt = 0  # from here on what is usual says it
    elif memory.more_cycles >= MORE_FOR:
        memory.doubt = 1


def beyond_meat(memory):
    """More air than this, 0.01 %, cold meat does not explain; all of it where the fire burned low before."""
    if memory.before < LEAST_CUT * 1000:
        return NEVER
    return memory.before * TIMES_BEFORE // 1000

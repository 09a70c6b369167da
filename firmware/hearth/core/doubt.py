"""Doubt: the fire takes more air than the reading explains. It is weak, or the probe reads cool and the pit is hot.

A slipped probe and cold meat look alike: both read low. Air tells them apart. `strain` adds up the fan used beyond the
recent need while the pit is below where that need held it.

A doubt calls a person and keeps the fan at what lately kept this fire alive; where that is not known the fan is held as
before. It ends only when a person has looked at the probe: a slipped probe climbs, too, and a start, an acknowledgement
or another band say nothing of where it lies.
"""

from . import openings
from .climb import MOST_AIR
from .fields import FULL
from .trips import begin_doubt
from .whole import clip, count_up, seconds

MORE_FOR = 20  # cycles
THROTTLED = 2000  # 0.01 %: a fire that needed less than this burns low
LEAST_KEPT = THROTTLED // 2  # 0.01 %: keeps a low fire alive
TIMES_BEFORE = 2  # more than so many times what it took before the meat went on, cold meat does not explain
UNMOVED = 3  # a probe slips when somebody is at the pit: without a lid before, so many times the air is allowed
NEVER = 2 * FULL  # 0.01 %: more than any demand


def watch(settings, memory, demand):
    """Once a cycle while the band is held: gather the evidence, and begin to doubt when there is enough.

    Guard: the probe reads cool, or the fire is weak
        cause: a probe that slipped and reads cool over a far hotter pit; or cold meat, a weak fire
        evidence: after a lid, below where it was held: more air beyond what it lately needed than ALLOWED (half after
            a later opening, up to twice where the fire burned low, three times without a lid before)
        clears: the order `looked`, or a long press of the button; no start, acknowledgement, band or climbing reading
            does
        does: calls a person; the fan does no more than it lately did (or 10 %)
        bounds: strain_after
        reads: The fire takes far more air than the pit's reading explains: look at the probe first
        tests: case_doubt, test_twin_guards

    Guard: a climb that takes far more than it began with
        cause: a probe that slipped when a lid went up on the way to the band
        evidence: after a lid in the first climb: four times the air that its own beginning shows for the way still to
            go
        clears: the order `looked`
        does: calls a person; the fan goes on, since nothing is known of what this fire needs
        bounds: none
        reads: the same
        tests: case_doubt, test_twin_guards
    """
    watch_more(settings, memory)
    if memory.weak_left > 0:  # this air was asked for and not given
        return
    if memory.arrived == 0:
        if memory.climb_due > 0:
            memory.strain = clip(memory.strain + demand, 0, MOST_AIR)
            if memory.strain >= memory.climb_due:
                begin_doubt(memory)
        return
    if memory.smooth >= memory.proven * 16:
        memory.strain = 0
        memory.lid_since = 0
    else:
        memory.strain = clip(memory.strain + max(0, demand - memory.lately // 1000), 0, MOST_AIR)
        if memory.strain >= allowed(settings, memory):
            begin_doubt(memory)


def allowed(settings, memory):
    """How much air beyond the usual may be spent on bringing the pit back, 0.01 % x cycles.

    Half of it after a later opening, by which no cold meat goes on; up to twice it where the fire burned low before and
    must be lit again.
    """
    most = seconds(settings.strain_after) * FULL
    if memory.lid_since == 0:
        return most * UNMOVED
    if openings.later(memory):
        most //= 2
    throttled = clip(THROTTLED - memory.lately // 1000, 0, THROTTLED)
    return most + most // THROTTLED * throttled


def keeps(memory):
    """The most that a doubted fire is given, 0.01 %: what it lately did, and enough to keep a low fire alive; no bound
    where no holding has shown that."""
    if memory.held == 0:
        return FULL
    return max(memory.lately // 1000, LEAST_KEPT)


def watch_more(settings, memory):
    """Count how long the fire has needed clearly more than usual; while that is not known, far more than it needed
    before the first opening, more than cold meat explains: then the probe may have come to read cool.

    Guard: the probe reads cool and comes back into the band
        cause: a probe that slipped and still follows most of the pit's rise
        evidence: for the first 2.5 h held, more than double the air it took before the meat went on (from 10 % on)
        clears: the order `looked`
        does: calls a person; the fan does no more than it lately did
        bounds: fade_known
        reads: the same
        tests: case_doubt, test_twin_guards
    """
    known = memory.held >= seconds(settings.fade_known)
    more = memory.usual + settings.fade_more * 1000 if known else beyond_meat(memory) * 1000
    if memory.lately >= more:
        memory.more_cycles = count_up(memory.more_cycles)
    else:
        memory.more_cycles = 0
    if memory.more_cycles >= MORE_FOR and not known:
        begin_doubt(memory)


def beyond_meat(memory):
    """More air than this, 0.01 %, cold meat does not explain; all of it where the fire burned low before."""
    if memory.before < LEAST_KEPT * 1000:
        return NEVER
    return memory.before * TIMES_BEFORE // 1000

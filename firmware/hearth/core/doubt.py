"""Doubt: the pit reads lower than the air it gets explains. The fire is weak, or the probe reads cool over a hot pit.

A slipped probe and cold meat look alike: both read low, and both take air. How low, and for how long, tells them apart:
walls that are still hot bring a true reading back within minutes, whatever lies on the grate. `lack` adds up what is
missing beyond far below the band (`out_below`), while the fan does more than it lately did.

A doubt calls a person and keeps the fan at what lately kept this fire alive; where that is not known the fan is held as
before. It ends only when a person has looked at the probe: a slipped probe climbs, too, and a start, an acknowledgement
or another band say nothing of where it lies.
"""

from . import openings
from .climb import MOST_AIR
from .fields import FULL, PERIOD_MS
from .trips import begin_doubt
from .whole import clip, count_up, seconds

MOST_LACK = 1073000000  # 0.01 C x cycles
A_MINUTE = 100 * 60000 // PERIOD_MS  # C min -> 0.01 C x cycles
MORE_FOR = 20  # cycles
LEAST_KEPT = 1000  # 0.01 %: keeps a fire alive that burned low
TIMES_BEFORE = 2  # more than so many times what it took before the meat went on, cold meat does not explain
UNMOVED = 3  # a probe slips when somebody is at the pit: without a lid before, so many times the lack is allowed
NEVER = 2 * FULL  # 0.01 %: more than any demand


def watch(settings, memory, demand):
    """Once a cycle while the band is held: gather the evidence, and begin to doubt when there is enough.

    Guard: the probe reads cool, or the fire is weak
        cause: a probe that slipped and reads cool over a far hotter pit; or a weak fire
        evidence: more than 20 C below where it was held while the fan does more than it lately did: 150 C min beyond
            that after a lid (7 min at 40 C below), half of it after a later lid, three times as much without a lid
        clears: the order `looked`, or a long press of the button; no start, acknowledgement, band or climbing reading
            does
        does: calls a person; the fan does no more than it lately did (or 10 %)
        bounds: lack_most, out_below
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
            memory.climb_spent = min(memory.climb_spent + demand, MOST_AIR)
            if memory.climb_spent >= memory.climb_due:
                begin_doubt(memory)
        return
    if memory.smooth >= memory.proven * 16:
        memory.lack = 0
        memory.lid_since = 0
    elif demand > memory.lately // 1000:
        missing = memory.proven - settings.out_below - (memory.smooth >> 4)
        memory.lack = clip(memory.lack + max(0, missing), 0, MOST_LACK)
        if memory.lack >= allowed(settings, memory):
            begin_doubt(memory)


def allowed(settings, memory):
    """How much may be missing, 0.01 C x cycles: half after a later lid, by which no cold meat goes on."""
    most = settings.lack_most * A_MINUTE
    if memory.lid_since == 0:
        return most * UNMOVED
    return most // 2 if openings.later(memory) else most


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

"""Doubt: the pit reads lower than the air it gets explains. The fire is weak, or the probe reads cool over a hot pit.

A slipped probe and cold meat look alike: both read low, and both take air. How low, and for how long, tells them apart:
walls that are still hot bring a true reading back within minutes, whatever lies on the grate. `lack` adds up what is
missing beyond 20 C below, while the fan does more than it lately did. A probe that lies on something warm reads nearly
right; that takes air, and `strain` adds up what the fan does more. Meat that a person has noted explains a part of both
(`cold_meat.py`).

A doubt calls a person and holds the pit where it reads (`held_back.py`). It ends when a person has looked at the probe,
or notes meat late that explains it. A slipped probe climbs, too, and a start, an acknowledgement or another band say
nothing of where it lies.
"""

from . import cold_meat, held_back, law, openings
from .climb import MOST_AIR
from .fields import BY_AIR, FULL, NO_LID, PERIOD_MS
from .whole import clip

MOST_LACK = 1073000000  # 0.01 C x cycles
A_SECOND = FULL * 1000 // PERIOD_MS  # s of full fan -> 0.01 % x cycles
A_MINUTE = 100 * 60000 // PERIOD_MS  # C min -> 0.01 C x cycles
UNMOVED = 300  # %: without a lid before; a probe slips when somebody is at the pit
LOOKS_SLIPPED = 17  # %: after a fall that nobody announced and that stopped at once
NINTH = 900  # %: a reading that comes back a ninth as fast as it fell may show all of the evidence
LEAST_SHARE, MOST_SHARE = 40, 300  # %
FAST_FALL = 12800  # 1/51200 C/s, 15 C/min: a slower fall is the weather's and tells nothing of the probe


def watch(settings, memory, demand):
    """Once a cycle while the band is held: gather the evidence, and begin to doubt when there is enough.

    Guard: the probe reads cool, or the fire is weak
        cause: a probe that slipped and reads cool over a far hotter pit; or a weak fire
        evidence: more than 20 C below where it was held while the fan does more than it lately did: 180 C min beyond
            that after a lid (6 min at 50 C below) where the reading comes back a ninth as fast as it fell; in this
            proportion 72 to 540 C min, half as much, but 72 at least, after a later lid; 31 C min after a fall of 35 C
            that nobody announced and that stopped; 540 C min without a lid. Or, in the same shares, 30 min of full fan
            beyond what it lately did. Cold meat that is noted adds 20 C min and 53 s of full fan for each kg beyond 8,
            until the pit is back after its lid, for two hours at most, half an hour of them in the band
        clears: the order `looked`, or a long press of the button; cold meat noted late, where it explains what raised
            it; no start, acknowledgement, band or climbing reading does
        does: calls a person; the pit is held where it reads and let up by 25 C at most, to 15 C below its band; the
            fan does no less than it lately did (`held_back.py`)
        bounds: lack_most, lack_below, strain_after
        reads: The fire takes far more air than the pit's reading explains: look at the probe first
        tests: case_doubt, case_cold_meat, test_twin_doubt, tests/bench/fires.py

    Guard: a climb that takes far more than it began with
        cause: a probe that slipped when a lid went up on the way to the band
        evidence: after a lid in the first climb: six times the air that its own beginning shows for the way still to
            go, and 10 min of full fan, and 53 s for each kg beyond 8 of cold meat that is noted; or the lack of the row
            above, against where it stood before the lid
        clears: the order `looked`; cold meat noted late, where it explains that
        does: calls a person; the fan goes on, since nothing is known of what this fire needs
        bounds: none
        reads: the same
        tests: case_doubt, case_cold_meat, test_twin_doubt, tests/bench/fires.py
    """
    if memory.weak_left > 0:  # this air was asked for and not given
        return
    if memory.climb_due > 0 and memory.arrived == 0:
        memory.climb_spent = min(memory.climb_spent + demand, MOST_AIR)
        if climbed_enough(memory):
            held_back.begin(memory)
    if memory.smooth >= memory.proven * 16:
        if memory.lid_since > 0 and memory.arrived:
            cold_meat.warmed(memory)
        memory.lack = 0
        memory.strain = 0
        memory.lid_since = 0
        return
    more = demand - memory.lately // 1000
    if more > 0 and memory.doubt == 0:  # what has raised a doubt stays, to be weighed again
        missing = memory.proven - settings.lack_below - (memory.smooth >> 4)
        memory.lack = clip(memory.lack + max(0, missing), 0, MOST_LACK)
        if memory.held > 0:  # on the way to the band nothing is beyond the usual
            memory.strain = min(memory.strain + more, MOST_AIR)
        known = not openings.returning(settings, memory)  # how the reading comes back from a lid
        if known and fell_enough(settings, memory):
            held_back.begin(memory)


def weigh(settings, memory):
    """Cold meat has been noted: a doubt that air alone has raised ends if the meat explains what raised it."""
    if memory.doubt == BY_AIR and not (fell_enough(settings, memory) or climbed_enough(memory)):
        memory.doubt = 0
        memory.aim = law.goal(memory)


def climbed_enough(memory):
    """1 where a climb with a lid on the way has taken more than its beginning and cold meat explain."""
    spent = memory.climb_spent - cold_meat.strains(memory)
    return 1 if 0 < memory.climb_due <= spent and memory.arrived == 0 else 0


def fell_enough(settings, memory):
    """1 where a pit below where it was held shows more than cold meat explains."""
    if memory.lack >= allowed(memory, settings.lack_most * A_MINUTE) + cold_meat.lacks(memory):
        return 1
    most = allowed(memory, settings.strain_after * A_SECOND) + cold_meat.strains(memory)
    return 1 if memory.strain >= most else 0


def allowed(memory, most):
    """How much of `most` the pit may show before it is doubted.

    A probe that slips falls at once. When the lid is shut it follows the pit's air by its share only. So a reading that
    fell fast and comes back slowly needs less evidence than cold meat, which comes back fast as far as the walls reach.
    Half of that after a later lid, by which no cold meat goes on.
    """
    if memory.lid_since == 0:
        return most // 100 * UNMOVED
    if memory.lid_since == NO_LID:
        return most // 100 * LOOKS_SLIPPED
    share = clip(memory.rose_fast * NINTH // max(1, memory.fell_fast), LEAST_SHARE, MOST_SHARE)
    if memory.fell_fast < FAST_FALL:
        share = max(share, 100)
    if openings.later(memory):
        share = max(share // 2, LEAST_SHARE)
    return most // 100 * share

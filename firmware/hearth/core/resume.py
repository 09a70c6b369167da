"""After a restart: go on where the board stood, or stay off and call.

A watchdog's bite lasts some 10 s. `BOARD_SHORT` says that the board knows it: the number of the last cycle has outlived
the bite, and the memory on flash is of that cook. Then it goes on at any temperature, in a climb or after a lid, too:
no fire changes in that time. Of any other outage the board does not know how long it was; then the pit itself is the
evidence: with the fan off every cooker loses heat, and one that still stands near its band was not without the fan for
long, and its fire is not out. A pit that has fallen further is left alone: nobody knows what the fire looks like, and
the first air into a bed that has starved for hours lights it again under the meat.
"""

from . import forget, law, openings
from .fields import (
    BOARD_SHORT,
    MODE_HAND,
    MODE_HOLD,
    NO_RESUME,
    NO_TRIP,
    RESUME_PENDING,
    RESUME_REFUSED,
    RESUMED,
)
from .law import SURE

WAIT = 150  # cycles, 5 min: a resume that has found no good reading by then is refused


def wake(memory):
    """Once, at power-up, on a memory kept from before the cut: what RAM alone knew is forgotten, the fan is off."""
    held = memory.mode == MODE_HOLD or (memory.mode == MODE_HAND and memory.hand_from == MODE_HOLD)
    memory.resume = RESUME_PENDING if held and memory.trip == NO_TRIP else NO_RESUME
    memory.resume_left = WAIT
    forget.at_power(memory)


def watch(settings, now, memory):
    """Once a cycle: decide a waiting resume, once there are readings enough to be sure of one.

    Guard: power cut
        cause: the plug is pulled, a fuse, an empty battery
        evidence: the memory kept on flash says that it was holding; three readings, 6 s
        clears: -
        does: goes on if the pit is within 25 C of its band, else stays off
        bounds: resume_below
        reads: Went on by itself; or: the fan stays off
        tests: case_resume, test_stored_bites, test_twin_guards

    Guard: short outage
        cause: the watchdog's bite
        evidence: the watchdog's register holds the number of the last finished cycle, for half a minute at most; the
            memory on flash is at most 20 min behind it
        clears: -
        does: goes on at any temperature, without a surge
        bounds: none
        reads: Went on by itself
        tests: case_resume, board_cases, test_stored_bites, test_twin_bites
    """
    if memory.resume != RESUME_PENDING:
        return
    if memory.trip != NO_TRIP:
        memory.resume = RESUME_REFUSED
    elif memory.seen >= SURE:
        if now.board & BOARD_SHORT or memory.pit >= memory.low - settings.resume_below:
            memory.mode = MODE_HOLD
            memory.calm_left = openings.CALM
            if memory.arrived and memory.pit < memory.low:  # a lid may just have been up: no surge
                memory.recover_left = openings.recovery(settings)
            memory.aim = law.goal(memory)
            memory.resume = RESUMED
        else:
            memory.resume = RESUME_REFUSED
    elif memory.resume_left > 0:
        memory.resume_left -= 1
    else:
        memory.resume = RESUME_REFUSED

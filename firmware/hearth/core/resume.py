"""After a power cut: go on where the board stood, or stay off and call.

The board has no clock that runs without power, so the pit itself is the evidence: with the fan off every cooker loses
heat, and one that still stands near its band cannot have been without the fan for long, nor can its fire be out.
A pit that has fallen further is left alone: nobody knows what the fire looks like, and the first air into a bed that
has starved for hours lights it anew under the meat.
"""

from . import forget, law, openings
from .fields import MODE_HAND, MODE_HOLD, NO_RESUME, NO_TRIP, RESUME_PENDING, RESUME_REFUSED, RESUMED
from .reading import good

WAIT = 150  # cycles, 5 min: a resume that has found no good reading by then is refused


def wake(memory):
    """Once, at power-up, on a memory kept from before the cut: what RAM alone knew is forgotten, the fan is off."""
    held = memory.mode == MODE_HOLD or (memory.mode == MODE_HAND and memory.hand_from == MODE_HOLD)
    memory.resume = RESUME_PENDING if held and memory.trip == NO_TRIP else NO_RESUME
    memory.resume_left = WAIT
    forget.at_power(memory)


def watch(settings, memory):
    """Once a cycle: decide a waiting resume on the first good reading."""
    if memory.resume != RESUME_PENDING:
        return
    if memory.trip != NO_TRIP:
        memory.resume = RESUME_REFUSED
    elif good(memory):
        if memory.last >= memory.low - settings.resume_below:
            memory.mode = MODE_HOLD
            memory.calm_left = openings.CALM
            memory.aim = law.goal(memory)
            memory.resume = RESUMED
        else:
            memory.resume = RESUME_REFUSED
    elif memory.resume_left > 0:
        memory.resume_left -= 1
    else:
        memory.resume = RESUME_REFUSED

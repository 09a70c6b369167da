"""A short experiment while the band is held: steps of the fan about its need, to see how this pit answers.

The steps are turned by the pit itself: up until it stands a little above where it is centred, down until a little
below (a relay; Astrom and Hagglund, Automatica 20, 1984, 645-651), or after QUARTER at the latest. So the pit swings at
the very pace that matters for its gain, and stays within the band. Nothing is learned from it on the board: what the
fire is owed and usually needs stands until the end, and the law goes on from the demand it had.
"""

from . import law, witness
from .fields import (
    ACCEPTED,
    FADING,
    FULL,
    MODE_HOLD,
    NOT_RUNNING,
    NOT_STEADY,
    ORDER_OPENED,
    ORDER_START,
    OUT_OF_RANGE,
)
from .whole import clip, seconds

EDGE = 150  # 0.01 C from an edge of the band: here it ends
TURN = 80  # 0.01 C from its centre: here the step turns
QUARTER = 300  # cycles, 10 min: the longest one way
STEADY = 450  # cycles held, 15 min, before it may begin
LEAST, MOST = 100, 1500  # 0.01 %: its step
LONGEST = 2400  # s


def begin(settings, now, memory):
    """The order: `first` is the step, 0.01 %, `second` the seconds it may last; 0 ends it."""
    if now.second == 0:
        if memory.trial_left == 0:
            return NOT_RUNNING
        memory.trial_left = 1
        return ACCEPTED
    if not (LEAST <= now.first <= MOST and now.second <= LONGEST):
        return OUT_OF_RANGE
    if memory.mode != MODE_HOLD:
        return NOT_RUNNING
    if not steady(memory) or near(memory):
        return NOT_STEADY
    memory.trial_left = seconds(now.second)
    memory.trial_base = clip(memory.lately // 1000, 0, settings.ceiling)
    memory.trial_step = now.first
    memory.trial_up = 0 if memory.pit > middle(memory) else 1
    memory.trial_for = 0
    return ACCEPTED


def steady(memory):
    """1 while nothing disturbs the pit and its need is known."""
    if memory.arrived == 0 or memory.held < STEADY or memory.doubt or witness.accuses(memory) or memory.state == FADING:
        return 0
    return 1 if memory.open_left == 0 and memory.recover_left == 0 and memory.calm_left == 0 else 0


def middle(memory):
    """Where the swing is centred, 0.01 C: the middle of the band."""
    return (memory.low + memory.high) // 2


def near(memory):
    """1 where the pit stands near an edge of its band."""
    return 0 if memory.low + EDGE <= memory.pit <= memory.high - EDGE else 1


def watch(settings, now, memory, calls, rest):
    """Once a cycle. End it where it must; calls: 1 while something stops the fan; rest: pull + need - brake.

    Guard: an experiment that leaves the band
        cause: steps of the fan that the pit does not take as expected, a lid, a fire that fades
        evidence: the pit within 1.5 C of an edge of its band, a lid, a doubt, a fire that fades, anything that stops
            the fan; 40 min in all
        clears: -
        does: ends the experiment; the law goes on from the demand before it
        bounds: none
        reads: -
        tests: case_experiment, test_twin_inhibits
    """
    if memory.trial_left == 0:
        return
    memory.trial_left -= 1
    other = ORDER_START <= now.order <= ORDER_OPENED  # a person has other plans
    if calls or other or memory.mode != MODE_HOLD or not steady(memory) or near(memory):
        memory.trial_left = 0
    if memory.trial_left == 0 and memory.mode == MODE_HOLD:
        law.owe(memory, memory.trial_base, rest)


def demand(settings, memory):
    """The demand of this cycle, 0.01 %: the step turns where the pit has come far enough, or has had its time."""
    memory.trial_for += 1
    above = memory.smooth - middle(memory) * 16
    far = above >= TURN * 16 if memory.trial_up else above <= -TURN * 16
    if far or memory.trial_for >= QUARTER:
        memory.trial_up = 1 - memory.trial_up
        memory.trial_for = 0
    step = memory.trial_step if memory.trial_up else -memory.trial_step
    return clip(memory.trial_base + step, 0, min(settings.ceiling, FULL))

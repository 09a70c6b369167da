"""A fire that fades, and one that is out."""

from . import doubt, parts
from .fields import TRIP_FIRE, TRIP_SUPPLY
from .trips import trip
from .whole import clip, count_up, seconds

MORE_FOR = 150  # cycles, 5 min: gusts and the time after a lid are over by then
GUSTS = 3  # times what the demand strays by: the need must rise by at least that
FLAT = 64  # 0.075 C/min: not rising; falling slower than this, not falling


def watch(settings, memory, demand):
    """Once a cycle while the band is held; returns 1 when the fire is fading.

    Two signs: it needs more air than it has usually needed, or a high fan does not lift the pit at all. The second,
    far below the band and long enough, is no fire any more: it trips, and no cold air is blown over the meat.

    Guard: no answer from the fire
        cause: the fuel is burnt, ash or a bridge of coal, water on the coals
        evidence: a fan of 85 % (or the ceiling) under a pit that does not rise, for 30 min, 20 C below the band; said
            after 8 min
        clears: a person: acknowledge, then start, once the pit rises no more than 3 C/min; the probe stays doubted
            until somebody has looked at it
        does: says that the fire fades, then trips, so that no cold air is blown over the meat
        bounds: fade_fan, fade_after, out_after, out_below
        reads: The fire is fading; No answer from the fire: look at the probe, knock the ash, check the fuel
        tests: case_fire, test_twin_guards

    Guard: the fire fades
        cause: the fuel runs out while the pit is still in its band
        evidence: 12 % more fan than usual for 5 min, once 2.5 h held show what is usual; in gusts more: three times
            what the demand strayed by in the last quarter of an hour
        clears: the need falls again
        does: says so; the fan goes on
        bounds: fade_more, fade_known
        reads: The fire is fading
        tests: case_fire, test_twin_doubt
    """
    doubt.watch(settings, memory, demand)
    low = memory.low * 16
    if memory.smooth < low and demand >= min(settings.fade_fan, settings.ceiling):
        step = -2 if memory.slope >= FLAT else 1
        memory.full_cycles = clip(memory.full_cycles + step, 0, 32000)
    else:
        memory.full_cycles = max(0, memory.full_cycles - 2)
    if memory.full_cycles >= seconds(settings.out_after) and memory.smooth < low - settings.out_below * 16:
        trip(memory, TRIP_SUPPLY if parts.sags(memory) else TRIP_FIRE)
    more = watch_more(settings, memory)
    if memory.full_cycles >= seconds(settings.fade_after) or memory.doubt:
        return 1
    return more


def watch_more(settings, memory):
    """1 while the fire has for long needed clearly more than it usually does, once that is known.

    A fire that fades needs more, minute by minute. In gusts the demand goes up and down: what it strays by is no
    greater need yet, and a few times that may well last some minutes.
    """
    known = memory.held >= seconds(settings.fade_known)
    more = max(settings.fade_more * 1000, memory.gusts * GUSTS)
    if not known or memory.lately < memory.usual + more:
        memory.more_cycles = 0
    elif memory.calm_left == 0:  # after a lid nothing new is learnt of the need
        memory.more_cycles = count_up(memory.more_cycles)
    return 1 if memory.more_cycles >= MORE_FOR else 0

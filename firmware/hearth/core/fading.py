"""A fire that fades, and one that is out."""

from . import doubt, parts
from .fields import TRIP_FIRE, TRIP_SUPPLY
from .trips import trip
from .whole import clip, seconds

FLAT = 64  # 0.075 C/min: not rising; falling slower than this, not falling
SUNK = 6400  # 1/1600 C, 4 C


def watch(settings, memory, demand):
    """Once a cycle while the band is held; returns 1 when the fire is fading.

    Two signs: it needs more air than it has usually needed, or a high fan does not lift the pit at all. The second,
    far below the band and long enough, is no fire any more: it trips, and no cold air is blown over the meat.
    """
    doubt.watch(settings, memory, demand)
    low = memory.low * 16
    if memory.smooth < low and demand >= min(settings.fade_fan, settings.ceiling):
        step = -2 if memory.slope >= FLAT else 1
        memory.full_cycles = clip(memory.full_cycles + step, 0, 32000)
    elif memory.smooth < low and memory.doubt:
        watch_sinking(settings, memory)
    else:
        memory.full_cycles = max(0, memory.full_cycles - 2)
    if memory.full_cycles >= seconds(settings.out_after) and memory.smooth < low - settings.out_below * 16:
        trip(memory, TRIP_SUPPLY if parts.sags(memory) else TRIP_FIRE)
    if memory.full_cycles >= seconds(settings.fade_after) or memory.doubt:
        return 1
    return 1 if memory.more_cycles >= doubt.MORE_FOR else 0


def watch_sinking(settings, memory):
    """A fire that is held back in doubt is dead only if it goes on sinking: one that stands lives on what it is given.

    Judged each hour (twice `out_after`), against the pit an hour ago; the first hour, in which it settles, against
    nothing.
    """
    memory.full_cycles = clip(memory.full_cycles + (memory.cycles & 1), 0, 32000)
    if memory.full_cycles >= seconds(settings.out_after) and memory.smooth > memory.mark - SUNK:
        memory.full_cycles = 0
        memory.mark = memory.smooth

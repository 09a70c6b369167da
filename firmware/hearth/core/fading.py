"""A fire that fades, and one that is out."""

from . import doubt, parts
from .fields import TRIP_FIRE, TRIP_SUPPLY
from .trips import trip
from .whole import clip, seconds

FLAT = 64  # 0.075 C/min: not rising; falling slower than this, not falling


def watch(settings, memory, demand):
    """Once a cycle while the band is held; returns 1 when the fire is fading.

    Two signs: it needs more air than it has usually needed, or a high fan does not lift the pit at all. The second,
    far below the band and long enough, is no fire any more: it trips, and no cold air is blown over the meat.
    """
    low = memory.low * 16
    doubt.watch_more(settings, memory)
    full = demand >= min(settings.fade_fan, settings.ceiling)
    cut = doubt.strained(settings, memory)
    if memory.smooth < low and (full or cut):
        step = -2 if memory.slope >= FLAT else 1 if full or memory.cycles & 1 == 0 else 0
        memory.full_cycles = clip(memory.full_cycles + step, 0, 32000)
    else:
        memory.full_cycles = max(0, memory.full_cycles - 2)
    doubt.add_strain(memory, demand)
    if memory.full_cycles >= seconds(settings.out_after) and memory.smooth < low - settings.out_below * 16:
        trip(memory, TRIP_SUPPLY if parts.sags(memory) else TRIP_FIRE)
    if memory.full_cycles >= seconds(settings.fade_after) or cut:
        return 1
    return 1 if memory.doubt or memory.more_cycles >= doubt.MORE_FOR else 0

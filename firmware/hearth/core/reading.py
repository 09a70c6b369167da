"""Can the pit's reading be believed at all? Judged on the raw number, before any filter."""

from .fields import MODE_OFF, PROBE_FROZEN, PROBE_REVERSED, TRIP_HOT, TRIP_PROBE
from .trips import trip
from .whole import count_up, seconds

HOT_AFTER = 3  # readings over the limit in a row: one glitch at 3 am must not put the fire out
STILL_FASTER = 2500  # 0.01 %: for each so much fan a reading that stands still is counted once more


def good(memory):
    """1 if this cycle's reading of the pit can be used; `watch` has judged it."""
    return 1 if memory.bad == 0 else 0


def watch(settings, now, memory):
    """Judge the reading, count bad and hot ones; returns 1 while the fan must be off for lack of a reading."""
    memory.bad = find_bad(settings, now, memory)
    if good(memory):
        memory.bad_cycles = 0
        memory.hot_cycles = count_up(memory.hot_cycles) if now.pit > settings.pit_limit else 0
        if memory.hot_cycles >= HOT_AFTER:
            trip(memory, TRIP_HOT)
        return 0
    memory.bad_cycles = count_up(memory.bad_cycles)
    if memory.bad_cycles >= settings.bad_trip and memory.mode != MODE_OFF:
        trip(memory, TRIP_PROBE)
    return 1 if memory.bad_cycles >= settings.bad_after or memory.seen == 0 else 0


def find_bad(settings, now, memory):
    """What is wrong with the reading: the converter's own faults, or a value that no living pit gives.

    A couple on a MAX31856 (1/128 C) moves in its last digit; one that stands still while the fan blows is a number
    left over in a hung converter. The count runs up to five times as fast under a full fan, which moves a pit sooner.
    A MAX31855 (1/4 C) may well stand still: its driver looks at the cold junction, too.
    """
    idle = (memory.mode == MODE_OFF and memory.trip != TRIP_PROBE) or settings.converter != 31856
    if idle or memory.seen == 0 or now.faults or now.pit != memory.last:
        memory.same = 0
    else:
        memory.same = min(32000, memory.same + 1 + memory.fan // STILL_FASTER)
    bad = now.faults
    if memory.same >= seconds(settings.frozen_after):
        bad |= PROBE_FROZEN
    if now.pit < settings.coldest:
        bad |= PROBE_REVERSED
    return bad

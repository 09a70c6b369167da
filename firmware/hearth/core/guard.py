"""Guards of two levels. An inhibit stops the fan while its cause lasts; a trip is latched and needs a person."""

from .fields import NO_TRIP, TRIP_HOT, TRIP_PROBE
from .law import clip

HOT_AFTER = 3  # readings over the limit in a row: one glitch at 3 am must not put the fire out


def good(now):
    """1 if the pit's reading can be used."""
    return 1 if now.faults == 0 else 0


def trip(memory, code):
    """Latch a trip: the fan is off and stays off until a person acknowledges and starts again."""
    if memory.trip == NO_TRIP:
        memory.trip = code
        memory.trips = clip(memory.trips + 1, 0, 32000)
    memory.mode = 0
    memory.hand_left = 0
    memory.open_left = 0


def watch_reading(settings, now, memory):
    """Count bad and hot readings; returns 1 while the fan must be off for lack of a reading."""
    if good(now):
        memory.bad_cycles = 0
        memory.hot_cycles = clip(memory.hot_cycles + 1, 0, 32000) if now.pit > settings.pit_limit else 0
        if memory.hot_cycles >= HOT_AFTER:
            trip(memory, TRIP_HOT)
        return 0
    memory.bad_cycles = clip(memory.bad_cycles + 1, 0, 32000)
    if memory.bad_cycles >= settings.bad_trip and memory.mode != 0:
        trip(memory, TRIP_PROBE)
    return 1 if memory.bad_cycles >= settings.bad_after or memory.seen == 0 else 0


def stands(settings, memory):
    """1 while the cause of a trip is still there."""
    if memory.trip == TRIP_PROBE:
        return 1 if memory.bad_cycles > 0 else 0
    if memory.trip == TRIP_HOT:
        return 1 if memory.last > settings.pit_limit else 0
    return 0

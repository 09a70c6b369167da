"""Can the pit's reading be believed at all? Judged on the raw number, before any filter."""

from .fields import MODE_OFF, PROBE_FROZEN, PROBE_REVERSED, TRIP_HOT, TRIP_PROBE
from .trips import trip
from .whole import count_up, seconds

HOT_AFTER = 3  # readings over the limit in a row: one glitch at 3 am must not put the fire out
STILL_FASTER = 2500  # 0.01 %: a reading that stands still is counted once more for each 25 % of fan


def good(memory):
    """1 if this cycle's reading of the pit can be used; `watch` has judged it."""
    return 1 if memory.bad == 0 else 0


def watch(settings, now, memory):
    """Judge the reading, count bad and hot ones; returns 1 while the fan must be off for lack of a reading.

    Guard: the pit cannot be read
        cause: a broken wire, a plug that is out, something live on the couple, a converter that is silent or too hot
        evidence: the converter's fault bits, three readings in a row, 6 s (an open couple on a MAX31856 up to some
            2.5 s more: it looks every 16 conversions; from memory of its data sheet); a minute of them trips
        clears: a good reading; the trip: a person: acknowledge, then start, with a good reading
        does: the fan is off, then trips
        bounds: bad_after, bad_trip
        reads: The pit cannot be read, and which fault it is
        tests: case_guard, test_drivers, test_twin_faults, test_twin_guards, test_twin_inhibits

    Guard: pit over its limit
        cause: a fire with far too much air, burning grease
        evidence: three raw readings in a row above the limit, 6 s
        clears: a person: acknowledge, then start, once the pit is below the limit and no longer rises above its band
        does: trips, and goes before a trip that does not speak of a fire
        bounds: pit_limit
        reads: Far too hot: close every vent
        tests: case_guard, test_twin_guards
    """
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

    Guard: frozen value
        cause: a converter that hangs and gives its last number again and again
        evidence: MAX31856: no digit moves for 5 min (1 min under a full fan); MAX31855: none of its 32 bits, its own
            temperature among them; judged on the raw reading
        clears: a reading that moves; the trip: a person: acknowledge, then start
        does: the fan is off, trips a minute later
        bounds: frozen_after, converter
        reads: The pit cannot be read: it has not moved for minutes
        tests: case_faults, test_drivers, test_twin_guards

    Guard: reversed leads
        cause: the couple's two wires are swapped, so it reads colder the hotter the pit is
        evidence: a reading below -30 C, once the pit is some 50 C over the board, 6 s
        clears: a good reading; the trip: a person: acknowledge, then start
        does: the fan is off, then trips
        bounds: coldest
        reads: The pit cannot be read: the wires are swapped
        tests: case_faults, test_twin_faults, test_twin_guards
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

"""Guards of two levels. An inhibit stops the fan while its cause lasts; a trip is latched and needs a person."""

from .fields import (
    BOARD_RESTARTS,
    BOARD_SETTINGS,
    FAN_FINE,
    FAN_NOT_TURNING,
    NO_TRIP,
    PERIOD_MS,
    PROBE_FROZEN,
    PROBE_REVERSED,
    TRIP_FAN,
    TRIP_FLARE,
    TRIP_HOT,
    TRIP_PROBE,
    TRIP_RESTARTS,
    TRIP_RUNAWAY,
    TRIP_SETTINGS,
)
from .law import SLOW, clip

HOT_AFTER = 3  # readings over the limit in a row: one glitch at 3 am must not put the fire out
FLARE_FOR = 8  # cycles of a flare's rise: a step in the reading has passed the filter by then
WEAK_AFTER = 3  # cycles of a low supply
WEAK_REST = 15  # cycles the fan then rests, so that its own current does not make the supply swing


def seconds(value):
    """Seconds -> cycles, at least one."""
    return clip(value * 1000 // PERIOD_MS, 1, 32000)


def good(memory):
    """1 if this cycle's reading of the pit can be used; `watch_reading` has judged it."""
    return 1 if memory.bad == 0 else 0


def trip(memory, code):
    """Latch a trip: the fan is off and stays off until a person acknowledges and starts again. The first one stands,
    but a pit over its limit goes before all that do not speak of a fire: who knows of those must hear of it."""
    of_fire = memory.trip == TRIP_HOT or memory.trip == TRIP_FLARE or memory.trip == TRIP_RUNAWAY
    if memory.trip == NO_TRIP or (code == TRIP_HOT and not of_fire):
        memory.trip = code
        memory.trips = clip(memory.trips + 1, 0, 32000)
    memory.mode = 0
    memory.hand_left = 0
    memory.open_left = 0


def watch_reading(settings, now, memory):
    """Judge the reading, count bad and hot ones; returns 1 while the fan must be off for lack of a reading."""
    memory.bad = find_bad(settings, now, memory)
    if good(memory):
        memory.bad_cycles = 0
        memory.hot_cycles = clip(memory.hot_cycles + 1, 0, 32000) if now.pit > settings.pit_limit else 0
        if memory.hot_cycles >= HOT_AFTER:
            trip(memory, TRIP_HOT)
        return 0
    memory.bad_cycles = clip(memory.bad_cycles + 1, 0, 32000)
    if memory.bad_cycles >= settings.bad_trip and memory.mode != 0:
        trip(memory, TRIP_PROBE)
    return 1 if memory.bad_cycles >= settings.bad_after or memory.seen == 0 else 0


def find_bad(settings, now, memory):
    """What is wrong with the reading: the converter's own faults, or a value that no living pit gives.

    A couple on a MAX31856 (1/128 C) moves in its last digit; one that stands still while the fan blows is a number
    left over in a hung converter. The count runs up to five times as fast under a full fan, which moves a pit sooner.
    A MAX31855 (1/4 C) may well stand still: its driver looks at the cold junction, too.
    """
    idle = (memory.mode == 0 and memory.trip != TRIP_PROBE) or settings.converter != 31856
    if idle or memory.seen == 0 or now.faults or now.pit != memory.last:
        memory.same = 0
    else:
        memory.same = clip(memory.same + 1 + memory.fan // 2500, 0, 32000)
    bad = now.faults
    if memory.same >= seconds(settings.frozen_after):
        bad |= PROBE_FROZEN
    if now.pit < settings.coldest:
        bad |= PROBE_REVERSED
    return bad


def watch_fire(settings, memory, rate):
    """Once a cycle with a good reading, while the fire is in the board's hands: a rise that must not be.
    `rate` is that of this cycle, 1/51200 C/s.

    Burning grease lifts a pit faster than charcoal can; and a pit far above its band that goes on rising
    without the fan gets its air from elsewhere. Both want every vent shut, and a person.
    """
    above = memory.smooth - memory.high * 16
    flare = memory.mode != 0 and above > 0 and rate >= settings.flare * 512
    memory.flare_cycles = clip(memory.flare_cycles + 1, 0, 32000) if flare else 0
    if memory.flare_cycles >= FLARE_FOR:
        trip(memory, TRIP_FLARE)
    runs = memory.mode != 0 and memory.fan == 0 and above > settings.rest_above * 16 and memory.slope > SLOW
    memory.run_cycles = clip(memory.run_cycles + 1, 0, 32000) if runs else 0
    if memory.run_cycles >= seconds(settings.run_after):
        trip(memory, TRIP_RUNAWAY)


def watch_parts(settings, now, memory):
    """Once a cycle: the fan's wires, the supply, the board's own health; returns 1 while the supply is too low."""
    memory.fan_cycles = clip(memory.fan_cycles + 1, 0, 32000) if now.fan_fault != FAN_FINE else 0
    if memory.fan_cycles >= seconds(settings.fan_after):
        trip(memory, TRIP_FAN)
    new = now.board & ~memory.board
    memory.board = now.board
    if new & BOARD_SETTINGS:
        trip(memory, TRIP_SETTINGS)
    if new & BOARD_RESTARTS:
        trip(memory, TRIP_RESTARTS)
    weak = 0 < now.supply < settings.supply_least
    memory.weak_cycles = clip(memory.weak_cycles + 1, 0, 32000) if weak else 0
    if memory.weak_cycles >= WEAK_AFTER:
        memory.weak_left = WEAK_REST
    elif memory.weak_left > 0:
        memory.weak_left -= 1
    return 1 if memory.weak_left > 0 else 0


def stands(settings, now, memory):
    """1 while the cause of a trip is still there."""
    if memory.trip == TRIP_PROBE:
        return 1 if memory.bad_cycles > 0 else 0
    if memory.trip == TRIP_HOT:
        return 1 if memory.last > settings.pit_limit else 0
    if memory.trip == TRIP_FAN:  # whether it turns again shows only when it is driven
        return 1 if now.fan_fault != FAN_FINE and now.fan_fault != FAN_NOT_TURNING else 0
    return 0

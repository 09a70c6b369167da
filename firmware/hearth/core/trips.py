"""Trips: the fan is off, latched, until a person acknowledges; and what must be gone before one may."""

from . import forget, held_back
from .fields import (
    BY_MORE,
    FAN_FINE,
    FAN_NOT_TURNING,
    NO_TRIP,
    TRIP_FAN,
    TRIP_FELL,
    TRIP_FIRE,
    TRIP_FLARE,
    TRIP_HOT,
    TRIP_PROBE,
    TRIP_RUNAWAY,
    TRIP_SUPPLY,
)  # fmt: skip
from .law import SLOW
from .whole import count_up


def trip(memory, code):
    """Latch a trip: the fan is off and stays off until a person acknowledges and starts again. The first one stands,
    but a pit over its limit goes before all that do not speak of a fire: who knows of those must hear of it."""
    of_fire = memory.trip == TRIP_HOT or memory.trip == TRIP_FLARE or memory.trip == TRIP_RUNAWAY
    if memory.trip == NO_TRIP or (code == TRIP_HOT and not of_fire):
        memory.trip = code
        memory.trips = count_up(memory.trips)
    if code == TRIP_FIRE:
        held_back.begin(memory, BY_MORE)
    if code == TRIP_FELL:
        held_back.begin(memory, BY_MORE)
    forget.at_stop(memory)


RISES_FAST = 5 * SLOW  # 0.05 C/s, 3 C/min


def stands(settings, now, memory):
    """1 while the cause of a trip is still there, or grows: no trip of the fire is over while the pit still rises."""
    if memory.trip == TRIP_PROBE:
        return 1 if memory.bad_cycles > 0 else 0
    if memory.trip == TRIP_HOT:
        return 1 if memory.pit > settings.pit_limit or rises_above_band(memory) else 0
    if memory.trip == TRIP_FLARE or memory.trip == TRIP_RUNAWAY:
        return rises_above_band(memory)
    if memory.trip == TRIP_FIRE or memory.trip == TRIP_FELL:
        return 1 if memory.slope > RISES_FAST else 0
    if memory.trip == TRIP_SUPPLY:
        return 1 if memory.weak_left > 0 else 0
    if memory.trip == TRIP_FAN:  # whether it turns again shows only when it is driven
        return 1 if now.fan_fault != FAN_FINE and now.fan_fault != FAN_NOT_TURNING else 0
    return 0


def rises_above_band(memory):
    """1 while the pit is above its band and still rising."""
    return 1 if memory.smooth > memory.high * 16 and memory.slope > SLOW else 0

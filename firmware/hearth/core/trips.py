"""Trips: the fan is off, latched, until a person acknowledges; and what must be gone before one may."""

from . import forget
from .fields import FAN_FINE, FAN_NOT_TURNING, NO_TRIP, TRIP_FAN, TRIP_FLARE, TRIP_HOT, TRIP_PROBE, TRIP_RUNAWAY
from .whole import count_up


def trip(memory, code):
    """Latch a trip: the fan is off and stays off until a person acknowledges and starts again. The first one stands,
    but a pit over its limit goes before all that do not speak of a fire: who knows of those must hear of it."""
    of_fire = memory.trip == TRIP_HOT or memory.trip == TRIP_FLARE or memory.trip == TRIP_RUNAWAY
    if memory.trip == NO_TRIP or (code == TRIP_HOT and not of_fire):
        memory.trip = code
        memory.trips = count_up(memory.trips)
    forget.at_stop(memory)


def stands(settings, now, memory):
    """1 while the cause of a trip is still there."""
    if memory.trip == TRIP_PROBE:
        return 1 if memory.bad_cycles > 0 else 0
    if memory.trip == TRIP_HOT:
        return 1 if memory.last > settings.pit_limit else 0
    if memory.trip == TRIP_FAN:  # whether it turns again shows only when it is driven
        return 1 if now.fan_fault != FAN_FINE and now.fan_fault != FAN_NOT_TURNING else 0
    return 0

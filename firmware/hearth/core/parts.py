"""The board's own parts: the fan's wires, the supply, settings and restarts."""

from .fields import BOARD_RESTARTS, BOARD_SETTINGS, FAN_FINE, TRIP_FAN, TRIP_RESTARTS, TRIP_SETTINGS
from .trips import trip
from .whole import count_up, seconds

WEAK_AFTER = 3  # cycles of a low supply
WEAK_REST = 15  # cycles the fan then rests, so that its own current does not make the supply swing
WEAK_SAID = 60  # cycles: a supply that sags each time the fan starts is too low all the while, and is called so
WEAK_MOST = 90  # cycles: and so it is called for 4 min after it has become good
WEAK_FORGETS = 3  # of the number of a cycle, as bits: one rested cycle is forgotten in every four


def watch(settings, now, memory):
    """Once a cycle; returns 1 while the supply is too low."""
    memory.fan_cycles = count_up(memory.fan_cycles) if now.fan_fault != FAN_FINE else 0
    if memory.fan_cycles >= seconds(settings.fan_after):
        trip(memory, TRIP_FAN)
    new = now.board & ~memory.board
    memory.board = now.board
    if new & BOARD_SETTINGS:
        trip(memory, TRIP_SETTINGS)
    if new & BOARD_RESTARTS:
        trip(memory, TRIP_RESTARTS)
    weak = 0 < now.supply < settings.supply_least
    memory.weak_cycles = count_up(memory.weak_cycles) if weak else 0
    if memory.weak_cycles >= WEAK_AFTER:
        memory.weak_left = WEAK_REST
    elif memory.weak_left > 0:
        memory.weak_left -= 1
    if memory.weak_left > 0:
        memory.weak_share = min(memory.weak_share + 1, WEAK_MOST)
        return 1
    if memory.cycles & WEAK_FORGETS == 0 and memory.weak_share > 0:
        memory.weak_share -= 1
    return 0


def sags(memory):
    """1 when the fan has lately rested for the supply for a good share of the time."""
    return 1 if memory.weak_share >= WEAK_SAID else 0

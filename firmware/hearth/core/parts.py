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
    """Once a cycle; returns 1 while the supply is too low.

    Guard: supply low
        cause: an empty battery, a loose plug
        evidence: below 10.5 V for three readings, 6 s
        clears: 30 s after it is back
        does: the fan rests
        bounds: supply_least
        reads: The supply is too low, the fan rests
        tests: case_faults, test_twin_doubt

    Guard: a supply that sags under the fan
        cause: a worn battery or a weak adapter: good without load, too low with it
        evidence: the fan has rested for the supply more than a fifth of the time, some 3 min; far below the band it
            trips by the supply's name
        clears: 4 min of a good supply; the trip: a person: acknowledge, then start, while the supply is good
        does: is called without a break; trips where the fire would be called dead
        bounds: supply_least, out_after
        reads: The supply is too low; The supply breaks down under the fan
        tests: case_faults, test_twin_guards

    Guard: the fan's own wires
        cause: see the rows of the fan's drivers
        evidence: what the driver tells, for 20 s
        clears: a person: acknowledge, then start, with a fan that is sound or needs to be driven to show it
        does: trips
        bounds: fan_after
        reads: The fan does not turn or stop, a switch is shorted, or its plug is out
        tests: case_faults, test_twin_guards

    Guard: settings damaged or unreadable
        cause: a cut while they were written, a worn flash
        evidence: CRC-32, ranges, fit, at the start
        clears: a person: acknowledge, then start
        does: works with its defaults, and trips
        bounds: none
        reads: The board has lost its settings
        tests: test_stored, test_twin_guards

    Guard: brown-out loop
        cause: a supply that breaks down when the fan starts
        evidence: a sixth start of which none lasted 10 min, at the start
        clears: a person: acknowledge, then start
        does: trips
        bounds: none
        reads: The board restarted too often
        tests: test_stored_bites, test_twin_guards
    """
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

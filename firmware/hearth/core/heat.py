"""A rise that must not be: burning grease, and a fire that runs away without the fan."""

from .fields import MODE_OFF, TRIP_FLARE, TRIP_RUNAWAY
from .law import SLOW
from .trips import trip
from .whole import count_up, seconds

FLARE_FOR = 8  # cycles of a flare's rise: a step in the reading has passed the filter by then


def watch(settings, memory, rate):
    """Once a cycle with a good reading, while the fire is in the board's hands.
    `rate` is that of this cycle, 1/51200 C/s.

    Burning grease lifts a pit faster than charcoal can; and a pit far above its band that goes on rising
    without the fan gets its air from elsewhere. Both want every vent shut, and a person.
    """
    above = memory.smooth - memory.high * 16
    flare = memory.mode != MODE_OFF and above > 0 and rate >= settings.flare * 512
    memory.flare_cycles = count_up(memory.flare_cycles) if flare else 0
    if memory.flare_cycles >= FLARE_FOR:
        trip(memory, TRIP_FLARE)
    runs = memory.mode != MODE_OFF and memory.fan == 0 and above > settings.rest_above * 16 and memory.slope > SLOW
    memory.run_cycles = count_up(memory.run_cycles) if runs else 0
    if memory.run_cycles >= seconds(settings.run_after):
        trip(memory, TRIP_RUNAWAY)

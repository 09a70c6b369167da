"""A rise that must not be: burning grease, and a fire that runs away without the fan."""

from .fields import MODE_HAND, MODE_HOLD, MODE_OFF, TRIP_FLARE, TRIP_RUNAWAY
from .law import SLOW
from .openings import CALM
from .trips import trip
from .whole import count_up, seconds

FLARE_FOR = 8  # cycles of a flare's rise: a step in the reading has passed the filter by then
FANNED = 15  # cycles, 30 s after the fan has stopped: what charcoal rises for its sake is over by then
AFTER_LID = 30  # cycles, a minute after a lid the pit came back into its band: what it took in is burnt by then


def watch(settings, memory, rate):
    """Once a cycle with a good reading, while the fire is in the board's hands.
    `rate` is that of this cycle, 1/51200 C/s.

    Burning grease lifts a pit faster than charcoal can, unless a strong fan blows into it, a probe is put right in a
    hot pit, or a lid has let air in: those end with the fan, and with the probe's lag. And a pit far above its band
    that goes on rising without the fan gets its air from elsewhere. Both want every vent shut, and a person.

    Guard: grease fire
        cause: burning grease lifts a pit faster than charcoal can
        evidence: above the band and rising 0.45 C/s for 16 s: then the fan stops. It trips if that goes on 30 s after
            the fan has stopped, so at once if it was off; and longer than a minute after a lid, once the pit is back
            in its band
        clears: a person: acknowledge, then start, once the pit no longer rises above its band
        does: trips
        bounds: flare
        reads: Fan off. Close every vent. Do not open. No water.
        tests: case_faults, test_twin_guards

    Guard: runaway with the fan off
        cause: the fire gets air past the fan: a lid, a door, an ash door ajar
        evidence: 15 C over the band, the fan off, rising 0.6 C/min for 5 min
        clears: a person: acknowledge, then start, once the pit no longer rises above its band
        does: trips
        bounds: rest_above, run_after
        reads: Close every vent
        tests: case_faults, test_twin_guards
    """
    above = memory.smooth - memory.high * 16
    flare = memory.mode != MODE_OFF and above > 0 and rate >= settings.flare * 512
    memory.flare_cycles = count_up(memory.flare_cycles) if flare else 0
    memory.idle = count_up(memory.idle) if memory.fan == 0 else 0
    if flares(memory) and memory.idle >= FANNED and not lid_lately(memory):
        trip(memory, TRIP_FLARE)
    runs = memory.mode != MODE_OFF and memory.fan == 0 and above > settings.rest_above * 16 and memory.slope > SLOW
    memory.run_cycles = count_up(memory.run_cycles) if runs else 0
    if memory.run_cycles >= seconds(settings.run_after):
        trip(memory, TRIP_RUNAWAY)


def lid_lately(memory):
    """1 while an opening has just been made up for; `calm_left` counts only while the band is held."""
    return 1 if memory.mode == MODE_HOLD and memory.open_left == 0 and memory.calm_left > CALM - AFTER_LID else 0


def flares(memory):
    """1 while the pit rises as burning grease makes it rise."""
    return 1 if memory.flare_cycles >= FLARE_FOR else 0


def rests(settings, memory):
    """1 while the fan rests because of the heat.

    80 % by hand sends a quick pit over its limit within minutes, and that trips. So above the band the present rise
    counts ahead while the fan is set by hand.

    Guard: the pit is too hot
        cause: a fire with too much air, a fan by hand, a door ajar
        evidence: 15 C over the band; burning grease's rise for 16 s; under a fan by hand, above the band: what the
            present rise adds in `lead`, 90 s, takes it there
        clears: the pit falls again, or no longer rises so
        does: the fan rests
        bounds: rest_above, flare, lead
        reads: The pit is too hot
        tests: case_law, case_faults, test_twin_guards
    """
    reaches = memory.smooth
    if memory.mode == MODE_HAND and memory.smooth > memory.high * 16:
        reaches += max(0, memory.slope) * settings.lead // 32
    return 1 if reaches > (memory.high + settings.rest_above) * 16 or flares(memory) else 0

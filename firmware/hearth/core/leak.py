"""A pit that stands above its band with the fan off gets its air from elsewhere."""

from .fading import FLAT
from .whole import clip, count_up, seconds


def watch(settings, memory, demand):
    """Count the time without air and above the band; returns 1 when the fire gets air past the fan.

    Guard: leak
        cause: vents too far open, a gap, wind: the fire gets more air than it needs without the fan
        evidence: above the band without the fan and not falling for 10 min
        clears: the pit falls, or comes back into the band
        does: the fan rests
        bounds: leak_after
        reads: Leaking: close the vents a little
        tests: case_fire, test_twin_guards
    """
    if demand == 0:
        memory.starved = clip(memory.starved + 1, 0, 1073741823)
    if memory.smooth > memory.high * 16:
        memory.above = count_up(memory.above)
        memory.excursion = max(memory.excursion, memory.above)
    else:
        memory.above = 0
    if memory.above > 0 and demand == 0 and memory.slope > -FLAT:
        memory.rest_cycles = count_up(memory.rest_cycles)
    elif memory.above == 0 or demand > 0:
        memory.rest_cycles = 0
    return 1 if memory.rest_cycles >= seconds(settings.leak_after) else 0

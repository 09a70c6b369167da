"""The fan as it is: it starts from rest only at a push, turns only so slowly, and below that is pulsed."""

from .fields import FULL
from .whole import clip


def duty(settings, memory, demand):
    """What to give the fan this cycle, so that over the cycles it gets the demand; 0.01 %."""
    given = 0
    if demand == 0:
        memory.credit = 0
    else:
        memory.credit = clip(memory.credit + demand, -FULL, FULL)
        least = settings.slowest if memory.duty else max(settings.slowest, settings.breakaway)
        if memory.credit >= least or (memory.duty and demand >= settings.slowest):
            given = max(demand, least)
        memory.credit = clip(memory.credit - given, -FULL, FULL)
    memory.duty = given
    return given

"""The first climb: the air it takes, what it may take after a lid on the way, and its end.

Nothing is beyond the usual before the pit has arrived. A climb that a lid interrupts has a budget of its own: the air a
degree took until then, times the way still to go, times what slow walls need more.
"""

from . import learned
from .law import SLOW
from .whole import clip

MOST_AIR = 1073000000  # 0.01 % x cycles: the next cycle's still fits a small integer
SHOWN = 20  # C: a climb shows what a degree takes once it has come this far
DEGREE_MOST = 800000  # 0.01 % x cycles: 160 s of full fan a degree; a slower climb shows nothing
FREE = 3000000  # 0.01 % x cycles, 10 min of full fan: what a lid alone may cost
TIMES = 6  # times the straight line: walls take more and more on the way up, and cold meat takes its share


def watch(memory, demand):
    """Add up the air of the first climb."""
    if memory.arrived:
        return
    if memory.climb == 0:
        memory.climb_from = memory.pit
    memory.climb = clip(memory.climb + demand, 0, MOST_AIR)


def expect(memory):
    """A lid went up on the way, the pit stands at its lowest: what the rest of the climb may take."""
    rise = (memory.open_from - memory.climb_from) // 100
    if memory.arrived or rise < SHOWN:
        return
    degree = memory.climb // rise
    way = clip((memory.low - memory.open_low) // 100, 0, 300)
    if degree <= DEGREE_MOST:
        memory.climb_due = min(MOST_AIR, max(memory.climb_due, memory.climb_spent + FREE + degree * way * TIMES))


def watch_arrival(settings, memory):
    """The first climb has ended: at the aim, or in the band and no longer rising."""
    if memory.arrived:
        return
    if memory.smooth >= memory.aim or (memory.smooth >= memory.low * 16 and memory.slope < SLOW):
        arrive(settings, memory)


def arrive(settings, memory):
    """The pit has reached its band."""
    if memory.arrived == 0:
        memory.arrived = 1
        learned.begin(settings, memory)

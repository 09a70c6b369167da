"""The first climb: the air it takes, and its end."""

from .fields import CLIMB_AHEAD, CLIMB_COUNTED, CLIMB_UNSEEN
from .law import SLOW
from .whole import clip

MOST_AIR = 1073000000  # 0.01 % x cycles: the next cycle's still fits a small integer
ROOM = 2000  # 0.01 C, about the air outside: three fifths of the way from here to the band, 60 C at the usual one,
SHARE, OF = 3, 5  # are the part of the climb whose air is counted


def watch(memory, demand):
    """Add up the air that the last three fifths of the first climb take, until it has arrived or a lid goes up."""
    if memory.arrived or memory.openings > 0:
        return
    if memory.smooth < memory.low * 16 - (memory.low - ROOM) * 16 // OF * SHARE:
        memory.climb_seen = CLIMB_AHEAD
        memory.climb = 0
    elif memory.climb_seen != CLIMB_UNSEEN:
        memory.climb_seen = CLIMB_COUNTED
        memory.climb = clip(memory.climb + demand, 0, MOST_AIR)


def watch_arrival(memory):
    """The first climb has ended: at the aim, or in the band and no longer rising."""
    if memory.arrived:
        return
    if memory.smooth >= memory.aim or (memory.smooth >= memory.low * 16 and memory.slope < SLOW):
        memory.arrived = 1

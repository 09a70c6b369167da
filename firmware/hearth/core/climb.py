"""The first climb: the air it takes, what it may take after a lid on the way, how strong the fan is, and its end.

Nothing is beyond the usual before the pit has arrived. A climb that a lid interrupts has a budget of its own: the air a
degree took until then, times the way still to go, times what slow walls need more.

The same fan is weak on one cooker and far too strong on another. `reach` is the fan that this pit climbs with at a good
pace. It begins low, grows while the pit rises slowly, and shrinks while it rises fast. The law's answer is in parts of
it (`law.scale`), so a strong fan neither carries the first arrival past the band nor blows the fire cold.
"""

from . import learned
from .fields import FULL
from .law import SLOW
from .whole import clip

MOST_AIR = 1073000000  # 0.01 % x cycles: the next cycle's still fits a small integer
SHOWN = 20  # C: so far a climb must have come to show what a degree takes
DEGREE_MOST = 800000  # 0.01 % x cycles: 160 s of full fan a degree; a slower climb shows nothing
FREE = 3000000  # 0.01 % x cycles, 10 min of full fan: what a lid alone may cost
TIMES = 6  # walls take more and more on the way up, cold meat its share: so many times the straight line


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


GROWS = 33  # 0.01 % a cycle, 10 %/min: the most that the reach grows; what the fan does shows minutes later
GROWS_LEAST, GROWS_PART = 4, 128  # 0.01 % a cycle, and one in so many of the reach: a small one grows slowly
SHRINKS = 16  # a cycle, one in so many of the reach while the pit rises twice as fast as it should
NOREC = 0
REACH_LEAST = 300  # 0.01 %
RISES = 6827  # 1/51200 C/s, 8 C/min: a faster rise cannot be caught any more
CREEPS = 2560  # 1/51200 C/s, 3 C/min: a slower one wants more fan
NEARS = 600  # s: near the aim so much of the way left a second is enough
STRONG = 5000  # 0.01 %: a fan that climbs with less is strong for this pit
SETTLES = 1800  # cycles, an hour held: no lid has come, and the pit is as warm as its walls get


def reach(memory):
    """Once a cycle: the most that the fan does on this pit, 0.01 %."""
    over = memory.slope - RISES
    if over > 0 and memory.recover_left == 0:
        less = memory.reach * min(over, RISES) // (RISES * SHRINKS)
        memory.reach = max(REACH_LEAST, memory.reach - less)
    elif NOREC * memory.recover_left == 0 and memory.slope < min(CREEPS, (memory.aim - memory.smooth) * 32 // NEARS) and memory.fan >= memory.reach:
        memory.reach = min(FULL, memory.reach + min(GROWS, GROWS_LEAST + memory.reach // GROWS_PART))
    return memory.reach


def settle(settings, memory, needed):
    """By the first lid or after an hour the first arrival is over. The law goes on from what the fan lately did, and takes
    its gain; with a fan that was more than twice too strong for the climb only a part of it."""
    if memory.settled == 0 and (memory.openings or memory.held >= SETTLES):
        memory.settled = 1
        if settings.learn:
            learned.begin_with(memory, memory.reach * 1000 // STRONG)
        memory.owed = clip(max(memory.owed, memory.lately - needed * 1000), 0, 1000 * FULL)


def skip(memory):
    """The pit is hot already: there is no climb that could show how strong the fan is."""
    memory.reach = FULL
    memory.settled = 1


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
